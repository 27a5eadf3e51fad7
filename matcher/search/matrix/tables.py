"""Outcomes of a share's figure sets as tables of numbers, which each pair of part and spot looks up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce

import numpy as np

from matcher.kernel.alike import alike
from matcher.kernel.columns import Columns, word_code
from matcher.kernel.evaluate import Evaluation
from matcher.rules.rule import Rule
from matcher.search.fits.feasible import RuleGroup
from matcher.search.fits.screens import best_rise
from matcher.search.matrix.kinds import KindRules
from matcher.search.matrix.spots import GIVEN, Spots
from matcher.search.matrix.verdicts import (
    DOUBT,
    FREE,
    NumberedOutcomes,
    Numbers,
    RowVerdicts,
    no_verdicts,
    verdicts_of,
    worst_along,
    worst_of,
)
from matcher.settings import Settings

CELLS_AT_ONCE = 1_000_000
"""Number of screens tried at every height at once: some tens of megabytes."""


@dataclass(frozen=True)
class SheetVerdicts:
    """Outcomes of a sheet: one row per figure set of a spot, one column per figure set of a part."""

    is_lifted: bool
    first: Numbers
    """First rule that refuses, or the worst outcome."""
    numbers: Numbers
    """Number of the worst outcome, then its rank; of refused pairs only if every pair is reported."""


@dataclass(frozen=True)
class Tables:
    """All sheets of a share, and the parts in them."""

    every: Sequence[SheetVerdicts]
    part_no: Numbers
    sets: Sequence[Numbers]
    """Figure set of each part, by sheet. Parts are sorted by their sets of the gate."""

    @property
    def parts(self) -> int:
        """Number of parts."""
        return len(self.part_no)

    @cached_property
    def begins(self) -> Numbers:
        """Start of each set of the gate among the parts, and the end of the last one."""
        return np.asarray(np.searchsorted(self.sets[0], np.arange(self.every[0].first.shape[1] + 1)))

    @cached_property
    def many(self) -> Numbers:
        """Number of parts with each set of the gate."""
        return np.diff(self.begins)

    def of_sets(self, wanted: Numbers) -> Numbers:
        """Return the parts whose sets of the gate are selected by flags."""
        begins, many = self.begins[:-1][wanted], self.many[wanted]
        after = np.cumsum(many) - many
        return np.asarray(np.arange(many.sum()) + np.repeat(begins - after, many))


@dataclass(frozen=True)
class Filling:
    """Fills the tables of a share."""

    asking: KindRules
    spots: Spots
    outcomes: NumberedOutcomes
    settings: Settings
    every: bool

    def table(self, at: int, parts: Columns, count: int) -> SheetVerdicts:
        """Evaluate a sheet for all figure sets of parts, `count` of them, and of spots."""
        sheet = self.asking.sheets[at]
        shape = (len(self.spots.sets[at].first), count)
        if self.asking.is_hung(sheet):
            verdicts = no_verdicts(shape)
            for at_spot, some, one in self._screens(sheet, parts, count):
                for whole, each in zip(verdicts, one, strict=True):
                    whole[at_spot, some] = each
            numbers = self._numbers(RowVerdicts(*map(np.ravel, verdicts)))
            return SheetVerdicts(sheet.is_lifted, verdicts.first, numbers.reshape(shape))
        every = [self._of_rule(rule, at, parts, count) for rule in sheet.rules]
        first = np.full(shape, FREE, np.int8)
        for one, of_spot, of_part in every:
            refused = np.where(one.first < DOUBT, one.first, np.int8(FREE))
            np.minimum(first, refused[of_spot][:, of_part], out=first)
        numbers = np.zeros(first.size, np.int32)
        cells = np.flatnonzero(first.reshape(-1) == FREE) if not self.every else np.arange(first.size)
        spot, part = np.divmod(cells, count)
        verdicts = reduce(worst_of, (one.take((of_spot[spot], of_part[part])) for one, of_spot, of_part in every))
        numbers[cells] = self._numbers(verdicts)
        first.reshape(-1)[cells] = np.minimum(verdicts.first, first.reshape(-1)[cells])
        return SheetVerdicts(sheet.is_lifted, first, numbers.reshape(shape))

    def _numbers(self, verdicts: RowVerdicts) -> Numbers:
        """Outcomes of some cells, by number; of refused ones only if every pair is reported."""
        return np.where((verdicts.first < DOUBT) & (not self.every), np.int32(0), self.outcomes.numbers(verdicts))

    def _of_rule(self, rule: Rule, at: int, parts: Columns, count: int) -> tuple[RowVerdicts, Numbers, Numbers]:
        """Outcomes of a rule for each class that it distinguishes, and the class of each set of spots and parts."""
        there = self.spots.given(at)
        spots = alike([rule], GIVEN, Evaluation(there, self.settings), len(self.spots.sets[at].first))
        some = alike([rule], ["part"], Evaluation(parts, self.settings), count)
        columns = there.take(spots.first).down() | parts.take(some.first).across()
        shape = len(spots.first), len(some.first)
        verdicts = verdicts_of([rule], self.asking.rules, Evaluation(columns, self.settings), shape)
        return verdicts, spots.number, some.number

    def _screens(self, sheet: RuleGroup, parts: Columns, count: int) -> Iterator[tuple[int, Numbers, RowVerdicts]]:
        """Worst outcome for any thing, with a floating screen at its best height."""
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
                mine = Columns({str(one): parts[one] for one in self.asking.read_of_part(sheet)}).take(some)
                rise = best_rise(mine, things, self.settings)
                at_rise = Evaluation(mine.down() | things.across() | {"rise.mm": rise}, self.settings)
                verdicts = verdicts_of(sheet.rules, self.asking.rules, at_rise, (len(some), many))
                yield spot, some, worst_along(verdicts, 1)
