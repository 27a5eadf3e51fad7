"""Head units at a dash opening, and floating screens against what must stay reachable: by hand."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.factories import (
    Bench,
    Row,
    check_of,
    dash_opening,
    floating_unit,
    head_unit,
    numbers,
    thing,
)

RULES = (
    "dash.mount",
    "dash.body_width",
    "dash.body_height",
    "dash.depth",
    "dash.face_width",
    "dash.face_height",
    "dash.shafts_least",
    "dash.shafts_most",
    "dash.proud",
    "dash.support_mass",
    "dash.support_screen",
    "dash.screen_clear",
)

# rule, part, opening, then: verdict, have, need, margin, tolerance, missing
PLAIN: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    ("dash.mount", {}, {}, ("fits", 1, 1, 0, 0, [])),
    ("dash.mount", {"mount": "twin_shaft"}, {}, ("no", 0, 1, -1, 0, [])),
    ("dash.mount", {}, {"shape": "twin_shaft"}, ("no", 0, 1, -1, 0, [])),
    ("dash.mount", {"mount": "twin_shaft"}, {"shape": "twin_shaft"}, ("fits", 1, 1, 0, 0, [])),
    ("dash.mount", {"mount": None}, {}, ("measure", None, 1, None, 0, ["part.mount"])),
    ("dash.mount", {}, {"shape": None}, ("measure", None, 1, None, 0, ["opening.shape"])),
    # The body enters the opening.
    ("dash.body_width", {}, {}, ("fits", 182, 178, 4, 1.5, [])),
    ("dash.body_width", {}, {"w_mm": 179.5}, ("fits", 179.5, 178, 1.5, 1.5, [])),
    ("dash.body_width", {}, {"w_mm": 176.5}, ("measure", 176.5, 178, -1.5, 1.5, [])),
    ("dash.body_width", {}, {"w_mm": 176.4}, ("no", 176.4, 178, -1.6, 1.5, [])),
    ("dash.body_width", {}, {"w_mm": None}, ("measure", None, 178, None, 1.5, ["opening.w_mm"])),
    ("dash.body_width", {"body_w_mm": None}, {}, ("measure", 182, None, None, 1.5, ["part.body_w_mm"])),
    ("dash.body_height", {}, {}, ("fits", 53, 50, 3, 1.5, [])),
    ("dash.body_height", {"body_h_mm": 51.5}, {}, ("fits", 53, 51.5, 1.5, 1.5, [])),
    ("dash.body_height", {"body_h_mm": 54.5}, {}, ("measure", 53, 54.5, -1.5, 1.5, [])),
    ("dash.body_height", {"body_h_mm": 100}, {}, ("no", 53, 100, -47, 1.5, [])),
    ("dash.body_height", {"body_h_mm": None}, {}, ("measure", 53, None, None, 1.5, ["part.body_h_mm"])),
    ("dash.body_height", {}, {"h_mm": None}, ("measure", None, 50, None, 1.5, ["opening.h_mm"])),
    # Body and plugs: two figures of the maker's.
    ("dash.depth", {}, {}, ("fits", 160, 150, 10, 2, [])),
    ("dash.depth", {}, {"depth_mm": 152}, ("fits", 152, 150, 2, 2, [])),
    ("dash.depth", {}, {"depth_mm": 148}, ("measure", 148, 150, -2, 2, [])),
    ("dash.depth", {}, {"depth_mm": 147.9}, ("no", 147.9, 150, -2.1, 2, [])),
    ("dash.depth", {}, {"depth_mm": None}, ("measure", None, 150, None, 2, ["opening.depth_mm"])),
    (
        "dash.depth",
        {"body_d_mm": None, "plugs_d_mm": None},
        {},
        ("measure", 160, None, None, 2, ["part.body_d_mm", "part.plugs_d_mm"]),
    ),
    # The face covers the edge.
    ("dash.face_width", {}, {}, ("fits", 190, 182, 8, 1.5, [])),
    ("dash.face_width", {"face_w_mm": 183.5}, {}, ("fits", 183.5, 182, 1.5, 1.5, [])),
    ("dash.face_width", {"face_w_mm": 180.5}, {}, ("measure", 180.5, 182, -1.5, 1.5, [])),
    ("dash.face_width", {"face_w_mm": 180}, {}, ("no", 180, 182, -2, 1.5, [])),
    ("dash.face_width", {"face_w_mm": None}, {}, ("measure", None, 182, None, 1.5, ["part.face_w_mm"])),
    ("dash.face_width", {}, {"w_mm": None}, ("measure", 190, None, None, 1.5, ["opening.w_mm"])),
    ("dash.face_height", {}, {}, ("fits", 60, 53, 7, 1.5, [])),
    ("dash.face_height", {"face_h_mm": 54.5}, {}, ("fits", 54.5, 53, 1.5, 1.5, [])),
    ("dash.face_height", {"face_h_mm": 51.5}, {}, ("measure", 51.5, 53, -1.5, 1.5, [])),
    ("dash.face_height", {}, {"h_mm": 76}, ("no", 60, 76, -16, 1.5, [])),
    ("dash.face_height", {"face_h_mm": None}, {}, ("measure", None, 53, None, 1.5, ["part.face_h_mm"])),
    ("dash.face_height", {}, {"h_mm": None}, ("measure", 60, None, None, 1.5, ["opening.h_mm"])),
    # How far it stands out; a floating screen on top of the face.
    ("dash.proud", {}, {}, ("fits", 40, 15, 25, 1.5, [])),
    ("dash.proud", {}, {"proud_max_mm": 16.5}, ("fits", 16.5, 15, 1.5, 1.5, [])),
    ("dash.proud", {}, {"proud_max_mm": 13.5}, ("measure", 13.5, 15, -1.5, 1.5, [])),
    ("dash.proud", {}, {"proud_max_mm": 13}, ("no", 13, 15, -2, 1.5, [])),
    ("dash.proud", {}, {"proud_max_mm": None}, ("measure", None, 15, None, 1.5, ["opening.proud_max_mm"])),
    ("dash.proud", {"face_d_mm": None}, {}, ("measure", 40, None, None, 1.5, ["part.face_d_mm"])),
    ("dash.proud", {"screen": "floating", "screen_d_mm": 23}, {}, ("fits", 40, 38, 2, 2, [])),
    ("dash.proud", {"screen": "flush", "screen_d_mm": 40}, {}, ("fits", 40, 15, 25, 1.5, [])),
    ("dash.proud", {"screen": "floating"}, {}, ("measure", 40, None, None, 2, ["part.screen_d_mm"])),
    ("dash.proud", {"screen": None}, {}, ("measure", 40, None, None, 1.5, ["part.screen"])),
    # Over 1.5 kg wants a support; none is wanted where a stud stands ready.
    ("dash.support_mass", {}, {}, ("fits", 1.5, 1, 0.5, 0, [])),
    ("dash.support_mass", {"mass_kg": 1.5}, {}, ("fits", 1.5, 1.5, 0, 0, [])),
    ("dash.support_mass", {"mass_kg": 1.51}, {}, ("no", 1.5, 1.51, -0.01, 0, [])),
    ("dash.support_mass", {"mass_kg": 1.6, "mass_kg_tol": 0.1}, {}, ("measure", 1.5, 1.6, -0.1, 0.1, [])),
    ("dash.support_mass", {"mass_kg": None}, {}, ("measure", 1.5, None, None, 0, ["part.mass_kg"])),
    (
        "dash.support_mass",
        {"mass_kg": 2},
        {"rear_support": None},
        ("measure", 1.5, 2, None, 0, ["opening.rear_support"]),
    ),
    ("dash.support_mass", {}, {"rear_support": None}, ("fits", 1.5, 1, 0.5, 0, [])),
]

TWIN: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    ("dash.shafts_least", {}, {}, ("fits", 135, 130, 5, 1.5, [])),
    ("dash.shafts_least", {}, {"shaft_mm": 131.5}, ("fits", 131.5, 130, 1.5, 1.5, [])),
    ("dash.shafts_least", {}, {"shaft_mm": 128.5}, ("measure", 128.5, 130, -1.5, 1.5, [])),
    ("dash.shafts_least", {}, {"shaft_mm": 128}, ("no", 128, 130, -2, 1.5, [])),
    ("dash.shafts_least", {}, {"shaft_mm": None}, ("measure", None, 130, None, 1.5, ["opening.shaft_mm"])),
    ("dash.shafts_least", {"shaft_min_mm": None}, {}, ("measure", 135, None, None, 1.5, ["part.shaft_min_mm"])),
    ("dash.shafts_most", {}, {}, ("fits", 140, 135, 5, 1.5, [])),
    ("dash.shafts_most", {}, {"shaft_mm": 138.5}, ("fits", 140, 138.5, 1.5, 1.5, [])),
    ("dash.shafts_most", {}, {"shaft_mm": 141.5}, ("measure", 140, 141.5, -1.5, 1.5, [])),
    ("dash.shafts_most", {}, {"shaft_mm": 142}, ("no", 140, 142, -2, 1.5, [])),
    ("dash.shafts_most", {}, {"shaft_mm": None}, ("measure", 140, None, None, 1.5, ["opening.shaft_mm"])),
    ("dash.shafts_most", {"shaft_max_mm": None}, {}, ("measure", None, 135, None, 1.5, ["part.shaft_max_mm"])),
]
TWIN_UNIT = {"mount": "twin_shaft", "shaft_min_mm": 130, "shaft_max_mm": 140}
TWIN_HOLES = {"shape": "twin_shaft", "shaft_mm": 135}

SUPPORT: list[tuple[Row, Row, tuple[Any, ...]]] = [
    ({}, {}, ("fits", 8, 8, 0, 0, [])),
    ({"screen_in": 7}, {}, ("fits", 8, 7, 1, 0, [])),
    ({"screen_in": 9}, {}, ("no", 8, 9, -1, 0, [])),
    ({"screen_in": None}, {}, ("measure", 8, None, None, 0, ["part.screen_in"])),
    ({"screen_in": 9}, {"rear_support": None}, ("measure", 8, 9, None, 0, ["opening.rear_support"])),
    ({"screen_in": 9, "screen": None}, {}, ("measure", 8, 9, None, 0, ["part.screen"])),
]

# The screen is 200 x 120, its center from 0 to 80 over the body's: 10 clear for fingers.
# At rise 0 its upper edge is at 60; a thing from 150 up leaves 90. Tolerances: the thing's place 1,
# half the screen's height 0.25; below it, the thing's height 1 more.
CLEAR: list[tuple[Row, list[Row], tuple[Any, ...]]] = [
    ({}, [thing()], ("fits", 90, 10, 80, 1.25, [])),
    ({}, [thing(y_mm=71.25)], ("fits", 11.25, 10, 1.25, 1.25, [])),
    ({}, [thing(y_mm=71)], ("measure", 11, 10, 1, 1.25, [])),
    ({"screen_rise_max_mm": 0}, [thing(y_mm=68.75)], ("measure", 8.75, 10, -1.25, 1.25, [])),
    ({"screen_rise_max_mm": 0}, [thing(y_mm=68)], ("no", 8, 10, -2, 1.25, [])),
    # A thing below, -90 to -60: the screen goes up to 80, so its lower edge to 20.
    ({}, [thing(y_mm=-90)], ("fits", 80, 10, 70, 2.25, [])),
    # A thing at the right of the screen, at whatever height it hangs.
    ({"screen_rise_max_mm": 0}, [thing(x_mm=112, y_mm=-15)], ("fits", 12, 10, 2, 1.25, [])),
    ({"screen_rise_max_mm": 0}, [thing(x_mm=-150, y_mm=-15)], ("measure", 10, 10, 0, 2.25, [])),
    # How it is reached sets the clearance.
    ({}, [thing(reach="lever")], ("fits", 90, 25, 65, 1.25, [])),
    ({}, [thing(reach="none")], ("fits", 90, 0, 90, 1.25, [])),
    ({}, [thing(reach=15)], ("fits", 90, 15, 75, 1.25, [])),
    ({}, [thing(reach="15 mm")], ("fits", 90, 15, 75, 1.25, [])),
    ({}, [thing(reach=12.5)], ("fits", 90, 12.5, 77.5, 1.25, [])),
    ({}, [thing(reach=True)], ("fits", 90, 10, 80, 1.25, [])),
    ({}, [thing(reach=False)], ("fits", 90, 0, 90, 1.25, [])),
    ({}, [thing(reach=None)], ("fits", 90, 10, 80, 1.25, [])),
    # Unknown on either side.
    (
        {"screen_rise_min_mm": None, "screen_rise_max_mm": None},
        [thing()],
        ("measure", None, 10, None, 1.25, ["part.screen_rise_min_mm", "part.screen_rise_max_mm"]),
    ),
    ({"screen_rise_max_mm": None}, [thing()], ("measure", None, 10, None, 1.25, ["part.screen_rise_max_mm"])),
    ({"screen_h_mm": None}, [thing()], ("measure", None, 10, None, 1.25, ["part.screen_h_mm"])),
    ({}, [thing(y_mm=None)], ("measure", None, 10, None, 1.25, ["opening.keep_clear.hazard switch.y_mm"])),
    ({}, [thing(w_mm=None)], ("measure", None, 10, None, 1.25, ["opening.keep_clear.hazard switch.w_mm"])),
    ({"screen": None}, [thing(y_mm=-20)], ("measure", None, 10, None, None, ["part.screen"])),
]


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), PLAIN)
def test_plain(bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(head_unit(**changed), dash_opening(**measured))
    assert numbers(check_of(fit, rule)) == expected


@pytest.mark.parametrize(("rule", "changed", "measured", "expected"), TWIN)
def test_twin_shaft(bench: Bench, rule: str, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(head_unit(**TWIN_UNIT | changed), dash_opening(**TWIN_HOLES | measured))
    assert numbers(check_of(fit, rule)) == expected


@pytest.mark.parametrize(("changed", "measured", "expected"), SUPPORT)
def test_support_of_a_floating_screen(bench: Bench, changed: Row, measured: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(floating_unit(**changed), dash_opening(**measured))
    assert numbers(check_of(fit, "dash.support_screen")) == expected


@pytest.mark.parametrize(("changed", "things", "expected"), CLEAR)
def test_floating_screen(bench: Bench, changed: Row, things: list[Row], expected: tuple[Any, ...]) -> None:
    fit = bench.ask(floating_unit(**changed), dash_opening(keep_clear=things))
    got = numbers(check_of(fit, "dash.screen_clear"))
    if expected[2 + 2] is None:
        assert (got[0], got[5]) == (expected[0], expected[5])
    else:
        assert got == expected


ASKED = [
    (head_unit(), dash_opening(), {"dash.shafts_least", "dash.shafts_most", "dash.support_screen"}),
    (head_unit(), dash_opening(rear_support=True), {"dash.support_mass"}),
    (head_unit(**TWIN_UNIT), dash_opening(**TWIN_HOLES), {"dash.body_width", "dash.face_height"}),
    (head_unit(), dash_opening(keep_clear=[thing(y_mm=0)]), {"dash.screen_clear"}),
    (head_unit(screen="flush"), dash_opening(keep_clear=[thing(y_mm=0)]), {"dash.screen_clear"}),
]


@pytest.mark.parametrize(("one", "opening", "left_out"), ASKED)
def test_a_rule_that_says_nothing_here_is_not_asked(bench: Bench, one: Row, opening: Row, left_out: set[str]) -> None:
    assert not left_out & {check.rule for check in bench.ask(one, opening).checks}


def test_a_screen_hangs_where_the_tightest_of_several_things_has_most_room(bench: Bench) -> None:
    """Between a thing whose top is at -70 and one from 150: at rise 40 both are 50 away."""
    things = [thing("vent", y_mm=150), thing("heater", y_mm=-100, h_mm=30)]
    fit = bench.ask(floating_unit(), dash_opening(keep_clear=things))
    assert [check_of(fit, "dash.screen_clear", name).have for name in ("vent", "heater")] == [50, 50]


def test_of_two_rises_as_good_the_lower_is_taken(bench: Bench) -> None:
    """Nothing but a thing far at the right: every rise leaves as much, and none is needed."""
    fit = bench.ask(floating_unit(), dash_opening(keep_clear=[thing(x_mm=300, y_mm=-500, h_mm=1000)]))
    assert check_of(fit, "dash.screen_clear").have == 200


places = st.integers(-260, 260)
sizes = st.integers(10, 120)
things_around = st.lists(
    st.builds(
        lambda x, y, w, h, reach: {"x_mm": x, "y_mm": y, "w_mm": w, "h_mm": h, "reach": reach},
        places,
        places,
        sizes,
        sizes,
        st.sampled_from(["fingers", "lever", "none", 17]),
    ),
    min_size=1,
    max_size=5,
)
CLEARANCE = {"fingers": 10, "lever": 25, "none": 0, 17: 17}


def room(things: list[Row], width: int, height: int, rise: Decimal) -> Decimal:
    half_w, half_h = Decimal(width) / 2, Decimal(height) / 2
    return min(
        max(
            each["y_mm"] - rise - half_h,
            rise - half_h - each["y_mm"] - each["h_mm"],
            each["x_mm"] - half_w,
            -each["x_mm"] - each["w_mm"] - half_w,
        )
        - CLEARANCE[each["reach"]]
        for each in things
    )


@settings(max_examples=20, deadline=None)
@given(things_around, st.integers(100, 260), st.integers(60, 160), st.integers(-60, 20), st.integers(0, 140))
def test_no_rise_of_a_fine_grid_is_better(
    bench: Bench, things: list[Row], width: int, height: int, least: int, span: int
) -> None:
    named = [thing(f"thing {position}", **each) for position, each in enumerate(things)]
    unit = floating_unit(
        screen_w_mm=width, screen_h_mm=height, screen_rise_min_mm=least, screen_rise_max_mm=least + span
    )
    fit = bench.ask(unit, dash_opening(keep_clear=named))
    margins = [check.margin for check in fit.checks if check.rule == "dash.screen_clear"]
    assert len(margins) == len(things)
    found = min(margin for margin in margins if margin is not None)
    grid = [least + Decimal(step) / 4 for step in range(4 * span + 1)]
    best = max(room(things, width, height, rise) for rise in grid)
    assert best <= found <= best + Decimal("0.25")
