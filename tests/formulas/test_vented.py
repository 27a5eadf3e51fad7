"""Vented boxes against Thiele's table, scipy's filters and a nodal circuit; ports against the Helmholtz resonator."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, signal

from matcher.formulas.port import Ends, port_air_speed_m_s, port_length_mm, port_quiet_level_db, port_takes_l
from matcher.formulas.relations import cone_share
from matcher.formulas.vented import MOST_RIPPLE_DB, vented_alignment, vented_f3_hz, vented_peak_db, vented_response_db

LOSSLESS = math.inf

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
    found = vented_alignment(1.0, qt, 1.0, LOSSLESS)
    assert found is not None
    assert found.kind == kind
    assert found.f3_hz == pytest.approx(f3, rel=5e-3)
    assert found.tuned_hz == pytest.approx(fb, rel=5e-3)
    assert 1 / found.net_l == pytest.approx(a, rel=7e-3)


# Q, h = fb/fs, Vas/Vb, f3/fs and ripple, solved from Small's equations and met by a nodal circuit of the box.
LOSSY = [
    (7, "B4", 0.4048, 1.0, 1.0613, 1.0, 0.0),
    (10, "B4", 0.3979, 1.0, 1.1629, 1.0, 0.0),
    (7, "QB3", 0.25, 1.5629, 4.5822, 1.9667, 0.0),
    (7, "QB3", 0.30, 1.3145, 2.8452, 1.5732, 0.0),
    (7, "QB3", 0.35, 1.1395, 1.7964, 1.2702, 0.0),
    (7, "C4", 0.4410, 0.9189, 0.7451, 0.8627, 0.003),
    (7, "C4", 0.5465, 0.7364, 0.3517, 0.6436, 0.214),
]


@pytest.mark.parametrize(("ql", "kind", "qt", "h", "a", "f3", "ripple"), LOSSY)
def test_alignments_with_losses(ql: float, kind: str, qt: float, h: float, a: float, f3: float, ripple: float) -> None:
    found = vented_alignment(1.0, qt, 1.0, ql)
    assert found is not None
    assert found.kind == kind
    assert (found.tuned_hz, 1 / found.net_l, found.f3_hz) == pytest.approx((h, a, f3), abs=1e-3)
    assert found.ripple_db == pytest.approx(ripple, abs=1e-3)


@pytest.mark.parametrize("ql", [5, 7, 10, LOSSLESS])
def test_a_butterworth_box_is_scipys_butterworth_filter(ql: float) -> None:
    qt = 1 / (math.sqrt(4 + 2 * math.sqrt(2)) - 1 / ql)  # Small 1973 III: the exact Butterworth response
    found = vented_alignment(30, qt, 100, ql)
    assert found is not None
    assert found.kind == "B4"
    assert found.ripple_db == pytest.approx(0, abs=1e-6)
    assert (found.tuned_hz, found.f3_hz) == pytest.approx((30, 30), rel=1e-6)
    ratios = np.geomspace(0.2, 20, 31)
    _, response = signal.freqs(*signal.butter(4, 1, "highpass", analog=True), worN=ratios)
    curve = [vented_response_db(30 * ratio, 30, qt, 100, found.net_l, found.tuned_hz, ql) for ratio in ratios]
    assert curve == pytest.approx(20 * np.log10(np.abs(response)), abs=1e-4)


def nodal_flows(ratio: float, q: float, h: float, a: float, ql: float) -> tuple[complex, complex]:
    """Flow of the driver, and that into the box's compliance, in the acoustic circuit of a vented box."""
    s = 1j * ratio
    driver = 1 / (s + 1 / q + 1 / s)  # unit source behind resistance, mass and compliance
    box = np.array([s / a, h / (a * ql), h**2 / (a * s)])  # compliance, leak and port from the node to ground
    node = driver / (driver + box.sum())
    return driver * (1 - node), node * box[0]


BOXES = st.tuples(st.floats(0.2, 1.2), st.floats(0.4, 2.5), st.floats(0.1, 10), st.floats(3, 30))


@given(st.floats(0.2, 8), BOXES)
def test_response_and_travel_are_those_of_a_nodal_circuit(ratio: float, box: tuple[float, ...]) -> None:
    q, h, a, ql = box
    of_driver, of_box = nodal_flows(ratio, *box)
    level = vented_response_db(30 * ratio, 30, q, a, 1.0, 30 * h, ql)
    assert level == pytest.approx(20 * math.log10(ratio * abs(of_box)), abs=1e-6)
    assert cone_share(ratio, h, ql) == pytest.approx(abs(of_driver) / abs(of_box))


# fs, Q, Vas, volume, tuning, QL, then corner and peak from the nodal circuit.
PEAKS = [
    (30, 0.50, 60, 150, 25, LOSSLESS, 20.60, 4.81),
    (30, 0.50, 60, 150, 25, 10, 21.25, 2.06),
    (30, 0.50, 60, 150, 25, 7, 21.65, 1.23),
    (30, 0.50, 60, 150, 25, 5, 22.32, 0.40),
    (30, 0.50, 60, 40, 35, 7, 34.28, 2.84),
    (32, 0.40, 75, 80, 32, 7, 30.75, 0.0),
    (21.973, 0.30066, 340.94, 60, 30, 7, 45.81, 1.00),
]


