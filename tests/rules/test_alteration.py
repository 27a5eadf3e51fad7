"""The alteration ladder: the least step at which nothing says no, and what a step lifts and allows."""

from __future__ import annotations

import pytest

from catalog_schema.answers import Fit
from catalog_schema.jobs import LADDER
from tests.factories import (
    Bench,
    Row,
    adapter,
    check_of,
    dash_kit,
    dash_opening,
    head_unit,
    numbers,
    oval_opening,
    oval_speaker,
    speaker,
    speaker_opening,
)

RULES = ("limit.alteration",)

STEEL = {"w_mm": 150, "h_mm": 150, "material": "steel", "piece": "body"}
SMALL_HOLE = {"hole_w_mm": 130}


def rules_of(fit: Fit) -> set[str]:
    return {check.rule for check in fit.checks}


# part, opening, then: verdict at bolt_on, least step
LEAST = [
    (speaker(), speaker_opening(), "fits", "bolt_in"),
    (speaker(), speaker_opening(depth_mm=None), "measure", "bolt_in"),
    (speaker(bolt_circle_mm=140), speaker_opening(), "no", "drilled"),
    (speaker(bolt_count=3), speaker_opening(), "no", "drilled"),
    (speaker(depth_mm=90), speaker_opening(), "no", None),
    (speaker(), speaker_opening(**SMALL_HOLE), "no", None),
    (speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL), "no", "metal_cut"),
    (speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL | {"material": None}), "no", "metal_cut"),
    (speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL | {"material": "trim"}), "no", "hidden_cut"),
    (speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL | {"material": "hidden_plastic"}), "no", "hidden_cut"),
    (speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL | {"piece": "spare"}), "no", "spare_piece"),
    (speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL | {"w_mm": 135, "h_mm": 135}), "no", None),
    # A cut and new holes: the higher of both.
    (
        speaker(bolt_circle_mm=140),
        speaker_opening(**SMALL_HOLE, cut=STEEL | {"piece": "spare"}),
        "no",
        "drilled",
    ),
    (speaker(bolt_circle_mm=140), speaker_opening(**SMALL_HOLE, cut=STEEL), "no", "metal_cut"),
    (head_unit(mass_kg=2), dash_opening(), "no", "drilled"),
    (head_unit(mass_kg=2), dash_opening(rear_support=True), "fits", "bolt_in"),
    (
        head_unit(body_h_mm=100, face_h_mm=112),
        dash_opening(cut={"h_mm": 105, "material": "trim"}),
        "no",
        "hidden_cut",
    ),
    # It could be cut, how far is not known.
    (speaker(), speaker_opening(**SMALL_HOLE, cut={"material": "steel"}), "no", "metal_cut"),
    (speaker(), speaker_opening(**SMALL_HOLE, cut={"piece": "spare"}), "no", "spare_piece"),
]


@pytest.mark.parametrize(("one", "opening", "verdict", "least"), LEAST)
def test_least_step(bench: Bench, one: Row, opening: Row, verdict: str, least: str | None) -> None:
    fit = bench.ask(one, opening)
    assert (fit.verdict, fit.alteration) == (verdict, least)


# part, opening, then: width, height, material
CUTS = [
    (speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL), (140, 140, "steel")),
    (oval_speaker(), oval_opening(hole_h_mm=90, cut=STEEL | {"w_mm": 155}), (155, 100, "steel")),
    # Turned: its 150 along the hole's long side.
    (
        oval_speaker(bolt_w_mm=80, bolt_h_mm=130),
        oval_opening(hole_w_mm=90, hole_h_mm=155, cut={"w_mm": 110, "h_mm": 155}),
        (100, 155, None),
    ),
    # A round hole that takes an oval: as wide as the hole was, as high as the oval.
    (
        oval_speaker(cutout_w_mm=100, cutout_h_mm=140, flange_w_mm=150, flange_h_mm=160),
        speaker_opening(**SMALL_HOLE, cut=STEEL),
        (130, 140, "steel"),
    ),
    (
        head_unit(body_h_mm=100, face_h_mm=112),
        dash_opening(cut={"h_mm": 105, "material": "trim"}),
        (182, 100, "trim"),
    ),
]


@pytest.mark.parametrize(("one", "opening", "expected"), CUTS)
def test_the_cut_is_no_larger_than_needed(
    bench: Bench, one: Row, opening: Row, expected: tuple[int, int, str | None]
) -> None:
    cut = bench.ask(one, opening, step="metal_cut").cut
    assert cut is not None
    assert (cut.w_mm, cut.h_mm, cut.material) == expected


def test_the_cut_is_told_even_where_the_step_asked_does_not_allow_it(bench: Bench) -> None:
    fit = bench.ask(speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL))
    assert (fit.verdict, fit.alteration) == ("no", "metal_cut")
    assert fit.cut is not None and fit.cut.w_mm == 140
    assert check_of(fit, "speaker.hole_width").have == 130, "the checks are those of the opening as found"


