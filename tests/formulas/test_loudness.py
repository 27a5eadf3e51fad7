"""Sensitivity, sums and distance against plain arithmetic and Small's constant."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.air import SMALL_AIR, Air
from matcher.formulas.loudness import (
    at_distance_db,
    efficiency_of_sens,
    level_at_power_db,
    pair_db,
    sens_1w_db,
    sens_2v83_db,
    sens_of_efficiency_db,
    sum_coherent_db,
    sum_incoherent_db,
)

levels = st.floats(20, 140)


@pytest.mark.parametrize(("ohm", "over"), [(8, 0.005), (4, 3.015), (2, 6.025)])
def test_2_83_v_over_1_w(ohm: float, over: float) -> None:
    # By hand: 2.83^2 / 8 = 1.0011 W, and twice and four times that.
    assert sens_1w_db(90, "2v83", ohm) == pytest.approx(90 - over, abs=1e-3)
    assert sens_2v83_db(90, "1w", ohm) == pytest.approx(90 + over, abs=1e-3)


def test_the_same_driver_at_8_and_at_4_ohm() -> None:
    # A published pair: 87 dB at 8 ohm and 90 dB at 4 ohm, both at 2.83 V, are one sensitivity.
    assert sens_1w_db(87, "2v83", 8) == pytest.approx(sens_1w_db(90, "2v83", 4) or 0, abs=0.02)


def test_a_level_on_its_own_basis_needs_no_impedance() -> None:
    assert sens_1w_db(90, "1w") == 90
    assert sens_2v83_db(90, "2v83") == 90


@given(levels, st.floats(1, 16))
def test_there_and_back(level: float, ohm: float) -> None:
    assert sens_1w_db(sens_2v83_db(level, "1w", ohm), "2v83", ohm) == pytest.approx(level)


@pytest.mark.parametrize(
    ("sources", "incoherent", "coherent"),
    [([90], 90, 90), ([90, 90], 93.010, 96.021), ([90, 87], 91.764, 94.650), ([80] * 4, 86.021, 92.041)],
)
def test_sums(sources: list[float], incoherent: float, coherent: float) -> None:
    assert sum_incoherent_db(sources) == pytest.approx(incoherent, abs=1e-3)
    assert sum_coherent_db(sources) == pytest.approx(coherent, abs=1e-3)


@given(st.lists(levels, min_size=1, max_size=6))
def test_in_phase_is_never_softer_and_never_softer_than_the_loudest(sources: list[float]) -> None:
    incoherent, coherent = sum_incoherent_db(sources), sum_coherent_db(sources)
    assert incoherent is not None
    assert coherent is not None
    assert max(sources) - 1e-9 <= incoherent <= coherent + 1e-9


def test_a_pair_is_3_db_louder() -> None:
    assert pair_db(90) == pytest.approx(93.010, abs=1e-3)


def test_twice_the_distance_is_6_db_softer() -> None:
    assert at_distance_db(90, 2) == pytest.approx(90 - 6.021, abs=1e-3)
    assert at_distance_db(90, 0.5) == pytest.approx(90 + 6.021, abs=1e-3)
    assert at_distance_db(90, 3, 3) == 90


@pytest.mark.parametrize(("watts", "level"), [(1, 90), (2, 93.010), (100, 110)])
def test_level_at_power(watts: float, level: float) -> None:
    assert level_at_power_db(90, watts) == pytest.approx(level, abs=1e-3)


@pytest.mark.parametrize(("efficiency", "level"), [(0.01, 92.1), (0.005, 89.1), (1.0, 112.1)])
def test_level_by_efficiency(efficiency: float, level: float) -> None:
    # Small 1972: 112.1 dB + 10 lg.
    assert sens_of_efficiency_db(efficiency) == pytest.approx(level, abs=0.1)
    assert efficiency_of_sens(sens_of_efficiency_db(efficiency)) == pytest.approx(efficiency)


@pytest.mark.parametrize(("air", "level"), [(SMALL_AIR, 112.09), (Air(343, 1.20), 112.14), (Air(343.2, 1.204), 112.16)])
def test_the_constant_by_the_air_that_is_taken(air: Air, level: float) -> None:
    assert sens_of_efficiency_db(1.0, air=air) == pytest.approx(level, abs=5.1e-3)


@pytest.mark.parametrize(
    "answer",
    [
        *[sens_1w_db(None, "1w"), sens_1w_db(90, None), sens_1w_db(90, "2v83"), sens_1w_db(90, "2v83", 0)],
        sens_1w_db(90, "3v", 4),  # type: ignore[arg-type]
        *[sens_2v83_db(90, "1w"), sens_2v83_db(300, "2v83"), sum_incoherent_db([]), sum_incoherent_db([90, None])],
        *[sum_coherent_db([None]), pair_db(None), at_distance_db(90, 0), level_at_power_db(90, 0)],
        *[sens_of_efficiency_db(1.1), sens_of_efficiency_db(0), efficiency_of_sens(113), efficiency_of_sens(None)],
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
