"""The places of a share, and their mouths as spots: relations that the sheets are asked on.

What no part has a say in is asked of each place once; how an adapter sits, of each hole once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, NamedTuple

from catalog_schema.ladder import step_rank
from matcher.rules.rule import NO, Rule
from matcher.search.fits.figures import rules_sql
from matcher.search.fits.place import DRILLED
from matcher.search.fits.relations import adapter_mouth_sql, bare_mouth_sql, hole_sql, part_sql, zone_sql
from matcher.search.matrix.kinds import Asking
from matcher.search.matrix.sheets import Sheet
from matcher.search.matrix.verdicts import (
    LIMIT,
    NO_RULE,
    codes_sql,
    first_of,
    first_refusing,
    key_of,
    told,
    worst_key,
)
from matcher.search.scoring import money_sql
from matcher.settings import Settings
from matcher.store.connection import Connection

BOARDED = step_rank("bolt_on")
BARE = -1
"""The number of no adapter."""


class Said(NamedTuple):
    """What some rules say of one thing."""

    first: int
    """The first that says no, or what the worst says."""
    key: int
    margin: int | None
    """Of the worst, and its tolerance: in millionths."""
    tol: int

    def and_of(self, other: Said) -> Said:
        """The worst of both."""
        worst = min(self, other, key=lambda said: said.key)
        return worst._replace(first=min(self.first, other.first))


class Spot(NamedTuple):
    """A mouth of a place."""

    step: int
    adapter_no: int
    given: tuple[int, ...]
    """Its set of figures on each sheet."""
    firm: Said
    """What is said of vehicle, place and adapter."""
    lifted: Said
    """What is said of the adapter's holes, which new ones lift."""
    beyond: Said
    """What is said of its step being more than is asked."""


@dataclass(frozen=True)
class Place:
    """An opening that stands for all that are alike."""

    place_no: int
    own: Said
    closed: int | None
    """The first rule that refuses every part there."""
    ways: list[list[Spot]] = field(default_factory=list)
    """The spots of each way in, as found and as it may be cut: first without an adapter, then the cheapest first."""


def lay_adapters(con: Connection, settings: Settings) -> None:
    """Lay the adapters of the catalog with their numbers, as the relation ``adapter``."""
    numbered = "(row_number() OVER (ORDER BY part_id) - 1)::INTEGER AS adapter_no"
    con.execute(f"CREATE TEMP TABLE adapter AS SELECT {numbered}, * FROM ({part_sql('adapter', settings)})")


