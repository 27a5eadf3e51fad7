"""Adapters: how they sit at the opening, and what they add and take, by hand."""

from __future__ import annotations

from typing import Any

import pytest

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
    speaker,
    speaker_opening,
)

RULES = (
    "adapter.shape",
    "adapter.width",
    "adapter.height",
    "adapter.closes_width",
    "adapter.closes_height",
    "adapter.bolt_circle",
    "adapter.bolt_count",
    "adapter.bolts_across",
    "adapter.bolts_down",
)

# rule, adapter, opening, then: verdict, have, need, margin, tolerance, missing
RING: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    ("adapter.shape", {}, {}, ("fits", 1, 1, 0, 0, [])),
    ("adapter.shape", {"fits_shape": "oval"}, {}, ("no", 0, 1, -1, 0, [])),
    ("adapter.shape", {"fits_shape": None}, {}, ("measure", None, 1, None, 0, ["adapter.fits_shape"])),
    ("adapter.shape", {}, {"shape": None}, ("measure", None, 1, None, 0, ["opening.shape"])),
    # It goes in.
    ("adapter.width", {}, {}, ("fits", 148, 142, 6, 1.5, [])),
    ("adapter.width", {"fits_w_mm": 145}, {}, ("fits", 148, 145, 3, 1.5, [])),
    ("adapter.width", {"fits_w_mm": 146.5}, {}, ("fits", 148, 146.5, 1.5, 1.5, [])),
    ("adapter.width", {"fits_w_mm": 149.5}, {}, ("measure", 148, 149.5, -1.5, 1.5, [])),
    ("adapter.width", {"fits_w_mm": 150}, {}, ("no", 148, 150, -2, 1.5, [])),
    ("adapter.width", {"fits_w_mm": None}, {}, ("measure", 148, None, None, 1.5, ["adapter.fits_w_mm"])),
    ("adapter.width", {}, {"hole_w_mm": None}, ("measure", None, 142, None, 1.5, ["opening.hole_w_mm"])),
    ("adapter.height", {}, {}, ("fits", 148, 142, 6, 1.5, [])),
    ("adapter.height", {"fits_h_mm": 150}, {}, ("no", 148, 150, -2, 1.5, [])),
    ("adapter.height", {"fits_w_mm": None}, {}, ("measure", 148, None, None, 1.5, ["adapter.fits_h_mm"])),
    # It closes the opening: 3 of overlap on each side.
    ("adapter.closes_width", {}, {}, ("fits", 148, 145, 3, 1.5, [])),
    ("adapter.closes_width", {"fits_w_mm": 140.5}, {}, ("fits", 146.5, 145, 1.5, 1.5, [])),
    ("adapter.closes_width", {"fits_w_mm": 137.5}, {}, ("measure", 143.5, 145, -1.5, 1.5, [])),
    ("adapter.closes_width", {"fits_w_mm": 130}, {}, ("no", 136, 145, -9, 1.5, [])),
    ("adapter.closes_width", {"fits_w_mm": None}, {}, ("measure", None, 145, None, 1.5, ["adapter.fits_w_mm"])),
    ("adapter.closes_width", {}, {"hole_w_mm": None}, ("measure", 148, None, None, 1.5, ["opening.hole_w_mm"])),
    ("adapter.closes_height", {}, {}, ("fits", 148, 145, 3, 1.5, [])),
    ("adapter.closes_height", {"fits_h_mm": 130}, {}, ("no", 136, 145, -9, 1.5, [])),
    # Its bolts fall on the opening's.
    ("adapter.bolt_circle", {}, {}, ("fits", 3, 0, 3, 1.5, [])),
    ("adapter.bolt_circle", {"fits_bolt_circle_mm": 153.5}, {}, ("fits", 3, 1.5, 1.5, 1.5, [])),
    ("adapter.bolt_circle", {"fits_bolt_circle_mm": 150.5}, {}, ("measure", 3, 4.5, -1.5, 1.5, [])),
    ("adapter.bolt_circle", {"fits_bolt_circle_mm": 150}, {}, ("no", 3, 5, -2, 1.5, [])),
    (
        "adapter.bolt_circle",
        {"fits_bolt_circle_mm": None},
        {},
        ("measure", 3, None, None, 1.5, ["adapter.fits_bolt_circle_mm"]),
    ),
    (
        "adapter.bolt_circle",
        {},
        {"bolt_circle_mm": None},
        ("measure", 3, None, None, 1.5, ["opening.bolt_circle_mm"]),
    ),
    ("adapter.bolt_count", {}, {}, ("fits", 0, 0, 0, 0, [])),
    ("adapter.bolt_count", {"fits_bolt_count": 3}, {}, ("no", 0, 2, -2, 0, [])),
    ("adapter.bolt_count", {"fits_bolt_count": None}, {}, ("measure", 0, None, None, 0, ["adapter.fits_bolt_count"])),
    ("adapter.bolt_count", {}, {"bolt_count": None}, ("measure", 0, None, None, 0, ["opening.bolt_count"])),
]

