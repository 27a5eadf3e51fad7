"""A bass box in a cargo space: through the gate, on the floor, under the slope, held; by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.geometry import rectangle_fits
from matcher.kernel.exact import MICRO
from matcher.kernel.worked import worked_values
from matcher.rules.terms import Exact
from matcher.rules.worked import Turned
from tests.bass.cars import box, cargo_space, straight
from tests.factories import Bench, Row, check_of, numbers

RULES = (
    "cargo.gate_short",
    "cargo.gate_long",
    "cargo.width",
    "cargo.height",
    "cargo.depth_floor",
    "cargo.depth_top",
    "cargo.mass",
    "cargo.fasten",
)

GATE = {"gate_h_mm": 320}

# rule, box, space, then: verdict, have, need, margin, tolerance, missing
TABLE: list[tuple[str, Row, Row, tuple[Any, ...]]] = [
    # The shortest edge against the short side of the gate, whichever that is.
    ("cargo.gate_short", box(), cargo_space(), ("fits", 400, 300, 100, 1.5, [])),
    ("cargo.gate_short", box(), cargo_space(gate_w_mm=301.5), ("fits", 301.5, 300, 1.5, 1.5, [])),
    ("cargo.gate_short", box(), cargo_space(gate_w_mm=301), ("measure", 301, 300, 1, 1.5, [])),
    ("cargo.gate_short", box(), cargo_space(gate_h_mm=298.5), ("measure", 298.5, 300, -1.5, 1.5, [])),
    ("cargo.gate_short", box(), cargo_space(gate_h_mm=298), ("no", 298, 300, -2, 1.5, [])),
    ("cargo.gate_short", box(w_mm=250), cargo_space(), ("fits", 400, 250, 150, 1.5, [])),
    # A sloped box goes in where it is deepest.
    ("cargo.gate_short", box(d_mm=200, d_top_mm=310), cargo_space(), ("fits", 400, 310, 90, 1.5, [])),
    ("cargo.gate_short", box(), cargo_space(gate_h_mm=None), ("measure", None, 300, None, 1.5, ["opening.gate_h_mm"])),
    ("cargo.gate_short", box(d_top_mm=None), cargo_space(), ("measure", 400, None, None, 1.5, ["part.d_top_mm"])),
    # The middle edge against the long side: the longest edge goes in first.
    ("cargo.gate_long", box(), cargo_space(), ("fits", 500, 350, 150, 1.5, [])),
    ("cargo.gate_long", box(), cargo_space(gate_w_mm=351.5, **GATE), ("fits", 351.5, 350, 1.5, 1.5, [])),
    ("cargo.gate_long", box(), cargo_space(gate_w_mm=348.5, **GATE), ("measure", 348.5, 350, -1.5, 1.5, [])),
    ("cargo.gate_long", box(), cargo_space(gate_w_mm=348, **GATE), ("no", 348, 350, -2, 1.5, [])),
    ("cargo.gate_long", box(w_mm=1200), cargo_space(), ("fits", 500, 350, 150, 1.5, [])),
    ("cargo.gate_long", box(), cargo_space(gate_w_mm=None), ("measure", None, None, None, 1, ["opening.gate_w_mm"])),
    ("cargo.width", box(), cargo_space(), ("fits", 600, 400, 200, 1.5, [])),
    ("cargo.width", box(w_mm=598.5), cargo_space(), ("fits", 600, 598.5, 1.5, 1.5, [])),
    ("cargo.width", box(w_mm=599), cargo_space(), ("measure", 600, 599, 1, 1.5, [])),
    ("cargo.width", box(w_mm=601.5), cargo_space(), ("measure", 600, 601.5, -1.5, 1.5, [])),
    ("cargo.width", box(w_mm=602), cargo_space(), ("no", 600, 602, -2, 1.5, [])),
    ("cargo.width", box(w_mm=None), cargo_space(), ("measure", 600, None, None, 1.5, ["part.w_mm"])),
    # The false floor takes its height, and brings a tolerance of its own.
    ("cargo.height", box(), cargo_space(), ("fits", 400, 350, 50, 2.5, [])),
    ("cargo.height", box(), cargo_space(h_mm=402.5), ("fits", 352.5, 350, 2.5, 2.5, [])),
    ("cargo.height", box(), cargo_space(h_mm=397.5), ("measure", 347.5, 350, -2.5, 2.5, [])),
    ("cargo.height", box(), cargo_space(h_mm=397), ("no", 347, 350, -3, 2.5, [])),
    (
        "cargo.height",
        box(),
        cargo_space(floor_loss_mm=None),
        ("measure", None, 350, None, 2.5, ["opening.floor_loss_mm"]),
    ),
    # Depth at the floor and at the top of the box, each at its own height: 100 mm of slope over 450.
    ("cargo.depth_floor", box(), cargo_space(), ("fits", 388.888889, 300, 88.888889, 1.746914, [])),
    ("cargo.depth_floor", box(d_mm=398.5), straight(), ("fits", 400, 398.5, 1.5, 1.5, [])),
    ("cargo.depth_floor", box(d_mm=399), straight(), ("measure", 400, 399, 1, 1.5, [])),
    ("cargo.depth_floor", box(d_mm=402), straight(), ("no", 400, 402, -2, 1.5, [])),
    ("cargo.depth_floor", box(d_mm=390.7), cargo_space(), ("no", 388.888889, 390.7, -1.811111, 1.746914, [])),
    ("cargo.depth_floor", box(), cargo_space(d_top_mm=None), ("measure", None, 300, None, 0.5, ["opening.d_top_mm"])),
    # Without a false floor the foot of the box stands where the depth was measured: any depth at the top will do.
    (
        "cargo.depth_floor",
        box(d_mm=398.5),
        cargo_space(d_top_mm=None, floor_loss_mm=0),
        ("fits", 400, 398.5, 1.5, 1.5, []),
    ),
    ("cargo.depth_top", box(), cargo_space(), ("fits", 311.111111, 250, 61.111111, 2.030864, [])),
    ("cargo.depth_top", box(d_top_mm=398.5), straight(), ("fits", 400, 398.5, 1.5, 1.5, [])),
    ("cargo.depth_top", box(d_top_mm=401.5), straight(), ("measure", 400, 401.5, -1.5, 1.5, [])),
    ("cargo.depth_top", box(d_top_mm=402), straight(), ("no", 400, 402, -2, 1.5, [])),
    # A box too high for the space is judged at its top.
    ("cargo.depth_top", box(h_mm=500), cargo_space(), ("fits", 300, 250, 50, 2.055556, [])),
    ("cargo.depth_top", box(d_top_mm=None), straight(), ("measure", 400, None, None, 1.5, ["part.d_top_mm"])),
    ("cargo.mass", box(), cargo_space(), ("fits", 20, 8, 12, 0, [])),
    ("cargo.mass", box(mass_kg=20), cargo_space(), ("fits", 20, 20, 0, 0, [])),
    ("cargo.mass", box(mass_kg=20.1), cargo_space(), ("no", 20, 20.1, -0.1, 0, [])),
    ("cargo.mass", box(mass_kg=None), cargo_space(), ("measure", 20, None, None, 0, ["part.mass_kg"])),
    ("cargo.mass", box(), cargo_space(mass_max_kg=None), ("measure", None, 8, None, 0, ["opening.mass_max_kg"])),
    ("cargo.fasten", box(), cargo_space(), ("fits", 1, 1, 0, 0, [])),
    ("cargo.fasten", box(), cargo_space(fasten="no"), ("no", 0, 1, -1, 0, [])),
    ("cargo.fasten", box(), cargo_space(fasten=None), ("measure", None, 1, None, 0, ["opening.fasten"])),
]


@pytest.mark.parametrize(("rule", "one", "space", "expected"), TABLE)
def test_cargo(bench: Bench, rule: str, one: Row, space: Row, expected: tuple[Any, ...]) -> None:
    fit = bench.ask(one, space)
    assert numbers(check_of(fit, rule)) == expected


# The counter-example of Wetzel 2000, a hundredfold: 1000 by 100 goes through 800 by 760, not 800 by 750.
@pytest.mark.parametrize(("gate_h", "verdict"), [(760, "fits"), (750, "no")])
def test_a_long_face_goes_through_turned_in_the_gate(bench: Bench, gate_h: float, verdict: str) -> None:
    slim = box(w_mm=2000, h_mm=1000, d_mm=100, d_top_mm=100)
    check = check_of(bench.ask(slim, cargo_space(gate_w_mm=800, gate_h_mm=gate_h)), "cargo.gate_long")
    assert check.verdict == verdict
    assert check.need is not None and check.need < 1000


SIDES = st.floats(10, 2000)


@given(p=SIDES, q=SIDES, a=SIDES, b=SIDES)
def test_the_turned_side_says_what_the_geometry_says(p: float, q: float, a: float, b: float) -> None:
    q, p = sorted((p, q))
    b, a = sorted((a, b))
    term = Turned((Exact("x", "p"), Exact("x", "q"), Exact("x", "b")))
    values, _ = worked_values(term, [np.array([round(side * MICRO)]) for side in (p, q, b)])
    needed = values[0] / MICRO
    if abs(needed - a) > 1e-3 and abs(q - b) > 1e-3:
        assert (needed <= a and q <= b) == rectangle_fits(p, q, a, b)


def test_new_screw_holes_hold_it_where_nothing_else_does(bench: Bench) -> None:
    bare = cargo_space(fasten="no")
    at_bolt_on, at_drilled = bench.ask(box(), bare), bench.ask(box(), bare, step="drilled")
    assert (at_bolt_on.verdict, at_bolt_on.alteration) == ("no", "drilled")
    assert (at_drilled.verdict, at_drilled.alteration) == ("fits", "drilled")
    assert "cargo.fasten" not in {check.rule for check in at_drilled.checks}


def test_a_floor_over_a_tank_is_refused_whatever_the_limits_say(bench: Bench) -> None:
    zone = [{"where": "Behind the seat", "why": "fuel tank"}]
    fit = bench.ask(box(), cargo_space(), step="metal_cut", no_fasten=zone)
    assert (fit.verdict, fit.alteration) == ("no", None)


def test_a_box_is_held_by_something_added(bench: Bench) -> None:
    fit = bench.ask(box(), cargo_space())
    assert (fit.verdict, fit.alteration, fit.adapter_id, fit.cut) == ("fits", "bolt_on", None, None)
    assert bench.ask(box(), cargo_space(), step="bolt_in").verdict == "no"
