"""Spare charging current for the sound, as a limit on the package."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import from_micro
from matcher.kernel.explain import cell
from matcher.kernel.sums import most_of
from matcher.rules.charging import ON_MUSIC
from matcher.search.catalog.vehicle import VehicleColumns
from matcher.settings import Settings

MICRO_A_IN_MA = 1000


@dataclass(frozen=True, slots=True)
class Headroom:
    """Charging minus the vehicle's own use, and the share of it that amplifiers may draw on music.

    None if a figure is unknown.
    """

    over_a: Decimal | None
    sure_ma: int | None
    """Most current if nothing may be open."""
    hoped_ma: int | None
    """Most current if open verdicts are allowed."""

    def most_ma(self, *, sure: bool) -> int | None:
        """Return the most current that amplifiers may draw on music."""
        return self.sure_ma if sure else self.hoped_ma


def headroom_of(vehicle: VehicleColumns, settings: Settings) -> Headroom:
    """Charging current of a vehicle, as `supply.charging` reads it."""
    over = Evaluation(vehicle.columns, settings).value(ON_MUSIC.have)
    sure_ma, hoped_ma = (_most_ma(vehicle, settings, sure=sure) for sure in (True, False))
    return Headroom(from_micro(cell(over.values, 0)) if cell(over.known, 0) else None, sure_ma, hoped_ma)


def _most_ma(vehicle: VehicleColumns, settings: Settings, *, sure: bool) -> int | None:
    most = most_of(ON_MUSIC, vehicle.columns, settings, sure=sure)
    # A package without an amplifier asks nothing of charging.
    return None if most is None else max(0, most // MICRO_A_IN_MA)