PLATE = {
    "fits_shape": "oval",
    "fits_w_mm": 152,
    "fits_h_mm": 102,
    "fits_bolt_circle_mm": None,
    "fits_bolt_count": None,
    "fits_bolt_w_mm": 130,
    "fits_bolt_h_mm": 80,
}
OVAL: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    ("adapter.height", {}, {}, ("fits", 108, 102, 6, 1.5, [])),
    ("adapter.height", {"fits_h_mm": 106.5}, {}, ("fits", 108, 106.5, 1.5, 1.5, [])),
    ("adapter.height", {}, {"hole_h_mm": None}, ("measure", None, 102, None, 1.5, ["opening.hole_h_mm"])),
    ("adapter.closes_height", {"fits_h_mm": 100.5}, {}, ("fits", 106.5, 105, 1.5, 1.5, [])),
    ("adapter.closes_height", {"fits_h_mm": 97.5}, {}, ("measure", 103.5, 105, -1.5, 1.5, [])),
    ("adapter.closes_height", {"fits_h_mm": None}, {}, ("measure", None, 105, None, 1.5, ["adapter.fits_h_mm"])),
    ("adapter.closes_height", {}, {"hole_h_mm": None}, ("measure", 108, None, None, 1.5, ["opening.hole_h_mm"])),
    ("adapter.bolts_across", {}, {}, ("fits", 3, 0, 3, 1.5, [])),
    ("adapter.bolts_across", {"fits_bolt_w_mm": 128.5}, {}, ("fits", 3, 1.5, 1.5, 1.5, [])),
    ("adapter.bolts_across", {"fits_bolt_w_mm": 134.5}, {}, ("measure", 3, 4.5, -1.5, 1.5, [])),
    ("adapter.bolts_across", {"fits_bolt_w_mm": 120}, {}, ("no", 3, 10, -7, 1.5, [])),
    (
        "adapter.bolts_across",
        {"fits_bolt_w_mm": None},
        {},
        ("measure", 3, None, None, 1.5, ["adapter.fits_bolt_w_mm"]),
    ),
    ("adapter.bolts_across", {}, {"bolt_w_mm": None}, ("measure", 3, None, None, 1.5, ["opening.bolt_w_mm"])),
    ("adapter.bolts_down", {}, {}, ("fits", 3, 0, 3, 1.5, [])),
    ("adapter.bolts_down", {}, {"bolt_h_mm": 81.5}, ("fits", 3, 1.5, 1.5, 1.5, [])),
    ("adapter.bolts_down", {}, {"bolt_h_mm": 75.5}, ("measure", 3, 4.5, -1.5, 1.5, [])),
    ("adapter.bolts_down", {}, {"bolt_h_mm": 70}, ("no", 3, 10, -7, 1.5, [])),
    ("adapter.bolts_down", {}, {"bolt_h_mm": None}, ("measure", 3, None, None, 1.5, ["opening.bolt_h_mm"])),
    (
        "adapter.bolts_down",
        {"fits_bolt_h_mm": None},
        {},
        ("measure", 3, None, None, 1.5, ["adapter.fits_bolt_h_mm"]),
    ),
]

