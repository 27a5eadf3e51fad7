"""Currents, charging, battery time and drain, worked by hand."""

from __future__ import annotations

import math

import pytest

from matcher.formulas.battery import reserve_ah
from matcher.formulas.supply import (
    BatteryPays,
    SpareCurrent,
    battery_pays,
    charging_headroom,
    current_share,
    days_at_rest,
    full_sine_current_a,
    main_fuse_a,
    standby_ma,
)


def test_500_w_at_full_sine() -> None:
    # By hand: 500 W / 0.80 / 14.4 V = 43.4 A for class D; at 0.55 63.1 A for class AB.
    assert full_sine_current_a(500, 0.80, 14.4) == pytest.approx(43.4, abs=0.05)
    assert full_sine_current_a(500, 0.55, 14.4) == pytest.approx(63.1, abs=0.05)


# The smallest standard fuse: over the demand, exactly the demand, under the amplifier's own fuse, beyond all sizes.
@pytest.mark.parametrize(
    ("demand", "own", "fuse"),
    [
        *[(17.4, None, 20), (20, None, 20), (20.01, None, 25), (17.4, 40, 40), (17.4, 45, 50), (26.04, 25, 30)],
        *[(600, None, None)],
    ],
)
def test_the_main_fuse_is_over_the_demand_and_not_under_the_amplifiers_own(
    demand: float, own: float | None, fuse: float | None
) -> None:
    assert main_fuse_a(demand, own) == fuse


# A bridge amplifier's data sheet (ST TS4851, 5.2): mean current 2 Vpeak / (pi R), in step with the voltage.
@pytest.mark.parametrize(("share", "expected"), [(1, 1.0), (1 / 2, 0.7071), (1 / 3, 0.577), (1 / 8, 0.354)])
def test_class_ab_draws_in_step_with_its_voltage(share: float, expected: float) -> None:
    peak_v, load_ohm = 14.4 * share**0.5, 4
    by_mean_current = (2 * peak_v / (math.pi * load_ohm)) / (2 * 14.4 / (math.pi * load_ohm))
    assert current_share(share, "ab") == pytest.approx(by_mean_current)
    assert current_share(share, "ab") == pytest.approx(expected, abs=5e-4)
    assert current_share(share, "d") == share


@pytest.mark.parametrize(
    ("charge", "idle", "base", "headroom"),
    [
        (70, 30, 35, SpareCurrent(35, -5)),
        (70, None, 35, SpareCurrent(35, None)),
        (None, 30, 35, SpareCurrent(None, -5)),
        (70, 30, None, SpareCurrent(None, None)),
        (35, 35, 35, SpareCurrent(0, 0)),
    ],
)
def test_charging_headroom(
    charge: float | None, idle: float | None, base: float | None, headroom: SpareCurrent
) -> None:
    assert charging_headroom(charge, idle, base) == headroom


@pytest.mark.parametrize(
    ("demand", "headroom", "pays"),
    [
        (40, 35, BatteryPays(5, 6)),  # 30 Ah at 5 A
        (35, 35, BatteryPays(0, None)),  # exactly enough
        (20, 35, BatteryPays(0, None)),
        (10, 0, BatteryPays(10, 3)),  # engine off
        (5, -5, BatteryPays(10, 3)),  # the car itself lacks 5 A already
        (12, 0, BatteryPays(12, 2.5)),  # exactly the 5 h current
        (12.1, 0, BatteryPays(12.1, None)),  # beyond it the time is not known
    ],
)
def test_how_long_the_battery_pays(demand: float, headroom: float, pays: BatteryPays) -> None:
    assert battery_pays(demand, headroom, 60) == pays


@pytest.mark.parametrize(("minutes", "ah"), [(115, 47.9), (0, None), (None, None)])
def test_charge_by_the_reserve_at_25_a(minutes: float | None, ah: float | None) -> None:
    # SAE J537: 115 min x 25 A / 60.
    assert reserve_ah(minutes) == (None if ah is None else pytest.approx(ah, abs=0.03))


def test_60_ah_at_50_ma() -> None:
    # 60 Ah x 50 % / 50 mA = 600 h = 25 days.
    assert days_at_rest(60, 50) == pytest.approx(25)


def test_days_until_no_start_of_a_reserve_of_115_min() -> None:
    # A battery maker's bulletin: 115 min x 0.6 = 69 Ah in all, no start after 40 % of it: 23 days at 50 mA.
    assert days_at_rest(115 * 0.6, 50, 0.40) == pytest.approx(23, rel=0.005)


def test_no_part_drains_nothing() -> None:
    assert standby_ma([]) == 0


@pytest.mark.parametrize(
    "answer",
    [
        full_sine_current_a(500, None, 14.4),
        full_sine_current_a(500, 1.1, 14.4),
        full_sine_current_a(None, 0.8, 14.4),
        *[current_share(0, "d"), current_share(1.1, "ab"), current_share(1, None)],
        *[main_fuse_a(None), battery_pays(40, None, 60), battery_pays(40, 35, None), battery_pays(40, 35, 60, 0)],
        *[standby_ma([10, None]), standby_ma([-1]), days_at_rest(60, 0), days_at_rest(None, 50)],
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
