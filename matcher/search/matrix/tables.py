"""What is said of a share's sets of figures, as tables of numbers: a pair of part and spot only looks it up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from matcher.kernel.columns import Columns, word_code
from matcher.kernel.distinct import distinct
from matcher.kernel.evaluate import Evaluation
from matcher.search.fits.screens import best_rise
from matcher.search.matrix.kinds import Asking, Sheet
from matcher.search.matrix.spots import Spots
from matcher.search.matrix.telling import Telling
from matcher.search.matrix.verdicts import DOUBT, FREE, NO_RULE, Numbers, Said, said_of, worst_along
from matcher.settings import Settings

CELLS_AT_ONCE = 1_000_000
"""So many sets of figures meet at once, or screens at a height each: some tens of megabytes."""


@dataclass(frozen=True)
class Table:
    """What a sheet says: a row for each set of a spot's figures, a column for each set of a part's."""

    is_lifted: bool
    first: Numbers
    """The first rule that says no, or what the worst says."""
    key: Numbers
    told: Numbers
    """The number of what is told of the worst; of what is refused only where every pair is told."""


@dataclass(frozen=True)
class Tables:
    """All sheets of a share, and the parts that they are asked of."""

    every: Sequence[Table]
    part_no: Numbers
    sets: Sequence[Numbers]
    """Of each sheet: which set of figures each part has. The parts stand in the order of their sets of the gate."""

    @cached_property
    def begins(self) -> Numbers:
        """Where each set of the gate begins among the parts, and where the last one ends."""
        return np.asarray(np.searchsorted(self.sets[0], np.arange(self.every[0].first.shape[1] + 1)))

    @cached_property
    def many(self) -> Numbers:
        """How many parts have each set of the gate."""
        return np.diff(self.begins)

    def of_sets(self, wanted: Numbers) -> Numbers:
        """The parts whose sets of the gate are wanted (a yes or no for each)."""
        begins, many = self.begins[:-1][wanted], self.many[wanted]
        after = np.cumsum(many) - many
        return np.asarray(np.arange(many.sum()) + np.repeat(begins - after, many))


@dataclass(frozen=True)
class Filling:
    """How the tables of a share are filled."""

    asking: Asking
    spots: Spots
    telling: Telling
    settings: Settings
    every: bool

    def table(self, at: int, parts: Columns, count: int) -> Table:
        """Ask a sheet of all sets of parts, `count` of them, against all sets of spots."""
        sheet, given = self.asking.sheets[at], self.spots.sets[at]
        shape = (len(given.first), count)
        table = Table(
            sheet.is_lifted, np.full(shape, FREE, np.int8), np.full(shape, NO_RULE), np.zeros(shape, np.int32)
        )
        hung = at == len(self.asking.sheets) - 1 and bool(self.asking.things)
        for spot, some, said in self._screens(sheet, parts, count) if hung else self._sets(sheet, at, parts, count):
            kept = np.ones(said.key.shape, np.bool_) if self.every else said.first >= DOUBT
            table.first[spot, some], table.key[spot, some] = said.first, said.key
            told = np.zeros(said.key.shape, np.int32)
            told[kept] = self.telling.numbers(*(part[kept] for part in said[1:]))
            table.told[spot, some] = told
        return table

    def _sets(self, sheet: Sheet, at: int, parts: Columns, count: int) -> Iterator[tuple[slice, slice, Said]]:
        there = self.spots.given(at).down()
        spots = len(self.spots.sets[at].first)
        step = max(1, CELLS_AT_ONCE // max(spots, 1))
        for first in range(0, count, step):
            some = slice(first, min(first + step, count))
            asked = Evaluation(there | _columns(parts, sheet, some).across(), self.settings)
            yield slice(None), some, said_of(sheet.rules, self.asking.rules, asked, (spots, some.stop - first))

    def _screens(self, sheet: Sheet, parts: Columns, count: int) -> Iterator[tuple[int, Numbers, Said]]:
        """The worst that is said about any thing, where a floating screen hangs as well as it can."""
        screen = parts["part.screen"]
        floats = np.broadcast_to(~np.asarray(screen.known) | (screen.values == word_code("floating")), count)
        hung = np.flatnonzero(floats)
        for spot, things in enumerate(self.spots.things):
            if things is None:
                continue
            many = len(things["keep.y_mm"].values)
            step = max(1, CELLS_AT_ONCE // (many * (many * many + 2)))
            for first in range(0, len(hung), step):
                some = hung[first : first + step]
                mine = _columns(parts, sheet, some)
                rise = best_rise(mine, things, self.settings)
                asked = Evaluation(mine.down() | things.across() | {"rise.mm": rise}, self.settings)
                said = said_of(sheet.rules, self.asking.rules, asked, (len(some), many))
                yield spot, some, worst_along(said, 1)


def _columns(parts: Columns, sheet: Sheet, some: slice | Numbers) -> Columns:
    return Columns({str(one): parts[one] for one in sheet.part}).take(some)


def first_rows(numbers: Numbers) -> Numbers:
    """A row of each set, by the numbers of the sets."""
    return distinct([numbers], len(numbers)).first
