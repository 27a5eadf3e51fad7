"""Rectangles and boxes in apertures against brute rotation."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.geometry import box_passes, rectangle_fits

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


@given(edges, edges, edges, edges, edges)
def test_box_through_a_gate_as_if_every_face_were_tried(w: float, h: float, d: float, a: float, b: float) -> None:
    best = max(brute_margin(*face, a, b) for face in combinations((w, h, d), 2))
    if abs(best) > 1e-3:
        assert box_passes(w, h, d, a, b) is (best > 0)


@pytest.mark.parametrize(
    "answer", [rectangle_fits(None, 1, 2, 3), rectangle_fits(0, 1, 2, 3), box_passes(1, 1, None, 2, 3)]
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
