"""Every part of a family at one opening, through every adapter, as a relation of those that go in.

A part is known by the numbers of its sets of figures (`figures`); what the rules say to each set is a string of bits,
one for each mouth (`mates`). Parts to which they say the same go in alike: how, is worked out once for all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from operator import and_
from typing import Any

from matcher.rules.dash import SCREEN
from matcher.rules.rule import FITS, NO
from matcher.rules.wanted import WANTED
from matcher.search.fits.figures import Sets, columns_read, lay_sets, own_rules, panels_of, rules_sql
from matcher.search.fits.mates import Mates, Met, bits_of, read_mates
from matcher.search.fits.place import DRILLED, Place
from matcher.search.fits.relations import measured, rise_sql, worst_code, worst_of
from matcher.search.fits.sweep import Sweeps
from matcher.search.fits.wanted import Wanted, wanted_sql
from matcher.search.scoring import money_sql
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass(frozen=True, slots=True)
class Laid:
    """The parts that go into an opening, as a relation that lasts as long as the connection."""

    relation: str
    mates: Mates
    through: Sequence[int] = ()
    """Classes of adapters, by the number that a row of the relation names them by."""


NOTHING_WANTED = Wanted(None, ())


def lay_swept(
    sweeps: Sweeps, place: Place, pieces: int, columns: Sequence[str], k: int, wanted: Wanted = NOTHING_WANTED
) -> Laid:
    """The parts that go in, as a relation: a row for each step, and for what is sure and what is not.

    Its columns are part_id, taken, sure, through, ways, cents, adapter_id, and those of `columns`.
    """
    con, settings = sweeps.con, sweeps.settings
    sets, name = sets_of(sweeps, place, columns), sweeps.shelf.place("swept")
    mates, told = sweeps.once(
        (place, pieces, k, sets.parts), lambda: _read_mouths(con, place, pieces, k, sets, settings)
    )
    if not mates.mouths:
        return Laid(name, mates)
    telling = [said for said in told if not said.is_same]
    met = _met_sql(place, sets, telling, pieces, columns, settings)
    con.execute(f"{sweeps.shelf.create} TABLE {name}_met AS {met}", _params(place, wanted, telling))
    return Laid(name, mates, _lay_ways(sweeps, name, mates, told))


@dataclass(frozen=True, slots=True)
class Said:
    """What a panel says to its sets of figures."""

    at: int
    lifted: bool
    outcomes: Sequence[tuple[int, int]]
    """The mouths that may do, and those that surely do; each pair once."""
    by_set: Sequence[int | None]
    """By the number of a set: its outcome; none where no mouth takes it."""

    @property
    def is_same(self) -> bool:
        """Whether it says the same to every part."""
        return len(self.outcomes) == 1 and None not in self.by_set


def sets_of(sweeps: Sweeps, place: Place, columns: Sequence[str]) -> Sets:
    """The family of a place by its sets of figures, with all that is asked of a part by itself there, and columns."""

    def lay() -> Sets:
        held, further = _columns_held(place, columns, sweeps.settings), _further(place, sweeps.settings)
        return lay_sets(sweeps.con, sweeps.shelf, (place.kind, place.family), held, further, sweeps.settings)

    sets: Sets = sweeps.once(("sets", place.family, tuple(columns)), lay)
    return sets


def _read_mouths(
    con: Connection, place: Place, pieces: int, k: int, sets: Sets, settings: Settings
) -> tuple[Mates, list[Said]]:
    """The mouths of a place, and what each panel says of them."""
    mates = read_mates(con, place, pieces, k, settings)
    return mates, _read_said(con, place, sets, mates) if mates.mouths else []


def _read_said(con: Connection, place: Place, sets: Sets, mates: Mates) -> list[Said]:
    """What each panel says; where new screw holes lift it, a set that no mouth takes counts too."""
    said = " UNION ALL ".join(
        f"SELECT {at} AS panel, can::VARCHAR, sure::VARCHAR, list(number) FROM "
        f"({panel.said_sql(sets.figures(at), mates.size)}) GROUP BY can, sure"
        for at, panel in enumerate(sets.panels)
    )
    rows = con.execute(f"WITH {_opening_sql(place)} {said}", _where(place)).fetchall()
    found = []
    for at, panel in enumerate(sets.panels):
        own = [row[1:] for row in rows if row[0] == at]
        kept = [one for one in own if one[0] is not None or (panel.lifted and place.allowed >= DRILLED)]
        by_set: list[int | None] = [None] * sum(len(numbers) for _, _, numbers in own)
        for outcome, (_, _, numbers) in enumerate(kept):
            for number in numbers:
                by_set[number] = outcome
        found.append(Said(at, panel.lifted, [(bits_of(can), bits_of(sure)) for can, sure, _ in kept], by_set))
    return found


def _met_sql(
    place: Place,
    sets: Sets,
    told: Sequence[Said],
    pieces: int,
    columns: Sequence[str],
    settings: Settings,
) -> str:
    """SQL of the parts that no rule refuses by itself, with what is said of each: ``said_0``…, by outcome."""
    goods, work = money_sql("part", pieces, settings)
    said = [f"list_extract($said_{one.at}::INTEGER[], set_{one.at} + 1) AS said_{one.at}" for one in told]
    own = ["own_base", "own_bolts", *(f"said_{one.at}" for one in told)]
    kept = [f"own_base != {NO}", *(f"said_{one.at} IS NOT NULL" for one in told)]
    kept += [] if place.allowed >= DRILLED else [f"own_bolts != {NO}"]
    ctes, asked = _own_sql(place, sets, settings)
    return (
        f"WITH {', '.join(ctes)} SELECT {', '.join(columns)}, {goods} + {work} AS money, "
        f"{', '.join(own)} FROM (SELECT *, {', '.join(said) or 'NULL'} FROM ({asked})) AS part "
        f"WHERE {' AND '.join(kept)}"
    )


def _own_sql(place: Place, sets: Sets, settings: Settings) -> tuple[list[str], str]:
    """SQL of the parts with what the rules say of them whatever the mouth, and of the relations that this stands on."""
    own, bolts = (own_rules(place.kind, settings, lifted=lifted) for lifted in (False, True))
    source, extra, codes, ctes = f"{sets.parts} AS part, opening", [], [worst_of(own)], [_opening_sql(place)]
    if place.kind == "dash":
        ctes += [
            f"{name} AS ({asked(sets.figures(at), settings)})"
            for at, (name, asked) in enumerate(BY_THE_DASH.items(), len(sets.panels))
        ]
        joins = [
            f"LEFT JOIN {name} ON {name}.number = part.set_{at}"
            for at, name in enumerate(BY_THE_DASH, len(sets.panels))
        ]
        source = f"{sets.parts} AS part {' '.join(joins)}, opening"
        extra = [f"coalesce({name}.code, {FITS}) AS {name}_code" for name in BY_THE_DASH]
        codes += [f"{name}_code" for name in BY_THE_DASH]
    read = ", ".join(["part.*", *extra, *([rules_sql([*own, *bolts], settings)] if own or bolts else [])])
    worst = f"least({', '.join(codes)}) AS own_base, {worst_of(bolts)} AS own_bolts"
    return ctes, f"SELECT *, {worst} FROM (SELECT {read} FROM {source})"


def _columns_held(place: Place, columns: Sequence[str], settings: Settings) -> tuple[str, ...]:
    """The columns that are asked of a part by itself, or are to stand beside it."""
    _, asked = _own_sql(place, Sets("parts", panels_of(place.kind, settings), _further(place, settings)), settings)
    read = columns_read("part", " ".join([*columns, asked, *money_sql("part", 1, settings)]))
    return tuple(name for name in read if not name.startswith("set_"))


def _further(place: Place, settings: Settings) -> tuple[tuple[str, ...], ...]:
    """The figures by which a dash is asked further questions: each set of them once."""
    asked = BY_THE_DASH.values() if place.kind == "dash" else ()
    read = (columns_read("part", one("", settings)) for one in asked)
    return tuple(tuple(name for name in names if name != "number") for names in read)


def _opening_sql(place: Place) -> str:
    return f"opening AS (SELECT * FROM opening_{place.kind} WHERE vehicle_id = $vehicle AND opening_id = $opening)"


def _screens(figures: str, settings: Settings) -> str:
    """Floating screens, by sets of figures, against what must stay reachable: the worst code at the best height."""
    return (
        "WITH keep AS (SELECT k.*, 0 AS place_no FROM keep_clear k JOIN opening USING (vehicle_id, opening_id)), "
        f"hung AS (SELECT part.*, part.number AS cell, 0 AS place_no FROM {figures} AS part "
        f"WHERE part.screen IS NULL OR part.screen = 'floating'), rise AS ({rise_sql(settings)}), "
        f"looked AS (SELECT part.number, {measured(SCREEN, settings)} FROM hung AS part JOIN rise USING (cell), keep) "
        f"SELECT number, min({worst_code(SCREEN, lifted=False)}) AS code FROM looked GROUP BY number"
    )


def _wanted(figures: str, settings: Settings) -> str:
    """Head units, by sets of figures, against what the job asks of one."""
    return (
        f"SELECT number, {worst_code(WANTED, lifted=False)} AS code FROM (SELECT part.number, "
        f"{measured(WANTED, settings)} FROM {figures} AS part, LATERAL ({wanted_sql('$screen', '$must')}) AS wanted)"
    )


BY_THE_DASH = {"screens": _screens, "wanted": _wanted}
"""What is asked of a head unit beside its fit: SQL of what is said to each set of the figures that it reads."""


def _where(place: Place) -> dict[str, Any]:
    return {"vehicle": place.vehicle_id, "opening": place.opening_id}


def _params(place: Place, wanted: Wanted, told: Sequence[Said]) -> dict[str, Any]:
    params = _where(place) | {f"said_{one.at}": list(one.by_set) for one in told}
    if place.kind == "dash":
        params |= {"screen": wanted.screen_min_in, "must": list(wanted.must)}
    return params


def _lay_ways(sweeps: Sweeps, name: str, mates: Mates, told: Sequence[Said]) -> list[int]:
    """Lay the ways in of all parts of which the same is said, and both together as the relation of this name."""
    telling = [said for said in told if not said.is_same]
    own = ["own_base", "own_bolts", *(f"said_{one.at}" for one in telling)]
    con, create = sweeps.con, sweeps.shelf.create
    rows = con.execute(f"SELECT DISTINCT {', '.join(own)} FROM {name}_met").fetchall()
    laid: list[tuple[Any, ...]] = []
    through: list[int] = []
    for row in rows:
        for way in mates.ways_in(_met(mates, told, dict(zip(own, row, strict=True)))):
            first = mates.first(way.classes)
            ways = mates.number(way.classes)
            laid.append((*row, way.taken, way.sure, len(through), ways, first["cents"], first["adapter_id"]))
            through.append(way.classes)
    types = dict.fromkeys(own, "INTEGER") | WAY
    listed = ", ".join(f"unnest($c{at}::{kind}[]) AS {one}" for at, (one, kind) in enumerate(types.items()))
    cells = {f"c{at}": [row[at] for row in laid] for at, _ in enumerate(types)}
    con.execute(f"{create} TABLE {name}_ways AS SELECT {listed}", cells)
    con.execute(
        f"{create} VIEW {name} AS SELECT * EXCLUDE ({', '.join([*own, 'money', 'way_cents'])}), "
        f"money + way_cents AS cents FROM {name}_met JOIN {name}_ways USING ({', '.join(own)})"
    )
    return through


WAY = {
    "taken": "INTEGER",
    "sure": "BOOLEAN",
    "through": "INTEGER",
    "ways": "BIGINT",
    "way_cents": "BIGINT",
    "adapter_id": "VARCHAR",
}
"""What a way in is told by, and the database's type of each."""


def _met(mates: Mates, told: Sequence[Said], said: dict[str, int]) -> Met:
    """The mouths that a part meets, by the rules that ask it alone and by the outcome of each panel."""
    outcomes: dict[bool, list[tuple[int, int]]] = {False: [mates.firmly], True: [mates.bolted]}
    for one in told:
        outcomes[one.lifted].append(one.outcomes[0 if one.is_same else said[f"said_{one.at}"]])
    own = (said["own_base"], said["own_bolts"])
    met = []
    for code, some in zip(own, (outcomes[False], outcomes[True]), strict=True):
        can, sure = (reduce(and_, each) for each in zip(*some, strict=True))
        met += [0 if code == NO else can, 0 if code < FITS else sure]
    return Met(*met)
