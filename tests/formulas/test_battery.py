"""Batteries and supply codes against SAE J537, Peukert's law and ISO 16750-2."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.battery import (
    charge_pct,
    peukert_one_ampere_h,
    peukert_rated_h,
    reserve_ah,
    supply_code_margin_v,
    supply_code_range,
)


def test_reserve_of_115_minutes() -> None:
    # SAE J537: minutes at 25 A.
    assert reserve_ah(115) == pytest.approx(47.9, abs=0.03)


def test_peukert_by_the_charge_at_1_a() -> None:
    # A worked example: C 100, k 1.2, 5 A, 14.5 h.
    assert peukert_one_ampere_h(100, 1.2, 5) == pytest.approx(14.496, abs=1e-3)


@pytest.mark.parametrize(("current", "hours"), [(25, 2.90), (5, 20.0)])
def test_peukert_by_the_20_h_rating(current: float, hours: float) -> None:
    assert peukert_rated_h(100, 1.2, current) == pytest.approx(hours, abs=5e-3)


@given(st.floats(1, 2), st.floats(1, 100))
def test_the_two_forms_agree_once_the_charge_is_the_one_at_1_a(exponent: float, current: float) -> None:
    at_1_a = peukert_rated_h(100, exponent, 1)  # hours at 1 A are ampere-hours at 1 A
    expected = peukert_rated_h(100, exponent, current)
    assert peukert_one_ampere_h(at_1_a, exponent, current) == pytest.approx(expected)


def test_an_exponent_of_1_is_an_ideal_battery() -> None:
    assert peukert_rated_h(100, 1, 8) == pytest.approx(12.5)
    assert peukert_one_ampere_h(100, 1, 8) == pytest.approx(12.5)


@pytest.mark.parametrize(
    ("volts", "percent"),
    [(11.6, 0), (12.0, 25), (12.2, 50), (12.3, 62.5), (12.4, 75), (12.6, 100), (12.73, 100)],
)
def test_charge_by_the_voltage_at_rest(volts: float, percent: float) -> None:
    # Rule of thumb for flooded batteries.
    assert charge_pct(volts) == pytest.approx(percent)


@pytest.mark.parametrize(
    ("code", "volts", "margin"),
    # ISO 16750-2:2010 table 1: C 9 to 16 V, D 10.5 to 16 V; table 2: F 16 to 32 V.
    [("C", 9.5, 0.5), ("D", 9.5, -1.0), ("D", 10.5, 0.0), ("D", 16, 0.0), ("D", 17, -1.0), ("F", 24, 8.0)],
)
def test_supply_codes(code: str, volts: float, margin: float) -> None:
    assert supply_code_margin_v(code, volts) == pytest.approx(margin)


def test_each_12_v_code_is_narrower_than_the_one_before() -> None:
    lows = [found.low_v for code in "ABCD" if (found := supply_code_range(code)) is not None]
    assert lows == sorted(set(lows))
    assert len(lows) == 4


@pytest.mark.parametrize(
    "answer",
    [
        reserve_ah(None),
        reserve_ah(-5),
        peukert_one_ampere_h(100, 0.9, 5),
        peukert_one_ampere_h(100, 1.2, 0),
        *[peukert_rated_h(100, 2.1, 5), peukert_rated_h(None, 1.2, 5), charge_pct(11.5), charge_pct(13.8)],
        *[charge_pct(None), supply_code_range("Z"), supply_code_range(None)],
        supply_code_margin_v("C", None),
        supply_code_margin_v("Z", 12),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
