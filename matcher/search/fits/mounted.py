"""Every part of a family at one opening, through every adapter: how many ways in there are, and the parts that matter.

What the rules say comes in strings of bits, one for each mouth (`mates`); the parts that go in stand in a
relation of their own, one row for each step and for what is sure and what must be measured. Of these only what
a look asks for (`looks`), and what k others do not always beat (`unbeaten`), is read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count
from typing import Any

from matcher.rules.dash import SCREEN
from matcher.rules.rule import FITS, MEASURE, NO
from matcher.rules.wanted import WANTED
from matcher.search.fits.looks import Look, Merits, judged_sql, leaders_sql, needed_sql, needs_params
from matcher.search.fits.mates import Mates, Panel, Way, own_rules, panels, read_mates, rules_at, rules_sql
from matcher.search.fits.mounting import keeps_sql
from matcher.search.fits.place import DRILLED, Place
from matcher.search.fits.relations import best_rise_sql, measured, part_sql, worst_code, worst_of
from matcher.search.fits.unbeaten import unbeaten_sql
from matcher.search.fits.wanted import Wanted, wanted_sql
from matcher.search.scoring import money_sql
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass(frozen=True, slots=True)
class Tally:
    """How many there are in all, those included that others always beat."""

    ways: int
    """Parts, each with every adapter through which it goes in."""
    parts: int
    sure: int
    """Parts of which some way leaves nothing to measure."""


Tallies = dict[tuple[Any, ...], Tally]


@dataclass(frozen=True, slots=True)
class Order:
    """What is read of each part, what they are counted by, and what they are held against others by."""

    slot: str
    """Whose needs are asked of them."""
    columns: tuple[str, ...]
    counted: tuple[str, ...]
    merits: Merits


@dataclass(frozen=True, slots=True)
class Laid:
    """The parts that go into an opening, as a relation that lasts as long as the connection."""

    relation: str
    mates: Mates


NOTHING_WANTED = Wanted(None, ())


def lay_swept(
    con: Connection, place: Place, pieces: int, columns: Sequence[str], k: int, settings: Settings, wanted: Wanted
) -> Laid:
    """The parts that go in, as a relation: a row for each step, and for what is sure and what is not.

    Its columns are part_id, taken, sure, bits, ways, cents, adapter_id, and those that are asked for.
    """
    mates = read_mates(con, place, pieces, k, settings)
    name = f"swept_{next(NUMBERS)}"
    if mates.mouths:
        con.execute(_swept_sql(name, place, mates, columns, pieces, settings), _params(place, wanted))
    return Laid(name, mates)


NUMBERS = count()
"""What tells one such relation from another."""


def read_tallies(con: Connection, laid: Laid, asked: Order, relation: str, params: dict[str, Any]) -> Tallies:
    """How many there are of a relation over what was laid, by the columns that they are counted by."""
    if not laid.mates.mouths:
        return {}
    counted = ", ".join(asked.counted)
    counts = "sum(ways)::BIGINT, count(DISTINCT part_id), count(DISTINCT part_id) FILTER (sure)"
    rows = con.execute(f"SELECT {counts}, {counted} FROM ({relation}) GROUP BY {counted}", params).fetchall()
    return {tuple(map(_hashable, row[3:])): Tally(*row[:3]) for row in rows}


def read_swept(
    con: Connection, laid: Laid, asked: Order, relation: str, params: dict[str, Any], look: Look
) -> list[tuple[Any, ...]]:
    """What matters of a relation over what was laid, by part and adapter.

    Each row is (adapter, step, code, part, *columns, (adapter's price, pack_of, labour_h)).
    """
    needs = None if look.needs is None else look.needs.of(asked.slot)
    if not laid.mates.mouths or needs == []:
        return []
    named = f"(SELECT *, [part_id, coalesce(adapter_id, '')] AS name FROM ({relation}))"
    judged = judged_sql(named, asked.merits)
    if needs is not None:
        judged, params = needed_sql(judged, asked.merits), {**params, **needs_params(asked.merits, needs)}
    some = leaders_sql(judged, asked.merits) if look.leading else unbeaten_sql(judged, asked.merits, look.k)
    rows = con.execute(
        f"SELECT bits::VARCHAR, beaten, taken, CASE WHEN sure THEN {FITS} ELSE {MEASURE} END, part_id, "
        f"{', '.join(asked.columns)} FROM ({some})",
        params,
    ).fetchall()
    most = 1 if look.leading else look.k
    found = [
        (one["adapter_id"], taken, code, part_id, *rest, (one["price"], one["pack_of"], one["labour_h"]))
        for bits, beaten, taken, code, part_id, *rest in rows
        # What is dearer of the same part is beaten by what is cheaper as well.
        for one in laid.mates.cheapest(bits, most - beaten)
    ]
    return sorted(found, key=lambda row: (row[3], row[0] or ""))


def _hashable(cell: Any) -> Any:
    return tuple(cell) if isinstance(cell, list) else cell


def _swept_sql(name: str, place: Place, mates: Mates, columns: Sequence[str], pieces: int, settings: Settings) -> str:
    scope = rules_at(place.kind)
    asked = panels(scope, settings)
    goods, work = money_sql("part", pieces, settings)
    said = [
        f"said_{at} AS ({panel.said_sql(mates.size, all_kept=panel.lifted and place.allowed >= DRILLED)})"
        for at, panel in enumerate(asked)
    ]
    joins = " ".join(f"JOIN said_{at} ON {panel.meets(f'said_{at}')}" for at, panel in enumerate(asked))
    named = ", ".join(columns)
    rows, ways = _rows(mates), mates.ways()
    counts = " + ".join(f"{power} * bit_count(bits & {plane})" for power, plane in mates.planes())
    return (
        f"CREATE TEMP TABLE {name} AS WITH {_able(place, settings)}, {', '.join(said)}, "
        f"met AS (SELECT part.part_id, {named}, {goods} + {work} AS money, {_met(mates, asked, settings)} "
        f"FROM part {joins}), in_ways AS (SELECT *, {_in_ways(mates, ways)} FROM met), "
        f"rows AS (SELECT part_id, money, {', '.join(column.partition('.')[2] for column in columns)}, "
        f"unnest([{rows}], max_depth := 2) FROM in_ways), "
        "held AS (SELECT *, bit_position('1'::BIT, bits) - 1 AS first FROM rows WHERE bit_count(bits) > 0) "
        f"SELECT held.*, {counts} AS ways, money + mates[1].cents AS cents, mates[1].adapter_id AS adapter_id "
        "FROM held JOIN mate ON mate.place = first"
    )


def _able(place: Place, settings: Settings) -> str:
    """The relations on which the rules are asked: of the parts only those that no rule of their own refuses."""
    scope = rules_at(place.kind)
    own, bolts = (own_rules(scope, settings, lifted=lifted) for lifted in (False, True))
    source, extra, codes = "catalog AS part, opening", [], [worst_of(own)]
    pieces = [
        f"catalog AS ({part_sql(place.family, settings)})",
        f"opening AS (SELECT * FROM opening_{place.kind} WHERE vehicle_id = $vehicle AND opening_id = $opening)",
    ]
    if place.kind == "dash":
        pieces.append(f"screens AS ({_screens(settings)})")
        source = (
            "catalog AS part LEFT JOIN screens ON screens.part_id = part.part_id, opening, "
            f"LATERAL ({wanted_sql('$screen', '$must')}) AS wanted"
        )
        extra = ["screens.code AS screen_code", measured(WANTED, settings)]
        codes += [f"coalesce(screen_code, {FITS})", worst_code(WANTED, lifted=False)]
    read = ", ".join(["part.*", *extra, *([rules_sql([*own, *bolts], settings)] if own or bolts else [])])
    worst = f"least({', '.join(codes)}) AS own_base, {worst_of(bolts)} AS own_bolts"
    coded = f"SELECT *, {worst} FROM (SELECT {read} FROM {source})"
    bolted = "" if place.allowed >= DRILLED else f" AND own_bolts != {NO}"
    return ", ".join([*pieces, f"part AS (SELECT * FROM ({coded}) WHERE own_base != {NO}{bolted})"])


def _screens(settings: Settings) -> str:
    """Floating screens against what must stay reachable: each unit's worst code at its best height."""
    return (
        f"WITH around AS ({keeps_sql(settings)}), "
        f"hung AS (SELECT part.part_id, {{'mm': {best_rise_sql(settings)}}} AS rise FROM catalog AS part, around "
        "WHERE part.screen IS NULL OR part.screen = 'floating'), "
        "keep AS (SELECT k.* FROM keep_clear k JOIN opening USING (vehicle_id, opening_id)), "
        f"looked AS (SELECT part.part_id, {measured(SCREEN, settings)} FROM catalog AS part "
        "JOIN hung ON hung.part_id = part.part_id, LATERAL (SELECT hung.rise.mm AS mm) AS rise, keep) "
        f"SELECT part_id, min({worst_code(SCREEN, lifted=False)}) AS code FROM looked GROUP BY part_id"
    )


def _met(mates: Mates, asked: Sequence[Panel], settings: Settings) -> str:
    """SQL of the mouths that take a part, and of those that surely do: by what a drill cannot lift, and by the rest."""
    none = mates.mask(())
    masks = {
        "base": (mates.mask(mates.mouths), mates.mask(one for one in mates.mouths if one.base == FITS)),
        "bolts": tuple(mates.mask(one for one in mates.mouths if one.bolts >= least) for least in (MEASURE, FITS)),
    }
    columns = []
    for name, (can, sure) in masks.items():
        own, said = f"own_{name}", [f"said_{at}" for at, one in enumerate(asked) if one.lifted == (name == "bolts")]
        may = " & ".join([can, *(f"coalesce({each}.can, {none})" for each in said)])
        does = " & ".join([sure, *(f"{each}.sure" for each in said)])
        columns.append(f"CASE WHEN {own} = {NO} THEN {none} ELSE {may} END AS can_{name}")
        columns.append(f"CASE WHEN {own} < {FITS} THEN {none} ELSE {does} END AS sure_{name}")
    return ", ".join(columns)


def _in_ways(mates: Mates, ways: Sequence[Way]) -> str:
    """SQL of the adapters by which a part goes in, for each way: none goes in by two."""
    columns, used = [], mates.mask(())
    for at, way in enumerate(ways):
        mask = mates.mask(one for one in mates.mouths if (one.cut, one.step) == (way.cut, way.step))
        can, sure = "can_base", "sure_base"
        if way.drilled:
            can += " & ~can_bolts"
        elif way.step < DRILLED:
            can, sure = f"{can} & can_bolts", f"{sure} & sure_bolts"
        shift = f" << {len(mates.classes)}" if way.cut else ""
        columns.append(f"(({can} & {mask}){shift}) & ~{used} AS in_{at}")
        columns.append(f"in_{at} & (({sure}){shift}) AS sure_{at}")
        if mates.is_cut:
            columns.append(f"{used} | in_{at} AS used_{at}")
            used = f"used_{at}"
    return ", ".join(columns)


def _rows(mates: Mates) -> str:
    """SQL of a row for each way, of what is sure and of what must be measured."""
    return ", ".join(
        f"{{'taken': {way.taken}, 'sure': {sure}, 'bits': {bits}}}"
        for at, way in enumerate(mates.ways())
        for sure, bits in (("true", f"sure_{at}"), ("false", f"in_{at} & ~sure_{at}"))
    )


def _params(place: Place, wanted: Wanted) -> dict[str, Any]:
    where: dict[str, Any] = {"vehicle": place.vehicle_id, "opening": place.opening_id}
    if place.kind == "dash":
        where |= {"screen": wanted.screen_min_in, "must": list(wanted.must)}
    return where
