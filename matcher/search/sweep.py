"""Candidates: every part of a family asked at one place, in one statement.

Fitting parts and parts to be measured come back, each with its adapter and the least step of the
alteration ladder it takes; what does not fit stays in the store.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from catalog_schema.jobs import LADDER, step_rank
from matcher.rules.amp_board import BOARD
from matcher.rules.dash import DASH, SCREEN
from matcher.rules.holding import HOLDING
from matcher.rules.rule import FITS, NO
from matcher.rules.speaker import SPEAKER
from matcher.rules.supply import POWERED
from matcher.rules.wanted import WANTED
from matcher.search.mounting import keeps_sql
from matcher.search.relations import (
    adapter_mouth_sql,
    bare_mouth_sql,
    best_rise_sql,
    hole_sql,
    measured,
    part_sql,
    worst_code,
)
from matcher.settings import Settings
from matcher.store.connection import Connection

DRILLED = step_rank("drilled")
LOOSEST = len(LADDER) - 1
BOARD_STEP = step_rank("bolt_on")
"""An amplifier sits on a board or bracket of its own: something is added, nothing lost."""


@dataclass(frozen=True, slots=True)
class Place:
    """One opening, the family that goes there, and the step allowed there."""

    kind: str
    family: str
    vehicle_id: str
    opening_id: str
    allowed: int

    @property
    def key(self) -> list[str]:
        return [self.vehicle_id, self.opening_id]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the job asks of a head unit."""

    screen_min_in: Decimal | None
    must: tuple[str, ...]


@dataclass
class Sweeps:
    """The sweeps of one question; what is asked again is answered from what was read."""

    con: Connection
    settings: Settings
    codes: dict[Any, int] = field(default_factory=dict)
    """What the rules said of every link that was asked."""
    _read: dict[object, Any] = field(default_factory=dict)

    def mounted(self, place: Place, columns: tuple[str, ...], wanted: Wanted | None = None) -> list[tuple[Any, ...]]:
        """As `sweep_mounted`."""
        rows: list[tuple[Any, ...]] = self.once(
            (place, columns, wanted), lambda: sweep_mounted(self.con, place, columns, self.settings, wanted)
        )
        return rows

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


def sweep_mounted(
    con: Connection, place: Place, columns: Sequence[str], settings: Settings, wanted: Wanted | None = None
) -> list[tuple[Any, ...]]:
    """Parts that go into an opening: (adapter, step, code, *columns), by part and adapter.

    `columns` are expressions over ``part``, ``opening`` and ``adapter_part``, the adapter's own row.
    """
    base = [worst_code(DASH if place.kind == "dash" else SPEAKER, lifted=False), "adapter_base"]
    screens = ""
    if place.kind == "dash":
        base += ["coalesce(screen_code, 2)", worst_code(WANTED, lifted=False)]
        screens = f", screens AS ({_screens(settings)})"
    lifted = worst_code(DASH if place.kind == "dash" else SPEAKER, lifted=True)
    names = ", ".join(f"column_{position}" for position in range(len(columns)))
    statement = (
        f"WITH {_relations(place, settings)}{screens}, "
        f"asked AS (SELECT {_read(place, columns, settings)} FROM {_from(place, wanted)}), "
        f"coded AS (SELECT *, least({', '.join(base)}) AS base, least({lifted}, adapter_bolts) AS bolts FROM asked), "
        f"taken AS (SELECT *, {_taken(place)} AS taken FROM coded), "
        f"ways AS (SELECT *, CASE WHEN taken >= {DRILLED} THEN base ELSE least(base, bolts) END AS code FROM taken "
        f"WHERE taken IS NOT NULL) "
        f"SELECT adapter_id, taken, code, {names} FROM ways "
        "QUALIFY row_number() OVER (PARTITION BY part_id, adapter_id ORDER BY taken, step) = 1 "
        "ORDER BY part_id, adapter_id NULLS FIRST"
    )
    return con.execute(statement, _params(place, wanted)).fetchall()