@pytest.mark.parametrize(("fs", "q", "vas", "net", "tuned", "ql", "f3", "peak"), PEAKS)
def test_corner_and_peak_with_losses(
    fs: float, q: float, vas: float, net: float, tuned: float, ql: float, f3: float, peak: float
) -> None:
    assert vented_f3_hz(fs, q, vas, net, tuned, ql) == pytest.approx(f3, abs=6e-3)
    assert vented_peak_db(fs, q, vas, net, tuned, ql) == pytest.approx(peak, abs=6e-3)


@given(BOXES)
def test_no_frequency_is_over_the_peak(box: tuple[float, ...]) -> None:
    q, h, a, ql = box
    levels = [vented_response_db(hz, 1.0, q, a, 1.0, h, ql) or 0.0 for hz in np.geomspace(0.1, 500, 2000)]
    peak = vented_peak_db(1.0, q, a, 1.0, h, ql)
    assert peak is not None
    assert max(0.0, *levels) - 1e-6 <= peak <= max(0.0, *levels) + 0.02


QLS = st.sampled_from([5.0, 7.0, 10.0, LOSSLESS])


@pytest.mark.parametrize("ql", [7.0, LOSSLESS])
@pytest.mark.parametrize("qt", [0.45, 0.55, 0.65, 0.75])
def test_a_chebyshev_box_is_scipys_chebyshev_filter(qt: float, ql: float) -> None:
    found = vented_alignment(1.0, qt, 1.0, ql)
    assert found is not None
    assert found.ripple_db > 0

    def level(ratio: float) -> float:
        return vented_response_db(ratio, 1.0, qt, 1.0, found.net_l, found.tuned_hz, ql) or 0.0

    # scipy's edge is where the ripple begins, and its level at high frequencies lies the ripple down.
    ratios = np.geomspace(0.2, 50, 41)
    first_peak = next(ratio for ratio in np.geomspace(0.1, 10, 4000) if level(ratio * 1.001) < level(ratio))
    edge = optimize.brentq(level, found.f3_hz, first_peak)
    _, response = signal.freqs(*signal.cheby1(4, found.ripple_db, edge, "highpass", analog=True), worN=ratios)
    expected = 20 * np.log10(np.abs(response)) + found.ripple_db
    assert [level(ratio) for ratio in ratios] == pytest.approx(expected, abs=1e-6)


@given(st.floats(0.1, 0.85), QLS)
def test_no_alignment_ripples_more_than_it_says(qt: float, ql: float) -> None:
    found = vented_alignment(1.0, qt, 1.0, ql)
    if found is None:
        return
    assert vented_peak_db(1.0, qt, 1.0, found.net_l, found.tuned_hz, ql) == pytest.approx(found.ripple_db, abs=1e-6)
    assert found.ripple_db <= MOST_RIPPLE_DB
    assert vented_response_db(found.f3_hz, 1.0, qt, 1.0, found.net_l, found.tuned_hz, ql) == pytest.approx(-3.0103)


@pytest.mark.parametrize(
    ("ends", "factor", "length"),
    [("one flanged", 0.732, 308.9), ("both flanged", 0.85, 297.1), ("none flanged", 0.614, 320.7)],
)
def test_port_of_100_mm_for_50_l_at_35_hz(ends: Ends, factor: float, length: float) -> None:
    # Helmholtz resonator with c = 343 m/s and the usual end corrections, worked by hand.
    by_hand = 343**2 * np.pi / 4 * 0.1**2 / (4 * np.pi**2 * 35**2 * 0.05) - factor * 0.1
    assert by_hand * 1000 == pytest.approx(length, abs=0.06)
    assert port_length_mm(50, 35, 100, ends=ends) == pytest.approx(length, rel=1e-3)


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


@given(st.floats(20, 100), st.floats(20, 60), st.floats(50, 300), st.floats(80, 130))
def test_speed_and_quiet_level_say_the_same(hz: float, tuned: float, mm: float, level: float) -> None:
    speed = port_air_speed_m_s(level, hz, tuned, mm)
    assert port_quiet_level_db(np.pi / 4 * (mm / 10) ** 2, speed, hz, tuned) == pytest.approx(level)


@pytest.mark.parametrize(
    "answer",
    [
        vented_response_db(None, 30, 0.4, 100, 50, 30),
        vented_response_db(1e6, 30, 0.4, 100, 50, 30),
        vented_response_db(30, 30, 0.4, 100, 50, 30, 0.9),
        vented_peak_db(30, 0.4, 100, 50, None),
        port_quiet_level_db(None, 17, 35, 35),
        port_quiet_level_db(80, 17, 0, 35),
        vented_f3_hz(30, 3, 100, 50, 30),
        vented_f3_hz(30, 0.4, 100, 50, 400),
        vented_f3_hz(30, 0.4, None, 50, 30),
        vented_alignment(30, 0.09, 100),
        vented_alignment(30, 1.2, 100),
        vented_alignment(30, 0.4, 100, 4),
        vented_alignment(30, None, 100),
        vented_alignment(None, 0.4, 100),
        port_length_mm(500, 80, 50),  # the end corrections alone are too long
        port_length_mm(50, 35, None),
        port_length_mm(50, 35, 100, ports=0),
        port_length_mm(50, 35, 100, ends="glued"),  # type: ignore[arg-type]
        port_takes_l(None, 100),
        port_air_speed_m_s(None, 35, 35, 100),
        port_air_speed_m_s(100, 35, 0, 100),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
