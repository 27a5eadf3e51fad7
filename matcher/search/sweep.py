"""The sweeps of one question: amplifiers at their spots, and what the vehicle itself says; each is read once.

What fits and what must be measured comes back, with the least step of the alteration ladder that it takes;
what does not fit stays in the store. Parts that fill an opening are swept in `mounted`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from matcher.rules.amp_board import BOARD
from matcher.rules.holding import HOLDING
from matcher.rules.rule import FITS, NO
from matcher.rules.supply import POWERED
from matcher.search.place import BOARD_STEP, DRILLED, Place
from matcher.search.relations import measured, part_sql, worst_code
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass
class Sweeps:
    """The sweeps of one question; what is asked again is answered from what was read."""

    con: Connection
    settings: Settings
    codes: dict[Any, int] = field(default_factory=dict)
    """What the rules said of every link that was asked."""
    _read: dict[object, Any] = field(default_factory=dict)
    trades: bool = False
    """Whether trade-offs are asked for as well: then an opening is swept for every alteration at once."""

    def amplifiers(self, place: Place, columns: tuple[str, ...]) -> list[tuple[Any, ...]]:
        """As `sweep_amplifiers`."""
        rows: list[tuple[Any, ...]] = self.once(
            (place, columns), lambda: sweep_amplifiers(self.con, place, columns, self.settings)
        )
        return rows

    def powered(self, vehicle_id: str) -> int:
        """As `powered_code`."""
        code: int = self.once(vehicle_id, lambda: powered_code(self.con, vehicle_id, self.settings))
        return code

    def may_hold(self, place: Place) -> bool:
        """Whether anything may be fastened at an opening at all."""
        code: int = self.once((place.vehicle_id, place.opening_id), lambda: zone_code(self.con, place, self.settings))
        return code != NO

    def once(self, key: object, read: Callable[[], Any]) -> Any:
        """What a question reads, read once however often it is asked."""
        if key not in self._read:
            self._read[key] = read()
        return self._read[key]

    def apart_from(self, name: str) -> Sweeps:
        """The same, but for what was read of one opening: to ask it again with something of it assumed."""
        kept = {key: read for key, read in self._read.items() if not _is_about(key, name)}
        return Sweeps(self.con, self.settings, self.codes, kept)


def _is_about(key: object, name: str) -> bool:
    """Whether the key of something that was read names an opening."""
    if isinstance(key, tuple):
        return any(_is_about(part, name) for part in key)
    return getattr(key, "opening_id", key) == name


def _taken(place: Place) -> str:
    """SQL of the least step at which nothing says no, null where that is not allowed."""
    step = f"CASE WHEN least(base, bolts) != {NO} THEN step WHEN base != {NO} THEN greatest(step, {DRILLED}) END"
    return f"CASE WHEN ({step}) <= {place.allowed} THEN ({step}) END"


def sweep_amplifiers(
    con: Connection, place: Place, columns: Sequence[str], settings: Settings
) -> list[tuple[Any, ...]]:
    """Amplifiers that go onto a spot: (step, code, *columns), by part; a board takes a step of its own."""
    read = ", ".join(f"{column} AS column_{position}" for position, column in enumerate(columns))
    names = ", ".join(f"column_{position}" for position in range(len(columns)))
    codes = f"{worst_code(BOARD, lifted=False)} AS base, {worst_code(BOARD, lifted=True)} AS bolts"
    rules = measured(BOARD, settings)
    statement = (
        f"WITH part AS ({part_sql('amplifier', settings)}), "
        "opening AS (SELECT * FROM opening_amp_spot WHERE vehicle_id = $1 AND opening_id = $2), "
        f"asked AS (SELECT part.part_id, {BOARD_STEP} AS step, {read}, {rules} FROM part, opening), "
        f"coded AS (SELECT *, {codes} FROM asked), taken AS (SELECT *, {_taken(place)} AS taken FROM coded) "
        f"SELECT taken, CASE WHEN taken >= {DRILLED} THEN base ELSE least(base, bolts) END, {names} FROM taken "
        "WHERE taken IS NOT NULL ORDER BY part_id"
    )
    return con.execute(statement, place.key).fetchall()


def zone_code(con: Connection, place: Place, settings: Settings) -> int:
    """Whether an opening lies where nothing may be fastened, whatever the limits say."""
    statement = (
        f"SELECT {worst_code(HOLDING, lifted=False)} FROM (SELECT {measured(HOLDING, settings)} "
        f"FROM opening_{place.kind} AS opening WHERE vehicle_id = ? AND opening_id = ?)"
    )
    row = con.execute(statement, place.key).fetchone()
    return FITS if row is None else int(row[0])


def powered_code(con: Connection, vehicle_id: str, settings: Settings) -> int:
    """The worst that the vehicle's own supply says to any powered part."""
    statement = (
        f"SELECT {worst_code(POWERED, lifted=False)} FROM "
        f"(SELECT {measured(POWERED, settings)} FROM vehicle WHERE vehicle_id = ?)"
    )
    row = con.execute(statement, [vehicle_id]).fetchone()
    return FITS if row is None else int(row[0])
