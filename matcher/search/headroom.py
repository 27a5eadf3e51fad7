"""What charging has over for the sound, as a limit on the whole."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import from_micro
from matcher.kernel.explain import cell
from matcher.rules.charging import ON_MUSIC
from matcher.search.catalog.vehicle import Vehicle
from matcher.settings import Settings


@dataclass(frozen=True, slots=True)
class Headroom:
    """Charging less what the vehicle itself uses, and the tolerance in it; none where a figure is not known."""

    over_a: Decimal | None
    tol_a: Decimal

    def most_ma(self, *, sure: bool) -> int | None:
        """The most that amplifiers may draw on music: with nothing left to measure, or with nothing that says no."""
        if self.over_a is None:
            return None
        most = self.over_a - self.tol_a if sure else self.over_a + self.tol_a
        return max(0, math.floor(most * 1000))  # a package without an amplifier asks nothing of charging


def headroom_of(vehicle: Vehicle, settings: Settings) -> Headroom:
    """What `supply.charging` has of a vehicle."""
    at = Evaluation(vehicle.columns, settings)
    over, tol = at.value(ON_MUSIC.have), at.tol(ON_MUSIC.have)
    return Headroom(from_micro(cell(over.values, 0)) if cell(over.known, 0) else None, from_micro(cell(tol, 0)))
