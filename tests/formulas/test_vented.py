"""Vented alignments against Thiele's table and scipy's filters; ports against the Helmholtz resonator."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, signal

from matcher.formulas.port import (
    Ends,
    port_air_speed_m_s,
    port_length_mm,
    port_takes_l,
    port_tuning_hz,
)
from matcher.formulas.vented import (
    BUTTERWORTH_QT,
    MOST_RIPPLE_DB,
    keele_fit,
    vented_alignment,
    vented_curve,
    vented_f3_hz,
    vented_response_db,
)

# Thiele 1971 table I, from memory, checked by solving for the corner: kind, f3/fs, fb/fs, Vas/Vb, Qt.
THIELE = [
    ("QB3", 2.68, 2.000, 10.48, 0.180),
    ("QB3", 1.77, 1.420, 4.46, 0.259),
    ("B4", 1.000, 1.000, 1.414, 0.383),
    ("C4", 0.867, 0.927, 1.055, 0.415),
    ("C4", 0.729, 0.829, 0.729, 0.466),
    ("C4", 0.600, 0.716, 0.485, 0.557),
]


@pytest.mark.parametrize(("kind", "f3", "fb", "a", "qt"), THIELE)
def test_alignments_come_out_as_thieles(kind: str, f3: float, fb: float, a: float, qt: float) -> None:
    found = vented_alignment(1.0, qt, 1.0)
    assert found is not None
    assert found.kind == kind
    assert found.f3_hz == pytest.approx(f3, rel=5e-3)
    assert found.tuned_hz == pytest.approx(fb, rel=5e-3)
    assert 1 / found.net_l == pytest.approx(a, rel=7e-3)


@pytest.mark.parametrize(("_kind", "f3", "fb", "a", "qt"), THIELE)
def test_corner_of_thieles_own_figures(_kind: str, f3: float, fb: float, a: float, qt: float) -> None:
    assert vented_f3_hz(1.0, qt, a, 1.0, fb) == pytest.approx(f3, abs=5e-3)


def test_exact_butterworth() -> None:
    found = vented_alignment(30, 1 / 2.6131259, 100)
    assert found is not None
    assert abs(BUTTERWORTH_QT - 0.382683) < 5e-7
    assert found.kind == "B4"
    assert found.ripple_db == pytest.approx(0, abs=1e-9)
    assert (found.net_l, found.tuned_hz, found.f3_hz) == pytest.approx((100 / 2**0.5, 30, 30), rel=1e-6)


def test_a_butterworth_box_is_scipys_butterworth_filter() -> None:
    ratios = np.geomspace(0.2, 20, 31)
    _, response = signal.freqs(*signal.butter(4, 1, "highpass", analog=True), worN=ratios)
    curve = vented_curve(1.0, BUTTERWORTH_QT, 2**0.5, 1.0, 1.0, ratios)
    assert curve is not None
    assert [level for _, level in curve] == pytest.approx(20 * np.log10(np.abs(response)), abs=1e-9)


@pytest.mark.parametrize("qt", [0.40, 0.45, 0.55, 0.65, 0.75])
def test_a_chebyshev_box_is_scipys_chebyshev_filter(qt: float) -> None:
    found = vented_alignment(1.0, qt, 1.0)
    assert found is not None
    assert found.ripple_db > 0

    def level(ratio: float) -> float:
        return vented_response_db(ratio, 1.0, qt, 1.0, found.net_l, found.tuned_hz) or 0.0

    # scipy's edge is where the ripple begins, and its level at high frequencies lies the ripple down.
    ratios = np.geomspace(0.2, 50, 41)
    first_peak = next(ratio for ratio in np.geomspace(0.1, 10, 4000) if level(ratio * 1.001) < level(ratio))
    edge = optimize.brentq(level, found.f3_hz, first_peak)
    _, response = signal.freqs(*signal.cheby1(4, found.ripple_db, edge, "highpass", analog=True), worN=ratios)
    expected = 20 * np.log10(np.abs(response)) + found.ripple_db
    assert [level(ratio) for ratio in ratios] == pytest.approx(expected, abs=1e-6)


@given(st.floats(0.1, 0.85))
def test_no_alignment_ripples_more_than_it_says(qt: float) -> None:
    found = vented_alignment(1.0, qt, 1.0)
    if found is None:
        return
    curve = vented_curve(1.0, qt, 1.0, found.net_l, found.tuned_hz, np.geomspace(0.3, 100, 300))
    assert curve is not None
    assert max(level for _, level in curve) <= found.ripple_db + 1e-6
    assert found.ripple_db <= MOST_RIPPLE_DB
    assert vented_response_db(found.f3_hz, 1.0, qt, 1.0, found.net_l, found.tuned_hz) == pytest.approx(-3.0103)


@given(st.floats(0.1, 0.85), st.floats(10, 100), st.floats(1, 500))
def test_alignments_scale_with_the_driver(qt: float, fs: float, vas: float) -> None:
    unit, scaled = vented_alignment(1.0, qt, 1.0), vented_alignment(fs, qt, vas)
    if unit is not None:
        assert scaled is not None
        assert scaled.net_l == pytest.approx(vas * unit.net_l)
        assert (scaled.tuned_hz, scaled.f3_hz) == pytest.approx((fs * unit.tuned_hz, fs * unit.f3_hz))


def test_keeles_fit() -> None:
    # Keele's three powers for Qts 0.3, Vas 100 L, fs 30 Hz, by hand.
    fit = keele_fit(30, 0.3, 100)
    assert fit is not None
    assert (fit.net_l, fit.f3_hz, fit.tuned_hz) == pytest.approx((47.36, 42.08, 37.24), abs=6e-3)


@given(st.floats(0.25, 0.5))
def test_keeles_fit_lies_near_the_alignment(qt: float) -> None:
    fit, found = keele_fit(30, qt, 100), vented_alignment(30, qt, 100)
    assert fit is not None
    assert found is not None
    assert fit.f3_hz == pytest.approx(found.f3_hz, rel=0.25)
    assert fit.tuned_hz == pytest.approx(found.tuned_hz, rel=0.25)


@pytest.mark.parametrize(
    ("ends", "factor", "length"),
    [("one flanged", 0.732, 308.9), ("both flanged", 0.85, 297.1), ("none flanged", 0.614, 320.7)],
)
def test_port_of_100_mm_for_50_l_at_35_hz(ends: Ends, factor: float, length: float) -> None:
    # Helmholtz resonator with c = 343 m/s and the usual end corrections, worked by hand.
    by_hand = 343**2 * np.pi / 4 * 0.1**2 / (4 * np.pi**2 * 35**2 * 0.05) - factor * 0.1
    assert by_hand * 1000 == pytest.approx(length, abs=0.06)
    assert port_length_mm(50, 35, 100, ends=ends) == pytest.approx(length, rel=1e-3)


@given(st.floats(10, 200), st.floats(20, 60), st.floats(40, 160), st.integers(1, 4))
def test_a_port_tunes_to_what_it_was_cut_for(net: float, tuned: float, diameter: float, ports: int) -> None:
    length = port_length_mm(net, tuned, diameter, ports=ports)
    if length is not None:
        assert port_tuning_hz(net, diameter, length, ports=ports) == pytest.approx(tuned)


def test_port_volume() -> None:
    assert port_takes_l(100, 100) == pytest.approx(np.pi / 4)
    assert port_takes_l(100, 100, 2) == pytest.approx(np.pi / 2)


def test_speed_of_the_air_by_the_volume_that_goes_in_and_out() -> None:
    # A source of 1 L peak gives 107.60 dB at 30 Hz (monopole, 1.2 kg/m3): the port moves 1 L each way,
    # so its air is at most 2 pi 30 x 0.001 m3 / area fast.
    expected = 2 * np.pi * 30 * 1e-3 / (np.pi / 4 * 0.1**2)
    assert port_air_speed_m_s(107.597, 30, 30, 100) == pytest.approx(expected, rel=1e-3)
    assert port_air_speed_m_s(107.597, 60, 30, 100) == pytest.approx(expected / 8, rel=1e-3)
    assert port_air_speed_m_s(107.597, 30, 30, 100, ports=2) == pytest.approx(expected / 2, rel=1e-3)


@pytest.mark.parametrize(
    "answer",
    [
        vented_response_db(None, 30, 0.4, 100, 50, 30),
        vented_response_db(1e6, 30, 0.4, 100, 50, 30),
        vented_curve(30, 0.4, 100, 50, 30, []),
        vented_curve(30, 0.4, 100, 50, 30, [30, 0]),
        vented_f3_hz(30, 3, 100, 50, 30),
        vented_f3_hz(30, 0.4, 100, 50, 400),
        vented_f3_hz(30, 0.4, None, 50, 30),
        vented_alignment(30, 0.09, 100),
        vented_alignment(30, 0.9, 100),
        vented_alignment(30, None, 100),
        vented_alignment(None, 0.4, 100),
        keele_fit(30, 0.19, 100),
        keele_fit(30, 0.61, 100),
        port_length_mm(500, 80, 50),  # the end corrections alone are too long
        port_length_mm(50, 35, None),
        port_length_mm(50, 35, 100, ports=0),
        port_length_mm(50, 35, 100, ends="glued"),  # type: ignore[arg-type]
        port_tuning_hz(50, 100, -1),
        port_takes_l(None, 100),
        port_air_speed_m_s(None, 35, 35, 100),
        port_air_speed_m_s(100, 35, 0, 100),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