SMALL = {"cutout_w_mm": 120, "flange_w_mm": 140}
# What the ring adds behind and takes in front: 6, itself good to 0.5.
THROUGH: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    ("speaker.hole_width", {}, {}, ("fits", 130, 120, 10, 1, [])),
    ("speaker.flange_width", {}, {}, ("fits", 140, 136, 4, 1, [])),
    ("speaker.depth", {}, {}, ("fits", 76, 63, 13, 2, [])),
    ("speaker.depth", {}, {"depth_mm": 59}, ("fits", 65, 63, 2, 2, [])),
    ("speaker.depth", {"forward_mm": None}, {}, ("measure", None, 63, None, 2, ["adapter.forward_mm"])),
    ("speaker.depth", {"forward_mm": -4}, {}, ("fits", 66, 63, 3, 2, [])),
    ("speaker.front", {}, {}, ("fits", 20, 17, 3, 2.5, [])),
    ("speaker.front", {"forward_mm": 6.5}, {}, ("fits", 20, 17.5, 2.5, 2.5, [])),
    ("speaker.front", {"forward_mm": 12}, {}, ("no", 20, 23, -3, 2.5, [])),
    ("speaker.front", {"forward_mm": None}, {}, ("measure", 20, None, None, 2.5, ["adapter.forward_mm"])),
    ("speaker.hole_width", {"gives_w_mm": None}, {}, ("measure", None, 120, None, 1, ["adapter.gives_w_mm"])),
    ("speaker.bolt_circle", {"gives_bolt_circle_mm": 155, "gives_bolt_count": 4}, {}, ("fits", 3, 0, 3, 1, [])),
    ("speaker.bolt_circle", {"gives_bolt_circle_mm": 130, "gives_bolt_count": 4}, {}, ("no", 3, 25, -22, 1, [])),
    (
        "speaker.bolt_count",
        {"gives_bolt_circle_mm": 155},
        {},
        ("measure", 0, None, None, 0, ["adapter.gives_bolt_count"]),
    ),
]


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), RING)
def test_ring(bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(speaker(**SMALL), speaker_opening(**measured), adapter(**changed))
    assert numbers(check_of(fit, rule)) == expected


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), OVAL)
def test_oval_plate(bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(speaker(**SMALL), oval_opening(**measured), adapter(**PLATE | changed))
    assert numbers(check_of(fit, rule)) == expected


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), THROUGH)
def test_what_it_adds_and_takes(
    bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]
) -> None:
    fit = bench.ask(speaker(**SMALL), speaker_opening(**measured), adapter(**changed))
    assert numbers(check_of(fit, rule)) == expected


def test_a_height_left_out_has_the_width_s_tolerance(bench: Bench) -> None:
    ring = adapter(gives_w_mm=130, gives_w_mm_tol=2)
    oval = speaker(shape="oval", cutout_w_mm=120, cutout_h_mm=120, flange_w_mm=140, flange_h_mm=140)
    fit = bench.ask(oval, speaker_opening(), ring)
    assert check_of(fit, "speaker.hole_height").tol == 2.5


def test_clips_hold_where_no_bolts_are_named(bench: Bench) -> None:
    fit = bench.ask(speaker(**SMALL), speaker_opening(), adapter())
    assert not [check for check in fit.checks if check.rule.startswith("speaker.bolt")]
    assert (fit.verdict, fit.alteration) == ("fits", "bolt_on")


def test_bolts_of_the_opening_are_the_adapter_s_to_meet(bench: Bench) -> None:
    fit = bench.ask(speaker(**SMALL, bolt_circle_mm=130), speaker_opening(), adapter())
    assert fit.verdict == "fits"


def test_a_kit_makes_a_tall_opening_small(bench: Bench) -> None:
    """The face covers what the kit gives; the kit stands 2 proud and adds 2 behind."""
    fit = bench.ask(head_unit(), dash_opening(h_mm=112, w_mm=184), dash_kit())
    assert numbers(check_of(fit, "dash.body_height")) == ("fits", 53, 50, 3, 1, [])
    assert numbers(check_of(fit, "dash.face_height")) == ("fits", 60, 53, 7, 1, [])
    assert numbers(check_of(fit, "dash.depth")) == ("fits", 162, 150, 12, 2.5, [])
    assert numbers(check_of(fit, "dash.proud")) == ("fits", 40, 17, 23, 2, [])
    assert (fit.verdict, fit.alteration) == ("fits", "bolt_on")


def test_a_kit_turns_shaft_holes_into_a_rectangle(bench: Bench) -> None:
    kit = dash_kit(fits_shape="twin_shaft", fits_w_mm=None, fits_h_mm=None)
    holes = dash_opening(shape="twin_shaft", w_mm=None, h_mm=None, shaft_mm=135)
    fit = bench.ask(head_unit(), holes, kit)
    assert check_of(fit, "dash.mount").verdict == "fits"
    assert not {"adapter.width", "adapter.closes_height"} & {check.rule for check in fit.checks}
    assert fit.verdict == "fits"


def test_an_extender_leaves_the_shaft_holes_where_they_are(bench: Bench) -> None:
    kit = dash_kit(fits_shape="twin_shaft", gives_shape="twin_shaft", fits_w_mm=None, fits_h_mm=None)
    unit = head_unit(mount="twin_shaft", shaft_min_mm=130, shaft_max_mm=140)
    holes = dash_opening(shape="twin_shaft", shaft_mm=135)
    assert check_of(bench.ask(unit, holes, kit), "dash.shafts_least").margin == 5
    unknown = bench.ask(unit, dash_opening(shape="twin_shaft"), kit)
    assert check_of(unknown, "dash.shafts_least").missing == ["opening.shaft_mm"]
