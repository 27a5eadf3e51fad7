"""Accessories that give what the customer must have and a head unit lacks by itself.

They hang on the head unit as a cable does on its amplifier. A set of them is smallest where none could
be left out; at most two go with one head unit. How exactly k best are found is told in `security`.
An accessory gives what it is known to give; what it needs comes from the head unit alone. Those that make
a line level are told in `line_aids`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import prod
from typing import Any

from matcher.rules.accessory import ACCESSORY
from matcher.rules.rule import FITS, NO
from matcher.search.candidates.beside import Alternative
from matcher.search.candidates.best_few import Entry, undominated
from matcher.search.candidates.common import Filled, cost_of_one, microamps
from matcher.search.candidates.controls import GIVES, KIND, placed
from matcher.search.candidates.head_units import heads_lacking
from matcher.search.candidates.security import best_sets, by_routes, smallest_covers
from matcher.search.feeds.links import CONVERTER, DRIVER
from matcher.search.feeds.parts import Candidate, LineAid, Signature
from matcher.search.fits.looks import Look
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import BOARD_STEP
from matcher.search.fits.relations import measured, worst_code
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring
from matcher.settings import Settings
from matcher.store.connection import Connection

SLOT = "accessory"
MOST = 2
"""How many accessories may stand in for features of one head unit."""

Features = tuple[str, ...]
Lacking = tuple[Features, Features]
"""Of a head unit: the features of it that matter here, and those that it lacks."""
COLUMNS = "part_id, price, labour_h, gives, needs, standby_ma"


def equipped(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, matter: Features, look: Look) -> Filled:
    """Every head unit that lacks a feature, with each smallest set of accessories that gives what is missing.

    They are counted with their sets, by those of their features that matter; `matter` names those that do anyhow.
    """
    must = sorted(set(question.job.limits.must or ()))
    if question.dash_id is None or not must:
        return Filled([], {})
    spots = placed(sweeps, question) if GIVES in must else {}
    every = sweeps.once(("accessories", tuple(must)), lambda: sweep_accessories(sweeps.con, must))
    rows = [row for row in every if row[6] != KIND or row[0] in spots]
    if not rows:
        return Filled([], {})
    given = {feature for row in rows for feature in row[3]}
    needed = {feature for row in rows for feature in row[4] or ()}
    lacking = heads_lacking(sweeps, question, scoring, tuple(sorted({*needed, *must, *matter})), look)
    tallies: dict[Lacking, list[Tally]] = {}
    for (features,), tally in lacking.tallies.items():
        key = _lacking(features, needed, must)
        if given >= set(key[1]):
            tallies.setdefault(key, []).append(tally)
    heads: dict[Lacking, list[Candidate]] = {key: [] for key in tallies}
    for one in lacking.candidates:
        heads.get(_lacking(one.features or (), needed, must), []).append(one)
    kin = {key: (heads[key], some) for key, some in tallies.items()}
    return _equipped(sweeps, scoring, look.k, must, kin, rows, spots)


def _lacking(features: Iterable[str], needed: set[str], must: Sequence[str]) -> Lacking:
    has = frozenset(features)
    return tuple(sorted(has & needed)), tuple(sorted(set(must) - has))


def _equipped(
    sweeps: Sweeps,
    scoring: Scoring,
    k: int,
    must: list[str],
    heads: dict[Lacking, tuple[list[Candidate], list[Tally]]],
    rows: list[tuple[Any, ...]],
    spots: Mapping[str, tuple[str, int]],
) -> Filled:
    owned = sorted({has for has, _ in heads})
    names = [row[0] for row in rows]
    codes: dict[tuple[Features | None, str], int] = sweeps.once(
        ("accessory codes", tuple(names), tuple(owned)), lambda: needs_codes(sweeps.con, names, owned, sweeps.settings)
    )
    made: list[Candidate] = []
    counted: dict[Any, Tally] = {}
    for (has, missing), (group, tallies) in heads.items():
        asked = [(row, codes[has, row[0]]) for row in rows if (has, row[0]) in codes]
        useful = [
            at_spot(accessory(row, code, missing, scoring), spots.get(row[0]))
            for row, code in asked
            if not set(row[3]).isdisjoint(missing)
        ]
        sets = sets_of(useful, missing, k)
        made += _together(group, sets, k)
        if sets:
            ways = ways_of(useful, missing) * sum(one.ways for one in tallies)
            counted[has, missing] = Tally(ways, sum(one.parts for one in tallies), sum(one.sure for one in tallies))
    return Filled(made, counted)


def at_spot(one: Candidate, spot: tuple[str, int] | None) -> Candidate:
    """A level control at the spot that it goes to, with what the rules say of it there; none: it goes behind."""
    if spot is None:
        return one
    opening_id, code = spot
    return replace(one, opening_id=opening_id, step=BOARD_STEP, unsure=one.unsure or code != FITS)


def _together(heads: Sequence[Candidate], sets: list[Alternative], k: int) -> Iterator[Candidate]:
    """Each head unit with each set; those that k others of their signature always beat with the first set only."""
    alike: dict[Signature, list[Candidate]] = {}
    for one in heads:
        alike.setdefault(one.signature, []).append(one)
    for group in alike.values():
        best = {one.name for one in leading(group, k)}
        for one in group:
            yield from (replace(one, along=some) for some in (sets if one.name in best else sets[:1]))


def _entry(one: Candidate) -> Entry:
    return Entry(one.total_points, one.cents, one.uses, one.name, one)


def leading(some: Sequence[Candidate], k: int) -> list[Candidate]:
    """Of parts that are one to whatever is asked those that may stand in one of the k best packages, sure or not."""
    sure = [one for one in some if not one.is_open]
    kept = {entry.name for group in (some, sure) for entry in undominated(map(_entry, group), k)}
    return [one for one in some if one.name in kept]


def sets_of(useful: Sequence[Candidate], missing: Features, k: int) -> list[Alternative]:
    """The smallest sets that may stand in one of the k best packages; what is sure is kept apart."""
    wanted, sure = frozenset(missing), [one for one in useful if not one.is_open]
    return list(dict.fromkeys((*best_sets(useful, wanted, k, MOST), *best_sets(sure, wanted, k, MOST))))


def ways_of(useful: Sequence[Candidate], missing: Features) -> int:
    """How many smallest sets there are in all."""
    groups = by_routes(useful)
    covers = smallest_covers(list(groups), frozenset(missing), MOST)
    return sum(prod(len(groups[given]) for given in cover) for cover in covers)


def sweep_accessories(con: Connection, must: list[str]) -> list[tuple[Any, ...]]:
    """Every accessory that gives something of what is asked for, by part; a level control gives a level of bass."""
    gives = (
        f"SELECT * REPLACE (CASE WHEN kind = '{KIND}' THEN list_distinct(list_append(coalesce(gives, []), '{GIVES}')) "
        "ELSE gives END AS gives) FROM accessory"
    )
    return con.execute(
        f"SELECT {COLUMNS}, kind FROM ({gives}) WHERE list_has_any(gives, ?::VARCHAR[]) ORDER BY part_id", [must]
    ).fetchall()


def needs_codes(
    con: Connection, names: Sequence[str], owned: Sequence[Features | None], settings: Settings
) -> dict[tuple[Features | None, str], int]:
    """What the rules say of some accessories behind head units with these features, where they do not say no.

    None: features that are not known.
    """
    if not owned:
        return {}
    statement = (
        "WITH part AS (SELECT unnest($1::VARCHAR[][]) AS features, "
        "generate_subscripts($1::VARCHAR[][], 1) AS position), "
        "other AS (SELECT part_id, kind, needs FROM accessory WHERE part_id IN (SELECT unnest($2::VARCHAR[]))), "
        f"asked AS (SELECT part.position, other.part_id, {measured(ACCESSORY, settings)} "
        f"FROM part, other, LATERAL ({needs_sql()}) AS accessory), "
        f"coded AS (SELECT *, {worst_code(ACCESSORY, lifted=False)} AS code FROM asked) "
        f"SELECT position, part_id, code FROM coded WHERE code != {NO}"
    )
    rows = con.execute(statement, [[None if has is None else list(has) for has in owned], list(names)]).fetchall()
    return {(owned[position - 1], part_id): code for position, part_id, code in rows}


OUTPUTS = ("line_output", "speaker_output")
"""What an accessory that makes a line level needs beside features: the rules of the line level speak of it."""
LINE_KINDS = (DRIVER, CONVERTER)


def needs_sql() -> str:
    """SQL of what an accessory ``other`` needs of the head unit ``part``, and how much of it is there."""
    kinds, outputs = (", ".join(f"'{word}'" for word in words) for words in (LINE_KINDS, OUTPUTS))
    needs = (
        f"CASE WHEN other.kind IN ({kinds}) THEN list_filter(other.needs, lambda word: word NOT IN ({outputs})) "
        "ELSE other.needs END"
    )
    return (
        "SELECT len(list_distinct(needs)) AS count, CASE WHEN len(needs) = 0 THEN 0 WHEN needs IS NOT NULL "
        f"THEN len(list_intersect(part.features, needs)) END AS met FROM (SELECT {needs} AS needs)"
    )


def accessory(
    row: tuple[Any, ...], code: int, missing: Features, scoring: Scoring, signature: LineAid | None = None
) -> Candidate:
    """An accessory, as `COLUMNS` read it, that comes along with a head unit."""
    part_id, price, labour_h, gives, _, standby_ma = row[:6]
    cost = cost_of_one(price, labour_h, scoring)
    unsure = code != FITS
    return Candidate(
        slot=SLOT,
        part_id=part_id,
        unsure=unsure,
        cost=cost,
        drain_ua=microamps(standby_ma),
        unsure_drain=standby_ma is None,
        points=(("price", scoring.price(cost.cents)), ("known", scoring.unknown(unsure or standby_ma is None))),
        signature=signature,
        features=frozenset(gives or ()),
        covers=tuple(feature for feature in missing if feature in (gives or ())),
    )
