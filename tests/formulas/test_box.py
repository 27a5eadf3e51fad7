"""Closed boxes against Small's table and against scipy's analog filters."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, signal

from matcher.formulas.box import (
    closed_box,
    closed_f3_hz,
    closed_fc_hz,
    closed_peak_db,
    closed_peak_hz,
    closed_qtc,
    closed_response_db,
    closed_volume_l,
    stiffening,
)

BUTTERWORTH = math.sqrt(0.5)


def filter_db(ratios: np.ndarray, q: float) -> Any:
    """scipy's response of s^2 / (s^2 + s/Q + 1)."""
    _, response = signal.freqs([1, 0, 0], [1, 1 / q, 1], worN=ratios)
    return 20 * np.log10(np.abs(response))


@pytest.mark.parametrize(
    ("qtc", "f3", "peak", "at"),
    # Small 1972, recomputed from the second-order response.
    [
        (0.5, 1.5538, 0, None),
        (1 / math.sqrt(3), 1.2720, 0, None),
        (BUTTERWORTH, 1.0, 0, None),
        (0.8, 0.8972, 0.213, 2.138),
        (1.0, 0.7862, 1.249, 1.414),
        (1.2, 0.7358, 2.412, 1.238),
    ],
)
def test_corner_and_peak(qtc: float, f3: float, peak: float, at: float | None) -> None:
    assert closed_f3_hz(1, qtc) == pytest.approx(f3, abs=5e-4)
    assert closed_peak_db(qtc) == pytest.approx(peak, abs=5e-4)
    assert closed_peak_hz(1, qtc) == (None if at is None else pytest.approx(at, abs=5e-4))


@pytest.mark.parametrize("qtc", [0.3, 0.5, 0.65, BUTTERWORTH, 0.9, 1.2, 3.0])
def test_response_is_that_of_scipys_filter(qtc: float) -> None:
    freqs = np.geomspace(5, 500, 41)
    levels = [closed_response_db(freq, 50, qtc) for freq in freqs]
    assert levels == pytest.approx(filter_db(freqs / 50, qtc), abs=1e-9)


@given(st.floats(0.2, 5))
def test_corner_is_where_scipys_filter_is_3_db_down(qtc: float) -> None:
    # The response rises all the way up to the corner, so the crossing is the only one.
    half = 10 * math.log10(0.5)
    corner = optimize.brentq(lambda ratio: filter_db(np.array([ratio]), qtc)[0] - half, 0.05, 30)
    assert closed_f3_hz(1, qtc) == pytest.approx(corner, rel=1e-6)


@given(st.floats(0.75, 5))
def test_peak_is_the_highest_point_of_the_response(qtc: float) -> None:
    at = closed_peak_hz(40, qtc)
    top = closed_peak_db(qtc)
    assert at is not None
    assert closed_response_db(at, 40, qtc) == pytest.approx(top)
    assert (closed_response_db(at * 1.02, 40, qtc) or 0) < (top or 0)
    assert (closed_response_db(at * 0.98, 40, qtc) or 0) < (top or 0)


@given(st.floats(0.1, 1), st.floats(1, 500), st.floats(1.01, 10))
def test_the_volume_for_a_q_gives_that_q(qts: float, vas: float, times: float) -> None:
    assert closed_qtc(qts, vas, closed_volume_l(qts, vas, qts * times)) == pytest.approx(qts * times)


def test_two_drivers_that_share_a_box_see_half_of_it() -> None:
    alone, shared = closed_box(28, 0.35, 90, 30), closed_box(28, 0.35, 90, 60, drivers=2)
    assert alone is not None
    assert shared is not None
    assert shared.each_l == 30
    assert (shared.qtc, shared.fc_hz, shared.f3_hz) == (alone.qtc, alone.fc_hz, alone.f3_hz)


def test_a_whole_box_by_hand() -> None:
    # Vas/Vb = 3 doubles resonance and Q; a Q of 1 peaks by 1.249 dB at 1.414 fc, 3 dB down at 0.786 fc.
    box = closed_box(30, 0.5, 90, 30)
    assert box is not None
    assert (box.qtc, box.fc_hz, box.f3_hz) == pytest.approx((1.0, 60, 47.17), abs=0.01)
    assert (box.peak_db, box.peak_hz) == pytest.approx((1.249, 84.85), abs=0.01)


def test_no_volume_gives_a_q_under_the_drivers_own() -> None:
    assert closed_volume_l(0.7, 50, 0.7) is None
    assert closed_volume_l(0.7, 50, 0.6) is None


@pytest.mark.parametrize(
    "answer",
    [
        *[stiffening(None, 30), stiffening(90, 0), closed_qtc(None, 90, 30), closed_fc_hz(28, 90, None)],
        *[closed_f3_hz(50, 0), closed_f3_hz(None, 0.7), closed_f3_hz(50, 21), closed_peak_db(None)],
        *[closed_peak_hz(None, 1), closed_box(28, 0.35, 90, None), closed_box(28, None, 90, 30)],
        closed_box(28, 0.35, 90, 30, drivers=9),
        closed_box(28, 0.35, 90, 30, drivers=1.5),
        closed_response_db(0, 50, 0.7),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