def _taken(place: Place) -> str:
    """SQL of the least step at which nothing says no, null where that is not allowed."""
    step = f"CASE WHEN least(base, bolts) != {NO} THEN step WHEN base != {NO} THEN greatest(step, {DRILLED}) END"
    return f"CASE WHEN ({step}) <= {place.allowed} THEN ({step}) END"


def _relations(place: Place, settings: Settings) -> str:
    mouths = (
        f"{bare_mouth_sql()} UNION ALL BY NAME SELECT * FROM ({adapter_mouth_sql(place.kind, settings)}) "
        f"WHERE adapter_base != {NO}"
    )
    pieces = [
        f"part AS ({part_sql(place.family, settings)})",
        f"opening AS (SELECT * FROM opening_{place.kind} WHERE vehicle_id = $1 AND opening_id = $2)",
        f"hole AS ({hole_sql(place.kind, settings)})",
        f"adapter AS ({part_sql('adapter', settings)})",
        f"mouth AS (SELECT * FROM ({mouths}) WHERE step <= {place.allowed} "
        f"AND (adapter_bolts != {NO} OR {place.allowed} >= {DRILLED}))",
    ]
    return ", ".join(pieces)


def _from(place: Place, wanted: Wanted | None) -> str:
    source = "part CROSS JOIN opening CROSS JOIN mouth "
    source += "LEFT JOIN adapter AS adapter_part ON adapter_part.part_id = mouth.adapter_id"
    if place.kind == "dash":
        source += " LEFT JOIN screens ON screens.part_id = part.part_id"
        source += f", LATERAL ({wanted_sql('$3', '$4')}) AS wanted"
    return source


def wanted_sql(screen_min_in: str, must: str, given: str | None = None) -> str:
    """SQL of what a job asks of a head unit, from two parameters; a third holds what its accessories give."""
    has = "part.features"
    if given is not None:
        has = f"CASE WHEN {has} IS NOT NULL THEN list_concat({has}, {given}::VARCHAR[]) END"
    return (
        f"SELECT {screen_min_in}::DECIMAL(15,6) AS screen_min_in, len({must}::VARCHAR[]) AS count, "
        f"len(list_intersect({has}, {must}::VARCHAR[])) AS met"
    )


def _params(place: Place, wanted: Wanted | None) -> list[Any]:
    if place.kind != "dash":
        return place.key
    asked = wanted or Wanted(None, ())
    return [*place.key, asked.screen_min_in, list(asked.must)]


def _read(place: Place, columns: Sequence[str], settings: Settings) -> str:
    own = [f"{column} AS column_{position}" for position, column in enumerate(columns)]
    if place.kind == "dash":
        own += ["screens.code AS screen_code", measured(WANTED, settings)]
    scope = DASH if place.kind == "dash" else SPEAKER
    return ", ".join(
        [
            "part.part_id",
            "mouth.adapter_id",
            "mouth.step",
            "adapter_base",
            "adapter_bolts",
            *own,
            measured(scope, settings),
        ]
    )


def _screens(settings: Settings) -> str:
    """Floating screens against what must stay reachable: each unit's worst code at its best height."""
    return (
        f"WITH around AS ({keeps_sql(settings)}), "
        f"hung AS (SELECT part.part_id, {{'mm': {best_rise_sql(settings)}}} AS rise FROM part, around "
        "WHERE part.screen IS NULL OR part.screen = 'floating'), "
        "keep AS (SELECT k.* FROM keep_clear k JOIN opening USING (vehicle_id, opening_id)), "
        f"looked AS (SELECT part.part_id, {measured(SCREEN, settings)} FROM part "
        "JOIN hung ON hung.part_id = part.part_id, LATERAL (SELECT hung.rise.mm AS mm) AS rise, keep) "
        f"SELECT part_id, min({worst_code(SCREEN, lifted=False)}) AS code FROM looked GROUP BY part_id"
    )


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
