"""Currents, charging, battery time and drain, worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.supply import (
    BatteryPays,
    Headroom,
    amplifier_efficiency,
    battery_pays,
    charging_headroom,
    class_b_current_a,
    class_b_efficiency,
    days_at_rest,
    full_sine_current_a,
    music_current_a,
    standby_ma,
)


def test_500_w_at_full_sine() -> None:
    # By hand: 500 W / 0.80 / 14.4 V = 43.4 A for class D; at 0.55 63.1 A for class AB.
    assert full_sine_current_a(500, amplifier_efficiency("d"), 14.4) == pytest.approx(43.4, abs=0.05)
    assert full_sine_current_a(500, amplifier_efficiency("ab"), 14.4) == pytest.approx(63.1, abs=0.05)


@pytest.mark.parametrize(("share", "efficiency"), [(1.0, 0.7854), (1 / 8, 0.278), (1 / 4, 0.3927)])
def test_class_b_efficiency(share: float, efficiency: float) -> None:
    # A textbook's pi/4, in step with the output voltage.
    assert class_b_efficiency(share) == pytest.approx(efficiency, abs=5e-4)


def test_class_b_at_an_eighth_of_its_power() -> None:
    # 500 W at 14.4 V draw 15.6 A at an eighth of the power.
    assert class_b_current_a(500, 14.4, 1 / 8) == pytest.approx(15.6, abs=0.05)


@given(st.floats(0.001, 1))
def test_class_b_current_goes_with_the_voltage_and_not_with_the_power(share: float) -> None:
    full = class_b_current_a(500, 14.4) or 0
    assert class_b_current_a(500, 14.4, share) == pytest.approx(full * share**0.5)


def test_music_takes_a_third_or_an_eighth() -> None:
    assert music_current_a(48, "heavy bass") == pytest.approx(16)
    assert music_current_a(48) == pytest.approx(6)


@pytest.mark.parametrize(
    ("charge", "idle", "base", "headroom"),
    [
        (70, 30, 35, Headroom(35, -5)),
        (70, None, 35, Headroom(35, None)),
        (None, 30, 35, Headroom(None, -5)),
        (70, 30, None, Headroom(None, None)),
        (35, 35, 35, Headroom(0, 0)),
    ],
)
def test_charging_headroom(charge: float | None, idle: float | None, base: float | None, headroom: Headroom) -> None:
    assert charging_headroom(charge, idle, base) == headroom


@pytest.mark.parametrize(
    ("demand", "headroom", "pays"),
    [
        (40, 35, BatteryPays(5, 6)),  # 30 Ah at 5 A
        (35, 35, BatteryPays(0, None)),  # exactly enough
        (20, 35, BatteryPays(0, None)),
        (10, 0, BatteryPays(10, 3)),  # engine off
        (10, -5, BatteryPays(15, 2)),  # the car itself lacks 5 A already
    ],
)
def test_how_long_the_battery_pays(demand: float, headroom: float, pays: BatteryPays) -> None:
    assert battery_pays(demand, headroom, 60) == pays


def test_60_ah_at_50_ma() -> None:
    # 60 Ah x 50 % / 50 mA = 600 h = 25 days.
    assert days_at_rest(60, 50) == pytest.approx(25)


@given(st.lists(st.floats(0, 100), min_size=1, max_size=5), st.floats(10, 100))
def test_every_drain_shortens_the_rest(drains: list[float], battery: float) -> None:
    one, all_of_them = standby_ma([50.0]), standby_ma([50.0, *drains])
    assert (days_at_rest(battery, all_of_them) or 0) <= (days_at_rest(battery, one) or 0)


def test_no_part_drains_nothing() -> None:
    assert standby_ma([]) == 0


@pytest.mark.parametrize(
    "answer",
    [
        amplifier_efficiency(None),
        amplifier_efficiency("t"),  # type: ignore[arg-type]
        full_sine_current_a(500, None, 14.4),
        full_sine_current_a(500, 1.1, 14.4),
        full_sine_current_a(None, 0.8, 14.4),
        music_current_a(None),
        music_current_a(48, "polka"),  # type: ignore[arg-type]
        class_b_efficiency(0),
        class_b_efficiency(1.01),
        class_b_current_a(None, 14.4),
        battery_pays(40, None, 60),
        battery_pays(40, 35, None),
        battery_pays(40, 35, 60, 0),
        standby_ma([10, None]),
        standby_ma([-1]),
        days_at_rest(60, 0),
        days_at_rest(None, 50),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
