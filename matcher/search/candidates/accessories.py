"""Accessories that give what the customer must have and a head unit lacks by itself.

They hang on the head unit as a cable does on its amplifier. A set of them is smallest where none could
be left out; at most two go with one head unit. How exactly k best are found is told in `security`.
An accessory gives what it is known to give; what it needs comes from the head unit alone. Those that make
a line level are told in `line_aids`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.columns import Columns, column_of
from matcher.kernel.distinct import Numbers
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.accessory import ACCESSORY
from matcher.rules.rule import FITS, NO, rules_of
from matcher.search.candidates.beside import Alternative
from matcher.search.candidates.best_few import Entry, undominated
from matcher.search.candidates.common import Filled, microamps
from matcher.search.candidates.controls import GIVES, KIND, placed
from matcher.search.candidates.goods import goods_of, of_kind
from matcher.search.candidates.head_units import heads_lacking
from matcher.search.candidates.security import by_routes, sets_of, ways_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.links import CONVERTER, DRIVER
from matcher.search.feeds.parts import Candidate, Cost, LineAid, Signature
from matcher.search.fits.looks import Look
from matcher.search.fits.mounted import Tally, cell
from matcher.search.fits.place import BOARD_STEP
from matcher.search.fits.refusing import refused_or_not
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring
from matcher.settings import Settings

SLOT = "accessory"
MOST = 2
"""How many accessories may stand in for features of one head unit."""

Features = tuple[str, ...]
Lacking = tuple[Features, Features]
"""Of a head unit: the features of it that matter here, and those that it lacks."""


class Accessory(NamedTuple):
    """An accessory of the catalog."""

    part_id: str
    cost: Cost
    kind: str | None
    gives: Features | None
    needs: Features | None
    standby_ma: Decimal | None

    @property
    def needed(self) -> Features | None:
        """The features that it needs of a head unit; None: not known."""
        return needed_of(self.kind, self.needs)


def equipped(catalog: Catalog, question: JobQuestion, scoring: Scoring, matter: Features, look: Look) -> Filled:
    """Every head unit that lacks a feature, with each smallest set of accessories that gives what is missing.

    They are counted with their sets, by those of their features that matter; `matter` names those that do anyhow.
    """
    must = sorted(set(question.job.limits.must or ()))
    if question.dash_id is None or not must:
        return Filled([], {})
    spots = placed(catalog, question) if GIVES in must else {}
    every = giving(catalog, must)
    rows = [row for row in every if row.kind != KIND or row.part_id in spots]
    if not rows:
        return Filled([], {})
    given = {feature for row in rows for feature in row.gives or ()}
    needed = {feature for row in rows for feature in row.needs or ()}
    lacking = heads_lacking(catalog, question, scoring, tuple(sorted({*needed, *must, *matter})), look)
    tallies: dict[Lacking, list[Tally]] = {}
    for (features,), tally in lacking.tallies.items():
        key = _lacking(features, needed, must)
        if given >= set(key[1]):
            tallies.setdefault(key, []).append(tally)
    heads: dict[Lacking, list[Candidate]] = {key: [] for key in tallies}
    for one in lacking.candidates:
        heads.get(_lacking(one.features or (), needed, must), []).append(one)
    kin = {key: (heads[key], some) for key, some in tallies.items()}
    return _equipped(scoring, look.k, kin, rows, spots)


def _lacking(features: Iterable[str], needed: set[str], must: Sequence[str]) -> Lacking:
    has = frozenset(features)
    return tuple(sorted(has & needed)), tuple(sorted(set(must) - has))


def _equipped(
    scoring: Scoring,
    k: int,
    heads: dict[Lacking, tuple[list[Candidate], list[Tally]]],
    rows: list[Accessory],
    spots: Mapping[str, tuple[str, int]],
) -> Filled:
    codes = needs_codes(list({has for has, _ in heads}), list({row.needed for row in rows}), scoring.settings)
    made: list[Candidate] = []
    counted: dict[Any, Tally] = {}
    for (has, missing), (group, tallies) in heads.items():
        useful = [
            at_spot(accessory(row, code, missing, scoring), spots.get(row.part_id))
            for row in rows
            if not set(row.gives or ()).isdisjoint(missing) and (code := codes[has, row.needed]) != NO
        ]
        sets = sets_of(useful, frozenset(missing), k, MOST)
        made += _together(group, sets, k)
        if sets:
            count = {given: len(some) for given, some in by_routes(useful).items()}
            ways = ways_of(count, frozenset(missing), MOST) * sum(one.ways for one in tallies)
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


def giving(catalog: Catalog, must: Sequence[str]) -> list[Accessory]:
    """Every accessory that gives something of what is asked for, by part; a level control gives a level of bass."""
    parts = catalog.parts("accessory")
    some = np.array([not set(gives or ()).isdisjoint(must) for gives in parts.lists("gives")], np.bool_)
    does = some[parts.cells["gives"].values]
    if GIVES in must:
        does = does | of_kind(parts, KIND)
    return [
        one._replace(gives=tuple({*(one.gives or ()), GIVES})) if one.kind == KIND else one
        for one in accessories_of(catalog, np.flatnonzero(does))
    ]


def accessories_of(catalog: Catalog, rows: Numbers) -> list[Accessory]:
    """Some accessories of the catalog, by their rows."""
    parts, goods = catalog.parts("accessory"), goods_of(catalog, "accessory")
    return [
        Accessory(
            str(parts.part_ids[row]),
            goods.cost(row),
            cell(parts.cells["kind"], row),
            parts.listed("gives", row),
            parts.listed("needs", row),
            cell(parts.cells["standby_ma"], row),
        )
        for row in rows.tolist()
    ]


def needs_codes(
    owned: Sequence[Features | None], needed: Sequence[Features | None], settings: Settings
) -> dict[tuple[Features | None, Features | None], int]:
    """What the rules say of what accessories need, behind head units with some features. None: not known."""
    if not owned or not needed:
        return {}
    codes = worst(rules_of(ACCESSORY), Evaluation(needs_columns(owned, needed), settings))
    told = refused_or_not(np.broadcast_to(codes, (len(owned), len(needed)))).tolist()
    return {(has, some): told[row][at] for row, has in enumerate(owned) for at, some in enumerate(needed)}


OUTPUTS = ("line_output", "speaker_output")
"""What an accessory that makes a line level needs beside features: the rules of the line level speak of it."""
LINE_KINDS = (DRIVER, CONVERTER)


def needed_of(kind: str | None, needs: Iterable[str] | None) -> Features | None:
    """The features that an accessory of a kind needs of a head unit; None: not known."""
    if needs is None:
        return None
    return tuple(sorted(set(needs) - set(OUTPUTS if kind in LINE_KINDS else ())))


def needs_columns(owned: Sequence[Features | None], needed: Sequence[Features | None]) -> Columns:
    """How many features are needed, and how many of them a head unit has, shape (head units, needs)."""
    count = [None if some is None else len(some) for some in needed]
    met = [_met(has, some) for has in owned for some in needed]
    grid = Columns({"accessory.met": column_of(met)}).shaped(lambda array: array.reshape(len(owned), len(needed)))
    return grid | Columns({"accessory.count": column_of(count)}).across()


def _met(has: Features | None, needed: Features | None) -> int | None:
    if not needed:
        return None if needed is None else 0
    return None if has is None else len(set(has) & set(needed))


def accessory(
    row: Accessory, code: int, missing: Features, scoring: Scoring, signature: LineAid | None = None
) -> Candidate:
    """An accessory that comes along with a head unit."""
    unsure, standby_ma = code != FITS, row.standby_ma
    return Candidate(
        slot=SLOT,
        part_id=row.part_id,
        unsure=unsure,
        cost=row.cost,
        drain_ua=microamps(standby_ma),
        unsure_drain=standby_ma is None,
        points=(("price", scoring.price(row.cost.cents)), ("known", scoring.unknown(unsure or standby_ma is None))),
        signature=signature,
        features=frozenset(row.gives or ()),
        covers=tuple(feature for feature in missing if feature in (row.gives or ())),
    )
