"""What charging has over for the sound, as a limit on the whole."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from matcher.rules.charging import ON_MUSIC
from matcher.settings import Settings
from matcher.store.connection import Connection


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


def read_headroom(con: Connection, vehicle_id: str, settings: Settings) -> Headroom:
    """What `supply.charging` has of a vehicle."""
    have, tol = ON_MUSIC.have.value(settings), ON_MUSIC.have.tol(settings)
    row = con.execute(f"SELECT {have}, {tol} FROM vehicle WHERE vehicle_id = ?", [vehicle_id]).fetchone()
    over, give = row or (None, None)
    return Headroom(over, Decimal(give or 0))
