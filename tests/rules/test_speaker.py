"""Loudspeakers at a speaker opening: every rule by the numbers, worked out by hand.

A vehicle's figure is good to 1 mm, a maker's to 0.5 mm; a tolerance is their sum.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.factories import Bench, Row, check_of, numbers, oval_opening, oval_speaker, speaker, speaker_opening

RULES = (
    "speaker.hole_width",
    "speaker.hole_height",
    "speaker.hole_corner",
    "speaker.depth",
    "speaker.front",
    "speaker.flange_width",
    "speaker.flange_height",
    "speaker.flat_width",
    "speaker.flat_height",
    "speaker.beside",
    "speaker.both_channels",
    "speaker.bolt_circle",
    "speaker.bolt_count",
    "speaker.bolts_across",
    "speaker.bolts_down",
)

# rule, part, opening, then: verdict, have, need, margin, tolerance, missing
ROUND: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    # Hole: nothing is cut, so the cut-out lies inside the hole.
    ("speaker.hole_width", {}, {}, ("fits", 145, 140, 5, 1.5, [])),
    ("speaker.hole_width", {}, {"hole_w_mm": 141.5}, ("fits", 141.5, 140, 1.5, 1.5, [])),
    ("speaker.hole_width", {}, {"hole_w_mm": 141.4}, ("measure", 141.4, 140, 1.4, 1.5, [])),
    ("speaker.hole_width", {}, {"hole_w_mm": 138.5}, ("measure", 138.5, 140, -1.5, 1.5, [])),
    ("speaker.hole_width", {}, {"hole_w_mm": 138.4}, ("no", 138.4, 140, -1.6, 1.5, [])),
    ("speaker.hole_width", {}, {"hole_w_mm": None}, ("measure", None, 140, None, 1.5, ["opening.hole_w_mm"])),
    ("speaker.hole_width", {"cutout_w_mm": None}, {}, ("measure", 145, None, None, 1.5, ["part.cutout_w_mm"])),
    # A round hole whose height says otherwise is asked about it.
    ("speaker.hole_height", {}, {"hole_h_mm": 130}, ("no", 130, 140, -10, 1.5, [])),
    ("speaker.hole_height", {"cutout_h_mm": 150}, {}, ("no", 145, 150, -5, 1.5, [])),
    # Depth: 3 to what is fixed, 10 to glass that moves.
    ("speaker.depth", {}, {}, ("fits", 70, 63, 7, 1.5, [])),
    ("speaker.depth", {}, {"depth_mm": 64.5}, ("fits", 64.5, 63, 1.5, 1.5, [])),
    ("speaker.depth", {}, {"depth_mm": 64.4}, ("measure", 64.4, 63, 1.4, 1.5, [])),
    ("speaker.depth", {}, {"depth_mm": 61.5}, ("measure", 61.5, 63, -1.5, 1.5, [])),
    ("speaker.depth", {}, {"depth_mm": 61}, ("no", 61, 63, -2, 1.5, [])),
    ("speaker.depth", {}, {"behind": "moving_glass"}, ("measure", 70, 70, 0, 1.5, [])),
    ("speaker.depth", {}, {"behind": "moving_glass", "depth_mm": 71.5}, ("fits", 71.5, 70, 1.5, 1.5, [])),
    ("speaker.depth", {}, {"behind": "moving_glass", "depth_mm": 68}, ("no", 68, 70, -2, 1.5, [])),
    ("speaker.depth", {}, {"depth_mm": None}, ("measure", None, 63, None, 1.5, ["opening.depth_mm"])),
    ("speaker.depth", {"depth_mm": None}, {}, ("measure", 70, None, None, 1.5, ["part.depth_mm"])),
    ("speaker.depth", {}, {"behind": None}, ("measure", 70, None, None, 1.5, ["opening.behind"])),
    # What is behind is not known, but even 3 mm are too many.
    ("speaker.depth", {}, {"behind": None, "depth_mm": 61}, ("no", 61, 63, -2, 1.5, [])),
    ("speaker.depth", {}, {"depth_mm": {"value": 63.7, "basis": "caliper"}}, ("fits", 63.7, 63, 0.7, 0.7, [])),
    ("speaker.depth", {}, {"depth_mm": {"value": 66, "basis": "estimate"}}, ("measure", 66, 63, 3, 5.5, [])),
    ("speaker.depth", {}, {"depth_mm": {"value": 66, "tol": 2.5}}, ("fits", 66, 63, 3, 3, [])),
    ("speaker.depth", {}, {"basis": "caliper"}, ("fits", 70, 63, 7, 0.7, [])),
    ("speaker.depth", {}, {"basis": None}, ("fits", 70, 63, 7, 1.5, [])),
    ("speaker.depth", {"basis": None}, {}, ("fits", 70, 63, 7, 1.5, [])),
    ("speaker.depth", {"basis": "estimate"}, {}, ("fits", 70, 63, 7, 6, [])),
    ("speaker.depth", {"depth_mm_tol": 0}, {"depth_mm": {"value": 63, "tol": 0}}, ("fits", 63, 63, 0, 0, [])),
    # Front: what stands proud, the travel, and 2 to the grille.
    ("speaker.front", {}, {}, ("fits", 20, 11, 9, 2, [])),
    ("speaker.front", {}, {"front_mm": 13}, ("fits", 13, 11, 2, 2, [])),
    ("speaker.front", {}, {"front_mm": 9}, ("measure", 9, 11, -2, 2, [])),
    ("speaker.front", {}, {"front_mm": 8.9}, ("no", 8.9, 11, -2.1, 2, [])),
    ("speaker.front", {}, {"front_mm": 0}, ("no", 0, 11, -11, 2, [])),
    ("speaker.front", {}, {"front_mm": None}, ("measure", None, 11, None, 2, ["opening.front_mm"])),
    (
        "speaker.front",
        {"front_mm": None, "xmax_mm": None, "size": "one of a kind"},
        {},
        ("measure", 20, None, None, 2, ["part.front_mm", "part.xmax_mm"]),
    ),
    # A travel that is not stated is the usual one of the size, 3.5 for 165 mm, off by 40 % of it.
    ("speaker.front", {"xmax_mm": None}, {}, ("fits", 20, 10.5, 9.5, 2.9, [])),
    ("speaker.front", {"xmax_mm": None}, {"front_mm": 13.4}, ("fits", 13.4, 10.5, 2.9, 2.9, [])),
    ("speaker.front", {"xmax_mm": None}, {"front_mm": 13.3}, ("measure", 13.3, 10.5, 2.8, 2.9, [])),
    ("speaker.front", {"xmax_mm": None, "size": '6.5"'}, {}, ("fits", 20, 10.5, 9.5, 2.9, [])),
    # A guess of 4 mm is off by 40 % of it, not by the 5 mm of a large one.
    ("speaker.front", {"basis": "estimate"}, {}, ("fits", 20, 11, 9, 4.6, [])),
    # Flange: 3 of overlap all round.
    ("speaker.flange_width", {}, {}, ("fits", 165, 151, 14, 1.5, [])),
    ("speaker.flange_width", {"flange_w_mm": 152.5}, {}, ("fits", 152.5, 151, 1.5, 1.5, [])),
    ("speaker.flange_width", {"flange_w_mm": 149.5}, {}, ("measure", 149.5, 151, -1.5, 1.5, [])),
    ("speaker.flange_width", {"flange_w_mm": 149}, {}, ("no", 149, 151, -2, 1.5, [])),
    ("speaker.flange_width", {"flange_w_mm": None}, {}, ("measure", None, 151, None, 1.5, ["part.flange_w_mm"])),
    ("speaker.flange_width", {}, {"hole_w_mm": None}, ("measure", 165, None, None, 1.5, ["opening.hole_w_mm"])),
    ("speaker.flange_height", {"flange_h_mm": 149}, {}, ("no", 149, 151, -2, 1.5, [])),
    # Flat face: the flange lies on it.
    ("speaker.flat_width", {}, {}, ("fits", 180, 165, 15, 1.5, [])),
    ("speaker.flat_width", {}, {"flat_w_mm": 166.5}, ("fits", 166.5, 165, 1.5, 1.5, [])),
    ("speaker.flat_width", {}, {"flat_w_mm": 163.5}, ("measure", 163.5, 165, -1.5, 1.5, [])),
    ("speaker.flat_width", {}, {"flat_w_mm": 160}, ("no", 160, 165, -5, 1.5, [])),
    ("speaker.flat_width", {}, {"flat_w_mm": None}, ("measure", None, 165, None, 1.5, ["opening.flat_w_mm"])),
    ("speaker.flat_width", {"flange_w_mm": None}, {}, ("measure", 180, None, None, 1.5, ["part.flange_w_mm"])),
    ("speaker.flat_height", {}, {}, ("fits", 180, 165, 15, 1.5, [])),
    ("speaker.flat_height", {}, {"flat_h_mm": 160}, ("no", 160, 165, -5, 1.5, [])),
    ("speaker.flat_height", {"flange_h_mm": 178.5}, {}, ("fits", 180, 178.5, 1.5, 1.5, [])),
    ("speaker.flat_height", {}, {"flat_h_mm": None}, ("measure", None, 165, None, 1.5, ["opening.flat_h_mm"])),
    # Beside: half the magnet (so half its tolerance) and 3.
    ("speaker.beside", {}, {}, ("fits", 60, 48, 12, 1.25, [])),
    ("speaker.beside", {}, {"beside_mm": 49.25}, ("fits", 49.25, 48, 1.25, 1.25, [])),
    ("speaker.beside", {}, {"beside_mm": 46.75}, ("measure", 46.75, 48, -1.25, 1.25, [])),
    ("speaker.beside", {}, {"beside_mm": 46}, ("no", 46, 48, -2, 1.25, [])),
    ("speaker.beside", {}, {"beside_mm": None}, ("measure", None, 48, None, 1.25, ["opening.beside_mm"])),
    ("speaker.beside", {"magnet_mm": None}, {}, ("measure", 60, None, None, 1.25, ["part.magnet_mm"])),
    # One place for both channels: two coils.
    ("speaker.both_channels", {}, {"count": 1}, ("no", 1, 2, -1, 0, [])),
    ("speaker.both_channels", {"coils": 2}, {"count": 1}, ("fits", 2, 2, 0, 0, [])),
    ("speaker.both_channels", {"coils": 4}, {"count": 1}, ("fits", 4, 2, 2, 0, [])),
    ("speaker.both_channels", {"coils": None}, {"count": 1}, ("measure", None, 2, None, 0, ["part.coils"])),
    ("speaker.both_channels", {}, {"count": None}, ("measure", 1, 2, None, 0, ["opening.count"])),
    ("speaker.both_channels", {"coils": 2}, {"count": None}, ("fits", 2, 2, 0, 0, [])),
    # Bolts on a circle: within 3, each hole of the lesser number on one of the other.
    ("speaker.bolt_circle", {}, {}, ("fits", 3, 0, 3, 1.5, [])),
    ("speaker.bolt_circle", {}, {"bolt_circle_mm": 156.5}, ("fits", 3, 1.5, 1.5, 1.5, [])),
    ("speaker.bolt_circle", {}, {"bolt_circle_mm": 150.5}, ("measure", 3, 4.5, -1.5, 1.5, [])),
    ("speaker.bolt_circle", {}, {"bolt_circle_mm": 150}, ("no", 3, 5, -2, 1.5, [])),
    ("speaker.bolt_circle", {}, {"bolt_circle_mm": None}, ("measure", 3, None, None, 1.5, ["opening.bolt_circle_mm"])),
    ("speaker.bolt_circle", {"bolt_circle_mm": None}, {}, ("measure", 3, None, None, 1.5, ["part.bolt_circle_mm"])),
    ("speaker.bolt_count", {}, {}, ("fits", 0, 0, 0, 0, [])),
    ("speaker.bolt_count", {"bolt_count": 3}, {}, ("no", 0, 2, -2, 0, [])),
    ("speaker.bolt_count", {"bolt_count": None}, {}, ("measure", 0, None, None, 0, ["part.bolt_count"])),
    ("speaker.bolt_count", {}, {"bolt_count": None}, ("measure", 0, None, None, 0, ["opening.bolt_count"])),
    # Four holes on a circle of 155 are a square of 155 x 0.707106781 = 109.601551.
    (
        "speaker.bolts_across",
        {},
        {"bolt_circle_mm": None, "bolt_count": None, "bolt_w_mm": 110, "bolt_h_mm": 108},
        ("fits", 3, 0.398449, 2.601551, 1.353553, []),
    ),
    (
        "speaker.bolts_down",
        {},
        {"bolt_circle_mm": None, "bolt_count": None, "bolt_w_mm": 110, "bolt_h_mm": 104},
        ("no", 3, 5.601551, -2.601551, 1.353553, []),
    ),
    (
        "speaker.bolt_count",
        {"bolt_count": 3},
        {"bolt_circle_mm": None, "bolt_count": None, "bolt_w_mm": 110, "bolt_h_mm": 110},
        ("no", 0, 2, -2, 0, []),
    ),
]

OVAL: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    ("speaker.hole_width", {}, {}, ("fits", 155, 150, 5, 1.5, [])),
    ("speaker.hole_height", {}, {}, ("fits", 105, 100, 5, 1.5, [])),
    ("speaker.hole_height", {}, {"hole_h_mm": 101.5}, ("fits", 101.5, 100, 1.5, 1.5, [])),
    ("speaker.hole_height", {}, {"hole_h_mm": 98.5}, ("measure", 98.5, 100, -1.5, 1.5, [])),
    ("speaker.hole_height", {}, {"hole_h_mm": 98}, ("no", 98, 100, -2, 1.5, [])),
    # A quarter turn: long side along long side.
    ("speaker.hole_width", {}, {"hole_w_mm": 105, "hole_h_mm": 155}, ("fits", 105, 100, 5, 1.5, [])),
    ("speaker.hole_height", {}, {"hole_w_mm": 105, "hole_h_mm": 155}, ("fits", 155, 150, 5, 1.5, [])),
    ("speaker.flange_width", {}, {"hole_w_mm": 105, "hole_h_mm": 155}, ("fits", 120, 111, 9, 1.5, [])),
    ("speaker.flange_height", {}, {"hole_w_mm": 105, "hole_h_mm": 155}, ("fits", 170, 161, 9, 1.5, [])),
    ("speaker.bolts_across", {}, {"hole_w_mm": 105, "hole_h_mm": 155}, ("no", 3, 50, -47, 1.5, [])),
    # How it lies is not known: no is said only where neither way would do.
    ("speaker.hole_width", {}, {"hole_h_mm": None}, ("measure", 155, None, None, 1.5, ["opening.hole_h_mm"])),
    (
        "speaker.hole_width",
        {},
        {"hole_w_mm": 120, "hole_h_mm": None},
        ("measure", 120, None, None, 1.5, ["opening.hole_h_mm"]),
    ),
    ("speaker.hole_width", {}, {"hole_w_mm": 98, "hole_h_mm": None}, ("no", 98, 100, -2, 1.5, [])),
    ("speaker.hole_height", {}, {"hole_h_mm": None}, ("measure", None, None, None, 1.5, ["opening.hole_h_mm"])),
    ("speaker.hole_height", {"cutout_h_mm": None}, {}, ("measure", 105, None, None, 1.5, ["part.cutout_h_mm"])),
    ("speaker.flange_height", {}, {}, ("fits", 120, 111, 9, 1.5, [])),
    ("speaker.flange_height", {"flange_h_mm": 112.5}, {}, ("fits", 112.5, 111, 1.5, 1.5, [])),
    ("speaker.flange_height", {"flange_h_mm": 109.5}, {}, ("measure", 109.5, 111, -1.5, 1.5, [])),
    ("speaker.flange_height", {"flange_h_mm": 109}, {}, ("no", 109, 111, -2, 1.5, [])),
    ("speaker.flange_height", {"flange_h_mm": None}, {}, ("measure", None, 111, None, 1.5, ["part.flange_h_mm"])),
    ("speaker.flange_height", {}, {"hole_h_mm": None}, ("measure", None, None, None, 1.5, ["opening.hole_h_mm"])),
    ("speaker.bolts_across", {}, {}, ("fits", 3, 0, 3, 1.5, [])),
    ("speaker.bolts_across", {}, {"bolt_w_mm": 131.5}, ("fits", 3, 1.5, 1.5, 1.5, [])),
    ("speaker.bolts_across", {}, {"bolt_w_mm": 134.5}, ("measure", 3, 4.5, -1.5, 1.5, [])),
    ("speaker.bolts_across", {}, {"bolt_w_mm": 135}, ("no", 3, 5, -2, 1.5, [])),
    ("speaker.bolts_across", {}, {"bolt_w_mm": None}, ("measure", 3, None, None, 1.5, ["opening.bolt_w_mm"])),
    ("speaker.bolts_across", {"bolt_w_mm": None}, {}, ("measure", 3, None, None, 1.5, ["part.bolt_w_mm"])),
    ("speaker.bolts_down", {}, {}, ("fits", 3, 0, 3, 1.5, [])),
    ("speaker.bolts_down", {}, {"bolt_h_mm": 81.5}, ("fits", 3, 1.5, 1.5, 1.5, [])),
    ("speaker.bolts_down", {}, {"bolt_h_mm": 84.5}, ("measure", 3, 4.5, -1.5, 1.5, [])),
    ("speaker.bolts_down", {}, {"bolt_h_mm": None}, ("measure", 3, None, None, 1.5, ["opening.bolt_h_mm"])),
    ("speaker.bolts_down", {"bolt_h_mm": None}, {}, ("measure", 3, None, None, 1.5, ["part.bolt_h_mm"])),
]

# A rectangle of 60 x 80 has its corners on a circle of 100.
RECTANGLE = {"shape": "rect", "cutout_w_mm": 60, "cutout_h_mm": 80}
CORNERS: list[tuple[Row, Row, tuple[Any, ...]]] = [
    ({}, {"shape": "round", "hole_w_mm": 102, "hole_h_mm": None}, ("fits", 102, 100, 2, 2, [])),
    ({}, {"shape": "round", "hole_w_mm": 101.9, "hole_h_mm": None}, ("measure", 101.9, 100, 1.9, 2, [])),
    ({}, {"shape": "round", "hole_w_mm": 98, "hole_h_mm": None}, ("measure", 98, 100, -2, 2, [])),
    ({}, {"shape": "round", "hole_w_mm": 97, "hole_h_mm": None}, ("no", 97, 100, -3, 2, [])),
    # An oval of 100 x 200: 60/100 and 80/200 make 0.6 and 0.4, and 100 x sqrt(0.36 + 0.16) is 72.11.
    ({}, {"hole_w_mm": 100, "hole_h_mm": 200}, ("fits", 100, 72.111026, 27.888974, 3, [])),
    ({}, {"hole_w_mm": None, "hole_h_mm": 200}, ("measure", None, None, None, 3, ["opening.hole_w_mm"])),
    (
        {"cutout_w_mm": None},
        {"hole_w_mm": 100, "hole_h_mm": 200},
        ("measure", 100, None, None, 3, ["part.cutout_w_mm"]),
    ),
]


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), ROUND)
def test_round(bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(speaker(**changed), speaker_opening(**measured))
    assert numbers(check_of(fit, rule)) == expected


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), OVAL)
def test_oval(bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(oval_speaker(**changed), oval_opening(**measured))
    assert numbers(check_of(fit, rule)) == expected


@pytest.mark.parametrize(("changed", "measured", "expected"), CORNERS)
def test_corners(bench: Bench, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(oval_speaker(**RECTANGLE | changed), oval_opening(**measured))
    assert numbers(check_of(fit, "speaker.hole_corner")) == expected


ASKED = [
    # A round loudspeaker in a round hole: its height is its width, told once.
    (speaker(), speaker_opening(), {"speaker.hole_height", "speaker.flange_height", "speaker.hole_corner"}),
    (speaker(), speaker_opening(), {"speaker.bolts_across", "speaker.bolts_down", "speaker.both_channels"}),
    (oval_speaker(), oval_opening(), {"speaker.hole_corner", "speaker.bolt_circle", "speaker.bolt_count"}),
]


@pytest.mark.parametrize(("one", "opening", "left_out"), ASKED)
def test_a_rule_that_says_nothing_here_is_not_asked(bench: Bench, one: Row, opening: Row, left_out: set[str]) -> None:
    fit = bench.ask(one, opening)
    assert not left_out & {check.rule for check in fit.checks}


SHAPES = [
    # A circle lies in an oval or a rectangle if both sides hold it.
    (speaker(cutout_w_mm=100), oval_opening(hole_w_mm=155, hole_h_mm=101.5), ("fits", 1.5)),
    (speaker(cutout_w_mm=100), oval_opening(shape="rect", hole_w_mm=155, hole_h_mm=98), ("no", -2)),
    # An oval lies in a circle if its long side does.
    (oval_speaker(), speaker_opening(hole_w_mm=151.5), ("fits", 51.5)),
]


@pytest.mark.parametrize(("one", "opening", "expected"), SHAPES)
def test_shape_in_shape(bench: Bench, one: Row, opening: Row, expected: tuple[str, float]) -> None:
    check = check_of(bench.ask(one, opening), "speaker.hole_height")
    assert check.margin is not None
    assert (check.verdict, float(check.margin)) == expected


def test_four_bolts_on_a_circle_and_a_square_agree_both_ways(bench: Bench) -> None:
    square = {"bolt_circle_mm": None, "bolt_count": None, "bolt_w_mm": 109.601551, "bolt_h_mm": 109.601551}
    fit = bench.ask(speaker(**square), speaker_opening())
    assert [check_of(fit, f"speaker.bolts_{way}").need for way in ("across", "down")] == [0, 0]


def test_what_is_turned_is_said(bench: Bench) -> None:
    straight = bench.ask(oval_speaker(), oval_opening())
    turned = bench.ask(oval_speaker(), oval_opening(hole_w_mm=105, hole_h_mm=155, bolt_w_mm=80, bolt_h_mm=130))
    assert (straight.turned, straight.verdict) == (False, "fits")
    assert (turned.turned, turned.verdict) == (True, "fits")


def test_a_square_hole_turns_nothing(bench: Bench) -> None:
    fit = bench.ask(oval_speaker(), oval_opening(shape="rect", hole_w_mm=160, hole_h_mm=160))
    assert not fit.turned
    assert check_of(fit, "speaker.bolts_across").verdict == "fits"
