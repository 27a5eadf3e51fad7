"""Accessories that add features which the job requires and a head unit lacks.

They depend on the head unit, as a cable depends on its amplifier. A set is minimal: none of its accessories can be left
out, and at most two go with one head unit. `security` explains how exactly the k best sets are found. An accessory
provides only what is known of it, and what it needs has to come from the head unit. Line-level accessories are in
`line_aids`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from matcher.kernel.columns import Columns, column_of
from matcher.kernel.distinct import Numbers
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.accessory import ACCESSORY
from matcher.rules.rule import NO, rules_of
from matcher.rules.terms import FigureTerm
from matcher.rules.wanted import FEATURES
from matcher.search.candidates.controls import GIVES, KIND, placed
from matcher.search.candidates.goods import Goods, goods_of, leading_rows
from matcher.search.candidates.head_units import Features, HeadGroup, HeadsAt, heads_at
from matcher.search.candidates.security import Routes, sets_of, ways_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts, cell
from matcher.search.feeds.links import CONVERTER, DRIVER
from matcher.search.feeds.parts import Candidate
from matcher.search.fits.mounted import Tally
from matcher.search.fits.place import BOARD_STEP, CandidatePass
from matcher.search.fits.refusing import refused_or_not
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring
from matcher.settings import Settings

SLOT = "accessory"
MOST = 2
"""Largest number of feature accessories per head unit."""
TOLD_APART = ("kind", "gives", "needs")
Given = tuple[Features, Features | None]
"""Features that an accessory provides and requires; None: unknown."""
Lacking = tuple[Features, Features]
"""Relevant features of a head unit, and those that it lacks."""


@dataclass
class Accessories:
    """The accessories of a catalog."""

    parts: Parts
    goods: Goods

    @cached_property
    def _given(self) -> tuple[list[Given], Numbers]:
        """Distinct sets of given and needed features, and the index of each accessory among them."""
        first, number = self.parts.sets([FigureTerm("part", name) for name in TOLD_APART])
        return [(self._gives(row), self._needs(row)) for row in first.tolist()], number

    def _gives(self, row: int) -> Features:
        """The features known to be provided; a level control provides a bass level."""
        given = self.parts.listed("gives", row) or ()
        return tuple(dict.fromkeys((*given, GIVES))) if self.kind(row) == KIND else given

    def _needs(self, row: int) -> Features | None:
        return needed_of(self.kind(row), self.parts.listed("needs", row))

    def kind(self, row: int) -> str | None:
        """The kind of an accessory."""
        found: str | None = cell(self.parts.cells["kind"], row)
        return found

    def given(self, row: int) -> Given:
        """Features that an accessory gives and needs."""
        every, number = self._given
        return every[int(number[row])]

    def giving(self, must: Iterable[str]) -> Numbers:
        """Accessories that provide at least one of the wanted features."""
        every, number = self._given
        return np.flatnonzero(np.array([not set(gives).isdisjoint(must) for gives, _ in every], np.bool_)[number])

    def candidate(self, row: int, code: int, scoring: Scoring, missing: Features = (), **more: Any) -> Candidate:
        """Return an accessory of a head unit with its verdict code; the head unit lacks `missing`."""
        gives = self.given(row)[0]
        lost = scoring.unknown(min(code, int(self.goods.drain_code[row])))
        return self.goods.candidate(
            row,
            SLOT,
            code=code,
            points=(("price", scoring.price(self.goods.cost(row).cents)), ("known", lost)),
            features=frozenset(gives),
            covers=tuple(feature for feature in missing if feature in gives),
            **more,
        )


def accessories_of(catalog: Catalog) -> Accessories:
    """The accessories of a catalog."""
    found: Accessories = catalog.once(
        "accessories", lambda: Accessories(catalog.parts("accessory"), goods_of(catalog, "accessory"))
    )
    return found


def equipped(
    catalog: Catalog, question: JobQuestion, scoring: Scoring, matter: Features, look: CandidatePass
) -> tuple[list[HeadGroup], list[Tally]]:
    """Return every head unit that lacks a feature, with each minimal set of accessories that adds what is missing.

    Counts are by relevant features; `matter` names those that are always relevant.
    """
    must = sorted(set(question.job.limits.must or ()))
    if question.dash_id is None or not must:
        return [], []
    every, spots = accessories_of(catalog), placed(catalog, question) if GIVES in must else {}
    rows = [row for row in every.giving(must).tolist() if every.kind(row) != KIND or row in spots]
    needed = {feature for row in rows for feature in every.given(row)[1] or ()}
    lacking = heads_at(catalog, question, scoring, tuple(sorted({*needed, *must, *matter})), look, lacking=True)
    if not rows or lacking is None:
        return [], []
    leading = {*leading_rows(catalog, "accessory", TOLD_APART, look.k).tolist(), *spots}
    few = [row for row in rows if row in leading]
    return _equipped(lacking, every, Counter(map(every.given, rows)), few, needed, must, spots)


def _equipped(
    lacking: HeadsAt,
    every: Accessories,
    count: Counter[Given],
    few: Sequence[int],
    needed: set[str],
    must: Sequence[str],
    spots: dict[int, tuple[str, int]],
) -> tuple[list[HeadGroup], list[Tally]]:
    heads, scoring = lacking.group(), lacking.scoring
    of_list = [None if some is None else _lacking(some, needed, must) for some in heads.lists]
    more: dict[Lacking, list[Tally]] = {}
    for features, tally in lacking.tallies.items():
        more.setdefault(_lacking(features or (), needed, must), []).append(tally)
    codes = needs_codes([has for has, _ in more], list({needs for _, needs in count}), scoring.settings)
    groups, tallies = [], []
    for (has, missing), some in more.items():
        able = {given for given in count if not set(missing).isdisjoint(given[0]) and codes[has, given[1]] != NO}
        useful = [
            at_spot(every.candidate(row, codes[has, every.given(row)[1]], scoring, missing), spots.get(row))
            for row in few
            if every.given(row) in able
        ]
        sets = sets_of(useful, frozenset(missing), lacking.look.k, FEATURES, MOST)
        if sets:
            own = np.array([each == (has, missing) for each in of_list], np.bool_)[heads.features]
            groups.append(heads.some(own)._replace(sets=sets))
            by_routes = Counter[Routes]()
            for given in able:
                by_routes[frozenset(missing) & set(given[0])] += count[given]
            ways = ways_of(by_routes, frozenset(missing), FEATURES, MOST) * sum(one.ways for one in some)
            tallies.append(Tally(ways, sum(one.parts for one in some), sum(one.sure for one in some)))
    return groups, tallies


def _lacking(features: Iterable[str], needed: set[str], must: Sequence[str]) -> Lacking:
    has = frozenset(features)
    return tuple(sorted(has & needed)), tuple(sorted(set(must) - has))


def at_spot(one: Candidate, spot: tuple[str, int] | None) -> Candidate:
    """A level control at its spot, with its verdict there; without a spot it is out of sight."""
    if spot is None:
        return one
    opening_id, code = spot
    return replace(one, opening_id=opening_id, step=BOARD_STEP, code=min(one.code, code))


def needs_codes(
    owned: Sequence[Features | None], needed: Sequence[Features | None], settings: Settings
) -> dict[tuple[Features | None, Features | None], int]:
    """Verdict codes for the needs of accessories with head units of some features; None: unknown."""
    if not owned or not needed:
        return {}
    codes = worst(rules_of(ACCESSORY), Evaluation(needs_columns(owned, needed), settings))
    more = refused_or_not(np.broadcast_to(codes, (len(owned), len(needed)))).tolist()
    return {(has, some): more[row][at] for row, has in enumerate(owned) for at, some in enumerate(needed)}


OUTPUTS = ("line_output", "speaker_output")
"""Needs of a line-level accessory other than features: the line-level rules cover those."""
LINE_KINDS = (DRIVER, CONVERTER)


def needed_of(kind: str | None, needs: Iterable[str] | None) -> Features | None:
    """Features that a kind of accessory requires of a head unit; None: unknown."""
    if needs is None:
        return None
    return tuple(sorted(set(needs) - set(OUTPUTS if kind in LINE_KINDS else ())))


def needs_columns(owned: Sequence[Features | None], needed: Sequence[Features | None]) -> Columns:
    """Number of required features, and of those present, shape (head units, needs)."""
    count = [None if some is None else len(some) for some in needed]
    met = [_met(has, some) for has in owned for some in needed]
    grid = Columns({"accessory.met": column_of(met)}).shaped(lambda array: array.reshape(len(owned), len(needed)))
    return grid | Columns({"accessory.count": column_of(count)}).across()


def _met(has: Features | None, needed: Features | None) -> int | None:
    if not needed:
        return None if needed is None else 0
    return None if has is None else len(set(has) & set(needed))
