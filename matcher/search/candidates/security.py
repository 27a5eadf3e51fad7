"""Layers of security: every smallest set that covers the wanted routes together.

A set is smallest where none of its layers could be left out. How exactly k best are found: layers
that cover the same of the wanted routes stand in for each other, and never both in one set; so of
these only what k others always beat is left out, and then of the sets that are made of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import prod

import numpy as np
from numpy.typing import NDArray

from matcher.rules.terms import Figure
from matcher.search.candidates.beside import Alternative, Beside
from matcher.search.candidates.best_few import Entry, add_uses, undominated
from matcher.search.candidates.common import microamps, money_of_one
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Numbers
from matcher.search.feeds.parts import NO_USE, Candidate, Cost
from matcher.search.fits.mounted import cell
from matcher.search.fits.sweep import Sweeps
from matcher.search.fits.undominated import Merits, dominated_by
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring

Routes = frozenset[str]


def layers(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, k: int) -> Beside:
    """The sets of layers for a job. Where it names no route any one layer will do."""
    every = Layers(sweeps.catalog, frozenset(question.routes), scoring)
    if not question.routes:
        return Beside("security", [(every.candidate(row),) for row in range(len(every))], len(every))
    # What is sure is kept apart, so that what must be measured cannot crowd it out.
    useful = [every.candidate(row) for row in every.leading(k).tolist()]
    sure = [one for one in useful if not one.is_open]
    found = dict.fromkeys((*best_sets(useful, every.wanted, k), *best_sets(sure, every.wanted, k)))
    return Beside("security", list(found), every.ways())


class Layers:
    """The layers of the catalog as far as they go for what is wanted: where that is not known, one may cover it all."""

    def __init__(self, catalog: Catalog, wanted: Routes, scoring: Scoring) -> None:
        self.wanted, self._scoring, self._parts = wanted, scoring, catalog.parts("security")
        self._covers = [wanted if some is None else wanted & set(some) for some in self._parts.lists["covers"]]
        self._dark = np.array([some is None and bool(wanted) for some in self._parts.lists["covers"]], np.bool_)
        self._list = self._parts.cells["covers"].values
        self._goods, self._work = money_of_one(self._parts, catalog.settings)

    def __len__(self) -> int:
        return len(self._parts)

    @property
    def _open(self) -> NDArray[np.bool_]:
        found: NDArray[np.bool_] = self._dark[self._list] | ~self._parts.cells["standby_ma"].known
        return found

    def _groups(self) -> tuple[list[Routes], Numbers]:
        """What layers cover of what is wanted, and by layer which of it."""
        numbers: dict[Routes, int] = {}
        at = [numbers.setdefault(some, len(numbers)) for some in self._covers]
        return list(numbers), np.array(at, np.int64)[self._list]

    def leading(self, k: int) -> Numbers:
        """The layers that cover something, but for those that k others which cover the same always beat."""
        covers, group = self._groups()
        useful = np.array([bool(some) for some in covers], np.bool_)
        rows = np.flatnonzero(useful[group])
        cents, standby = self._goods + self._work, self._parts.cells["standby_ma"]
        points = self._efforts() + self._scoring.prices(cents) + np.where(self._open, self._scoring.unknown(True), 0)
        merits = Merits(
            group=group[rows],
            part=rows,
            points=points[rows],
            cents=cents[rows],
            open=self._open[rows],
            name=rows,
            high=np.zeros(len(rows), np.int64),
            low=np.where(standby.known, standby.values, 0)[rows],
        )
        leading: Numbers = rows[dominated_by(merits, k) < k]
        return leading

    def _efforts(self) -> Numbers:
        """The points that each layer costs by what it asks of the owner."""
        sets = self._parts.sets([Figure("part", "effort")])
        effort = self._parts.columns["part.effort"]
        return np.array([self._scoring.effort(cell(effort, row)) for row in sets.first.tolist()], np.int64)[sets.number]

    def ways(self) -> int:
        """How many smallest sets there are in all."""
        covers, group = self._groups()
        count = dict(zip(covers, np.bincount(group, minlength=len(covers)).tolist(), strict=True))
        useful = [some for some in covers if some]
        return sum(prod(count[routes] for routes in cover) for cover in smallest_covers(useful, self.wanted))

    def candidate(self, row: int) -> Candidate:
        """A layer as a candidate."""
        scoring, unsure = self._scoring, bool(self._dark[self._list[row]])
        standby_ma = cell(self._parts.cells["standby_ma"], row)
        cost = Cost(1, 1, 0, int(self._goods[row]), int(self._work[row]))
        points = (
            ("original_look", scoring.effort(cell(self._parts.columns["part.effort"], row))),
            ("price", scoring.price(cost.cents)),
            ("known", scoring.unknown(unsure or standby_ma is None)),
        )
        return Candidate(
            slot="security",
            part_id=str(self._parts.part_ids[row]),
            unsure=unsure,
            cost=cost,
            drain_ua=microamps(standby_ma),
            unsure_drain=standby_ma is None,
            points=points,
            covers=tuple(sorted(self._covers[self._list[row]])),
        )


def best_sets(some: Sequence[Candidate], wanted: Routes, k: int, most: int | None = None) -> Iterator[Alternative]:
    """Of the smallest sets that cover all that is wanted those that may stand in one of the k best packages."""
    kept = {routes: undominated(map(_entry, group), k) for routes, group in by_routes(some).items()}
    for cover in smallest_covers(list(kept), wanted, most):
        made = [Entry(0, 0, NO_USE, (), ())]
        for routes in cover:
            made = undominated((_joined(one, other) for one in made for other in kept[routes]), k)
        yield from (entry.what for entry in made)


def smallest_covers(routes: Sequence[Routes], wanted: Routes, most: int | None = None) -> Iterator[tuple[Routes, ...]]:
    """Every set of these of which none could be left out, and which together hold all that is wanted.

    `most` is how many a set may hold; none: as many as it takes.

    >>> a, b, ab = frozenset("a"), frozenset("b"), frozenset("ab")
    >>> [len(cover) for cover in smallest_covers([a, b, ab], ab)]
    [1, 2]
    """
    for size in range(1, min(len(wanted), most or len(wanted)) + 1):
        for cover in combinations(routes, size):
            if frozenset().union(*cover) == wanted and not any(_spare(cover, one) for one in cover):
                yield cover


def _spare(cover: tuple[Routes, ...], one: Routes) -> bool:
    """Whether the others cover all that it covers."""
    return one <= frozenset().union(*(other for other in cover if other is not one))


def by_routes(some: Sequence[Candidate]) -> dict[Routes, list[Candidate]]:
    """Parts by what they cover of what is wanted."""
    groups: dict[Routes, list[Candidate]] = {}
    for one in some:
        groups.setdefault(frozenset(one.covers), []).append(one)
    return groups


def _entry(one: Candidate) -> Entry:
    return Entry(one.total_points, one.cents, one.uses, (str(one.part_id),), (one,))


def _joined(one: Entry, other: Entry) -> Entry:
    what = sorted((*one.what, *other.what), key=lambda part: part.name)
    return Entry(
        one.points + other.points,
        one.cents + other.cents,
        add_uses(one.uses, other.uses),
        tuple(str(part.part_id) for part in what),
        tuple(what),
    )
