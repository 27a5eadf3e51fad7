"""Electrical supply: current of amplifiers, charging, battery, and standby drain."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.formulas.fuse import standard_fuses_a
from matcher.formulas.known import not_negative, positive, within
from matcher.formulas.register import formula

AmplifierClass = Literal["ab", "d"]
Music = Literal["heavy bass", "rest"]

MILD_H = 5.0
_CLASS_B = published("class B output stage, any electronics textbook: pi/4 at full drive, in step with the voltage")


@formula(source=published("conservation of energy"), valid="power and volts over 0; efficiency over 0 up to 1")
def full_sine_current_a(power_w: float | None, efficiency: float | None, supply_v: float | None) -> float | None:
    """Current of an amplifier with a sine at full power.

    Parameters
    ----------
    power_w
        Output of all channels together, W.
    efficiency
        Output over input, 0 to 1.
    supply_v
        Voltage at its terminals, V.

    Returns
    -------
    Current in A.

    Examples
    --------
    >>> full_sine_current_a(500, 0.80, 14.4)
    43.4
    """
    known, share = positive(power_w, supply_v), within(efficiency, 0.01, 1.0)
    return None if known is None or share is None else known[0] / share / known[1]


@formula(source=_CLASS_B, valid="shares of full power over 0 up to 1; classes ab and d")
def current_share(power_share: float | None, amplifier_class: AmplifierClass | None) -> float | None:
    """Return the ratio of the current at a share of full power to that at full power.

    Parameters
    ----------
    power_share
        Share of full power, 0 to 1.
    amplifier_class
        ``d`` draws in step with its power, ``ab`` in step with its voltage: the square root.

    Returns
    -------
    Share of the full current, 0 to 1.

    Examples
    --------
    >>> current_share(1 / 3, "d"), current_share(1 / 3, "ab"), current_share(1 / 8, "ab")
    (0.333, 0.577, 0.354)
    """
    share = within(power_share, 1e-9, 1.0)
    if share is None or amplifier_class not in get_args(AmplifierClass):
        return None
    return share if amplifier_class == "d" else math.sqrt(share)


@formula(source=COMMON_PRACTICE, valid="demand 0 and over; standard ratings up to 500 A")
def main_fuse_a(demand_a: float | None, own_fuse_a: float | None = None) -> float | None:
    """Smallest standard fuse of at least the demand and the amplifier's own fuse, which also determines its cable.

    Parameters
    ----------
    demand_a
        Maximum current of the amplifier, A.
    own_fuse_a
        Sum of the amplifier's own fuses, A.

    Returns
    -------
    Rating in A.

    Examples
    --------
    >>> main_fuse_a(17.4), main_fuse_a(17.4, 40), main_fuse_a(26.04, 25)
    (20.0, 40.0, 30.0)
    """
    demand = not_negative(demand_a)
    if demand is None:
        return None
    least = max(demand[0], own_fuse_a or 0.0)
    return next((size for size in standard_fuses_a() if size >= least), None)


@dataclass(frozen=True, slots=True)
class SpareCurrent:
    """Spare charging current for the sound; negative if the car itself takes more than it gets."""

    rated_a: float | None
    idle_a: float | None


@formula(source=COMMON_PRACTICE, valid="currents 0 and over; None for the one whose charging is unknown")
def charging_headroom(charge_a: float | None, charge_idle_a: float | None, base_load_a: float | None) -> SpareCurrent:
    """Charging current minus the car's own current, rated and at idle.

    Parameters
    ----------
    charge_a, charge_idle_a
        Output of the charging system at its rating and at idle, A.
    base_load_a
        The car's own current, A.

    Returns
    -------
    Both; None if a figure is unknown.

    Examples
    --------
    >>> charging_headroom(70, 30, 35)
    SpareCurrent(rated_a=35.0, idle_a=-5.0)
    """
    rated, idle = not_negative(charge_a, base_load_a), not_negative(charge_idle_a, base_load_a)
    return SpareCurrent(None if rated is None else rated[0] - rated[1], None if idle is None else idle[0] - idle[1])


@dataclass(frozen=True, slots=True)
class BatteryPays:
    """Current that the battery adds, and the time until it is used up.

    `lasts_h` is None if it need not add anything, or if so much that its time is not known.
    """

    short_a: float
    lasts_h: float | None


@formula(
    source=COMMON_PRACTICE,
    valid="demand and battery over 0, share of the charge over 0 up to 1; no Peukert loss: currents that would take "
    "5 h and more to empty the battery",
)
def battery_pays(
    demand_a: float | None,
    headroom_a: float | None,
    battery_ah: float | None,
    share: float | None = 0.5,
) -> BatteryPays | None:
    """Current that the battery adds to the charging current, and the time until it is used up.

    Parameters
    ----------
    demand_a
        Current of the sound system, A.
    headroom_a
        Spare charging current, A; 0 with the engine off, negative if it is insufficient already.
    battery_ah
        Charge of the battery, Ah.
    share
        Share of the charge that may be used.

    Returns
    -------
    Current missing, and the hours until the share is gone; no hours over the 5 h current, at which Peukert's loss
    is a quarter already (exponent 1.2, 20 h rating).

    Examples
    --------
    >>> battery_pays(40, 35, 60)
    BatteryPays(short_a=5.0, lasts_h=6.0)
    >>> battery_pays(20, 35, 60)
    BatteryPays(short_a=0.0, lasts_h=None)
    >>> battery_pays(20, 0, 60)
    BatteryPays(short_a=20.0, lasts_h=None)
    """
    known, spare = positive(demand_a, battery_ah), within(headroom_a, -1e6, 1e6)
    used = within(share, 1e-6, 1.0)
    if known is None or spare is None or used is None:
        return None
    short = max(0.0, known[0] - spare)
    is_mild = 1e-9 < short <= known[1] / MILD_H
    return BatteryPays(short, known[1] * used / short if is_mild else None)


@formula(source=published("Kirchhoff's current law"), valid="drains 0 and over; one unknown makes the sum unknown")
def standby_ma(drains_ma: Iterable[float | None]) -> float | None:
    """Standby drain of all parts together.

    Examples
    --------
    >>> standby_ma([20, 4, 1.5])
    25.5
    """
    known = not_negative(*drains_ma)
    return None if known is None else math.fsum(known)


@formula(
    source=published("definition of the ampere-hour"),
    valid="battery and drain over 0; share of the charge over 0 up to 1; no self-discharge",
)
def days_at_rest(battery_ah: float | None, drain_ma: float | None, share: float | None = 0.5) -> float | None:
    """Days until this share of the battery is used up, by default half.

    Parameters
    ----------
    battery_ah, drain_ma
        Charge of the battery in Ah, standby drain in mA.
    share
        Share of the charge that may be used.

    Returns
    -------
    Days; None for no drain at all, which sets no time.

    Examples
    --------
    >>> days_at_rest(60, 50)
    25.0
    """
    known, used = positive(battery_ah, drain_ma), within(share, 1e-6, 1.0)
    return None if known is None or used is None else known[0] * used / (known[1] / 1000) / 24