def test_no_cut_where_none_is_needed(bench: Bench) -> None:
    assert bench.ask(speaker(), speaker_opening(cut=STEEL), step="metal_cut").cut is None


def test_a_cut_of_unknown_size_wants_measuring(bench: Bench) -> None:
    fit = bench.ask(speaker(), speaker_opening(**SMALL_HOLE, cut={"piece": "spare"}), step="spare_piece")
    assert fit.verdict == "measure"
    assert check_of(fit, "speaker.hole_width").missing == ["opening.cut_w_mm"]


def test_after_the_cut_the_flange_covers_the_larger_of_hole_and_cut_out(bench: Bench) -> None:
    """The cut-out is 140, the hole was 130: 140 and 3 on both sides. The height of a round hole is its width."""
    fit = bench.ask(speaker(), speaker_opening(**SMALL_HOLE, cut=STEEL), step="metal_cut")
    assert numbers(check_of(fit, "speaker.flange_width")) == ("fits", 165, 146, 19, 1, [])
    assert numbers(check_of(fit, "speaker.flange_height")) == ("fits", 165, 146, 19, 1, [])
    wide = bench.ask(oval_speaker(), oval_opening(hole_h_mm=90, cut=STEEL | {"w_mm": 155}), step="metal_cut")
    assert numbers(check_of(wide, "speaker.flange_width")) == ("fits", 170, 161, 9, 1.5, [])
    assert numbers(check_of(wide, "speaker.flange_height")) == ("fits", 120, 106, 14, 1, [])


@pytest.mark.parametrize("step", LADDER)
def test_new_holes_lift_the_rules_about_holes(bench: Bench, step: str) -> None:
    fit = bench.ask(speaker(bolt_circle_mm=140), speaker_opening(), step=step)
    drilled = LADDER.index(step) >= LADDER.index("drilled")
    assert fit.verdict == ("fits" if drilled else "no")
    assert fit.alteration == "drilled"
    assert ("speaker.bolt_circle" in rules_of(fit)) is not drilled


def test_a_part_that_goes_in_as_it_is_shows_the_checks_of_that(bench: Bench) -> None:
    fit = bench.ask(speaker(), speaker_opening(cut=STEEL), step="metal_cut")
    assert fit.alteration == "bolt_in"
    assert "speaker.bolt_circle" in rules_of(fit)
    assert check_of(fit, "speaker.hole_width").have == 145


THROUGH = [
    (speaker(cutout_w_mm=120, flange_w_mm=140), speaker_opening(), adapter(), "fits", "bolt_on"),
    (speaker(cutout_w_mm=120, flange_w_mm=140), speaker_opening(bolt_circle_mm=90), adapter(), "no", "drilled"),
    # The adapter in a hole that is cut for it, whatever shape the hole had.
    (
        speaker(cutout_w_mm=120, flange_w_mm=140),
        speaker_opening(**SMALL_HOLE, cut=STEEL | {"material": "trim"}),
        adapter(),
        "no",
        "hidden_cut",
    ),
    (
        speaker(cutout_w_mm=120, flange_w_mm=140),
        speaker_opening(**SMALL_HOLE, cut={"w_mm": 400, "h_mm": 400, "piece": "spare"}),
        adapter(),
        "no",
        "spare_piece",
    ),
    (
        head_unit(),
        dash_opening(h_mm=76, cut={"h_mm": 114, "piece": "spare"}),
        dash_kit(fits_w_mm=180),
        "no",
        "spare_piece",
    ),
]


@pytest.mark.parametrize(("one", "opening", "through", "verdict", "least"), THROUGH)
def test_through_an_adapter(
    bench: Bench, one: Row, opening: Row, through: Row, verdict: str, least: str | None
) -> None:
    fit = bench.ask(one, opening, through)
    assert (fit.verdict, fit.alteration) == (verdict, least)


def test_a_hole_cut_for_an_adapter_is_as_large_as_the_adapter_needs(bench: Bench) -> None:
    small = speaker(cutout_w_mm=120, flange_w_mm=140)
    fit = bench.ask(small, speaker_opening(**SMALL_HOLE, cut=STEEL), adapter(), step="metal_cut")
    assert fit.cut is not None
    assert (fit.cut.w_mm, fit.cut.h_mm) == (142, 142)
    assert numbers(check_of(fit, "adapter.closes_width")) == ("fits", 148, 142, 6, 1, [])


def test_an_adapter_is_more_than_existing_holes(bench: Bench) -> None:
    fit = bench.ask(speaker(cutout_w_mm=120, flange_w_mm=140), speaker_opening(), adapter(), step="bolt_in")
    assert (fit.verdict, fit.alteration) == ("no", "bolt_on")
    assert numbers(check_of(fit, "limit.alteration")) == ("no", 0, 1, -1, 0, [])