@dataclass(frozen=True)
class Spots:
    """How the places of one kind are asked about."""

    con: Connection
    asking: Asking
    asked: Sequence[Sheet]
    step: int
    every: bool
    adapters: bool
    settings: Settings

    def lay(self) -> list[Place]:
        """Lay the relations ``opening``, ``mouth`` and ``spot`` for the relation ``place``, and read them."""
        self._table("opening", self._opening_sql())
        self._table("mouth", f"SELECT (row_number() OVER () - 1)::INTEGER AS spot_no, * FROM ({self._mouth_sql()})")
        given = "".join(f", {one.given_sql()} AS g{one.at}" for one in self.asked)
        self._table(
            "spot", f"SELECT spot_no, place_no{given} FROM mouth JOIN opening USING (place_no) ORDER BY spot_no"
        )
        return self._read()

    @property
    def _is_plated(self) -> bool:
        """Whether adapters are asked about here: nothing stands on one."""
        return self.adapters and not self.asking.is_standing

    def _table(self, name: str, sql: str) -> None:
        self.con.execute(f"CREATE OR REPLACE TEMP TABLE {name} AS {sql}")

    def _opening_sql(self) -> str:
        """``closed`` is the rule that refuses every part there."""
        asking, own = self.asking, self.asking.own
        measured = f", {rules_sql(own, self.settings)}" if own else ""
        zone = f", {zone_sql()}" if asking.of_place else ""
        beyond = str(LIMIT) if asking.is_standing and self.step < BOARDED else "NULL"
        return (
            f"WITH asked AS (SELECT opening.*, place_no{measured} FROM opening_{asking.kind} AS opening "
            "JOIN place USING (vehicle_id, opening_id) JOIN vehicle ON vehicle.vehicle_id = opening.vehicle_id"
            f"{zone} WHERE place.kind = '{asking.kind}' AND stands), said AS ({self._said_sql('own', own, 'asked')}) "
            f"SELECT *, coalesce({beyond}, own_refused) AS closed FROM said"
        )

    def _said_sql(self, name: str, rules: Sequence[Rule], relation: str) -> str:
        """SQL of a relation with what some rules say of it beside: refused, key, margin and tol, each with a name."""
        asking = self.asking
        coded = f", {codes_sql(rules)}" if rules else ""
        key = f"{name}_key"
        return (
            f"SELECT *, {told(asking, rules, key, 'NULL', 'margin')} AS {name}_margin, "
            f"{told(asking, rules, key, '0', 'tol')} AS {name}_tol FROM "
            f"(SELECT *, {first_refusing(asking, rules)} AS {name}_refused, {worst_key(asking, rules)} AS {key} "
            f"FROM (SELECT *{coded} FROM {relation}))"
        )

    def _mouth_sql(self) -> str:
        """The mouths within the step, or all where every pair is told: bare, and through each adapter that sits."""
        if self.asking.is_standing:
            own = f"{BOARDED} AS step, false AS hole_is_cut, {BARE} AS adapter_no, 0 AS cents"
            return f"SELECT place_no, {own} FROM opening"
        bare = f"SELECT *, {BARE} AS adapter_no, 0 AS cents FROM ({bare_mouth_sql()})"
        mouths = f"{bare} UNION ALL BY NAME {self._plated_sql()}" if self._is_plated else bare
        allowed = "" if self.every else f" WHERE step <= {self.step} OR (NOT hole_is_cut AND adapter_no = {BARE})"
        return (
            f"WITH hole AS ({hole_sql(self.asking.kind, self.settings)}) SELECT place_no, mouth.* "
            f"FROM ({mouths}) AS mouth JOIN opening USING (vehicle_id, opening_id){allowed}"
        )

    def _plated_sql(self) -> str:
        """The mouths that adapters give, with what is said of how they sit, and what they cost there."""
        firm = [rule for rule in self.asking.plates if rule.lifted_at is None]
        lifted = [rule for rule in self.asking.plates if rule.lifted_at is not None]
        bolted = "" if self.every or self.step >= DRILLED else f" AND adapter_bolts != {NO}"
        near = (
            f"SELECT * FROM ({adapter_mouth_sql(self.asking.kind, self.settings)}) WHERE adapter_base != {NO}{bolted}"
        )
        said = self._said_sql("lifted", lifted, f"({self._said_sql('firm', firm, f'({near})')})")
        pieces = "coalesce(opening.count, 2)" if self.asking.kind == "speaker" else "1"
        goods, work = money_sql("adapter", pieces, self.settings)
        return (
            f"SELECT near.*, adapter_no, {goods} + {work} AS cents FROM ({said}) AS near "
            "JOIN adapter ON adapter.part_id = adapter_id JOIN opening USING (vehicle_id, opening_id)"
        )

    def _read(self) -> list[Place]:
        """Adapters that give the same at a place, and sit there as well, are one way: through the cheapest."""
        own = "own_refused, own_key, own_margin, own_tol"
        found = self.con.execute(f"SELECT place_no, closed, {own} FROM opening ORDER BY place_no").fetchall()
        places = {row[0]: Place(row[0], _said(row[2:]), row[1]) for row in found}
        for place_no, way, *row in self.con.execute(self._ways_sql()).fetchall():
            place = places[place_no]
            if way > len(place.ways):
                place.ways.append([])
            place.ways[-1].append(self._spot(place.own, row))
        return list(places.values())

    def _ways_sql(self) -> str:
        """SQL of the spots by place and way: (place_no, way, adapter_no, step, beyond, firm, lifted, given)."""
        plated = [f"{name}_{what}" for name in ("firm", "lifted") for what in ("refused", "key", "margin", "tol")]
        if not self._is_plated:
            plated = ["NULL", NO_RULE, "NULL", "0"] * 2
        given = [f"g{one.at}" for one in self.asked]
        sits = ", ".join(["step", *given, *(["adapter_base", "adapter_bolts"] if self._is_plated else [])])
        beyond = f"CASE WHEN step > {self.step} THEN {key_of(str(NO), f'{self.step} - step', '0', 'steps', LIMIT)} END"
        return (
            "WITH met AS (SELECT * FROM mouth JOIN spot USING (spot_no, place_no)), "
            f"ways AS (SELECT place_no, adapter_no, cents, list([{sits}] ORDER BY hole_is_cut) AS gives FROM met "
            "GROUP BY place_no, adapter_no, cents), "
            f"alike AS (SELECT place_no, unnest(first({_ONE} ORDER BY {_CHEAPEST})) "
            "FROM ways GROUP BY place_no, gives), "
            f"ranked AS (SELECT *, row_number() OVER (PARTITION BY place_no ORDER BY {_CHEAPEST}) AS way FROM alike) "
            f"SELECT place_no, way, adapter_no, step, coalesce({beyond}, {NO_RULE}), {', '.join([*plated, *given])} "
            f"FROM ranked JOIN met USING (place_no, adapter_no) ORDER BY place_no, way, hole_is_cut"
        )

    def _spot(self, own: Said, row: Sequence[Any]) -> Spot:
        adapter_no, step, key, *rest = row
        firm, lifted, given = _said(rest[:4]), _said(rest[4:8]), rest[8:]
        beyond = Said(LIMIT, key, _millionths(self.step - step), 0)
        return Spot(step, adapter_no, tuple(given), own.and_of(firm), lifted, beyond)


_CHEAPEST = f"adapter_no > {BARE}, cents, adapter_no"
_ONE = "{'adapter_no': adapter_no, 'cents': cents}"


def _said(row: Sequence[Any]) -> Said:
    refused, key, margin, tol = row
    key = int(NO_RULE) if key is None else key
    return Said(first_of(refused, key), key, None if margin is None else _millionths(margin), _millionths(tol or 0))


def _millionths(figure: Decimal | int) -> int:
    return int(figure * 1_000_000)
