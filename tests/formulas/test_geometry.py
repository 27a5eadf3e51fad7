"""Rectangles and boxes in apertures against brute rotation; stacks against published examples."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.geometry import (
    Tolerance,
    box_gate_margin_mm,
    box_passes,
    rectangle_fits,
    rectangle_margin_mm,
    stack_up,
)

ANGLES = np.linspace(0, np.pi / 2, 20_001)
COS, SIN = np.cos(ANGLES), np.sin(ANGLES)
edges = st.floats(1, 100)


def brute_margin(p: float, q: float, a: float, b: float) -> float:
    """The most that both sides can grow, by turning in steps and looking at the corners' extent."""
    across = (a - p * COS - q * SIN) / (COS + SIN)
    along = (b - p * SIN - q * COS) / (COS + SIN)
    return float(np.minimum(across, along).max())


@pytest.mark.parametrize(
    ("w", "h", "a", "b", "fits"),
    [
        (9, 4, 8, 6, False),  # Wetzel 2000: though area, diagonal, perimeter and side would allow it
        (9, 4, 8, 9.79, True),
        (9, 4, 8, 3.9, False),
        (10, 1, 8, 7.6, True),  # Carver 1957: turned
        (10, 1, 8, 7.5, False),
        (10, 10, 8, 8, False),  # the trap: the short side has to be looked at first
        (8, 6, 8, 6, True),  # exactly
        (6, 8, 8, 6, True),
        (8, 6.001, 8, 6, False),
        (10, 1, 8, 7.5466, True),  # the limit is 7.5465
        (10, 1, 8, 7.5464, False),
    ],
)
def test_rectangle_in_rectangle(w: float, h: float, a: float, b: float, fits: bool) -> None:
    assert rectangle_fits(w, h, a, b) is fits


@given(edges, edges, edges, edges)
def test_carver_agrees_with_brute_rotation(p: float, q: float, a: float, b: float) -> None:
    brute = brute_margin(p, q, a, b)
    if abs(brute) > 1e-3:  # the steps of the brute rotation leave that much open
        assert rectangle_fits(p, q, a, b) is (brute > 0)


@given(edges, edges, edges, edges)
def test_margin_agrees_with_brute_rotation(p: float, q: float, a: float, b: float) -> None:
    brute, margin = brute_margin(p, q, a, b), rectangle_margin_mm(p, q, a, b)
    assert margin is not None
    if brute > -min(p, q):
        assert margin == pytest.approx(brute, abs=1e-2)


@given(edges, edges, edges, edges)
def test_margin_and_verdict_say_the_same(p: float, q: float, a: float, b: float) -> None:
    margin = rectangle_margin_mm(p, q, a, b)
    assert margin is not None
    if abs(margin) > 1e-4:
        assert rectangle_fits(p, q, a, b) is (margin > 0)


@given(edges, edges, edges, edges, edges)
def test_box_through_a_gate_as_if_every_face_were_tried(w: float, h: float, d: float, a: float, b: float) -> None:
    best = max(brute_margin(*face, a, b) for face in combinations((w, h, d), 2))
    if abs(best) > 1e-3:
        assert box_passes(w, h, d, a, b) is (best > 0)
    if best > -min(w, h, d):
        assert box_gate_margin_mm(w, h, d, a, b) == pytest.approx(best, abs=1e-2)


@given(edges, edges, edges, edges, edges, st.floats(0, 50), st.floats(0, 50))
def test_a_wider_gate_never_shuts_a_box_out(
    w: float, h: float, d: float, a: float, b: float, wider: float, taller: float
) -> None:
    if box_passes(w, h, d, a, b):
        assert box_passes(w, h, d, a + wider, b + taller)
    assert (box_gate_margin_mm(w, h, d, a + wider, b + taller) or 0) >= (box_gate_margin_mm(w, h, d, a, b) or 0) - 1e-6


@pytest.mark.parametrize(
    ("box", "gate", "margin"),
    [
        ((1000, 350, 400), (900, 360), 10),
        ((1000, 350, 400), (400, 350), 0),
        ((500, 500, 500), (480, 490), -20),
    ],
)
def test_gate_margins_by_hand(box: tuple[float, float, float], gate: tuple[float, float], margin: float) -> None:
    assert box_gate_margin_mm(*box, *gate) == pytest.approx(margin)
    assert box_passes(*box, *gate) is (margin >= 0)


def test_stack_in_a_housing() -> None:
    # A published example: three parts in a housing leave 0.020, worst +/-0.015, RSS +/-0.00794.
    found = stack_up(
        [
            Tolerance(4.020, 0.005),
            Tolerance(2.000, 0.005, sign=-1),
            Tolerance(1.500, 0.003, sign=-1),
            Tolerance(0.500, 0.002, sign=-1),
        ]
    )
    assert found is not None
    assert (found.value, found.worst, found.rss) == pytest.approx((0.020, 0.015, 0.00794), abs=5e-6)


@pytest.mark.parametrize(
    ("tolerances", "worst", "rss", "within"),
    [
        ([0.20, 0.10, 0.15], 0.45, 0.269, 5e-4),  # published example
        ([0.1] * 10, 1.0, 0.316, 5e-4),  # published example
        ([25, 16.6, 6.7, 5.8, 3.9, 2.89], 60.89, 31.66, 5e-3),  # JCGM 100:2008 annex H.1, in nm
    ],
)
def test_worst_case_and_root_of_squares(tolerances: list[float], worst: float, rss: float, within: float) -> None:
    found = stack_up(Tolerance(0.0, tol) for tol in tolerances)
    assert found is not None
    assert (found.worst, found.rss) == pytest.approx((worst, rss), abs=within)


@given(st.lists(st.floats(0, 10), min_size=1, max_size=8))
def test_the_root_lies_between_the_largest_and_the_worst(tolerances: list[float]) -> None:
    found = stack_up(Tolerance(0.0, tol) for tol in tolerances)
    assert found is not None
    assert max(tolerances) - 1e-9 <= found.rss <= found.worst + 1e-9
    assert found.rss >= found.worst / math.sqrt(len(tolerances)) - 1e-9


def test_an_empty_stack_is_nothing_at_all() -> None:
    found = stack_up([])
    assert found is not None
    assert (found.value, found.worst, found.rss) == (0, 0, 0)


@pytest.mark.parametrize(
    "answer",
    [
        rectangle_fits(None, 1, 2, 3),
        rectangle_fits(0, 1, 2, 3),
        rectangle_margin_mm(1, 1, 2, -3),
        box_passes(1, 1, None, 2, 3),
        box_gate_margin_mm(1, 1, 1, None, 3),
        stack_up([Tolerance(None, 1)]),
        stack_up([Tolerance(1, None)]),
        stack_up([Tolerance(1, -1)]),
        stack_up([Tolerance(1, 1, sign=2)]),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
