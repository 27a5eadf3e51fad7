"""Array operations on points, money and levels: group maxima, Pareto fronts, exact figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from matcher.kernel.columns import Column
from matcher.kernel.distinct import numbered
from matcher.search.exact.choices import IMPOSSIBLE, Ints

Flags: TypeAlias = npt.NDArray[np.bool_]

MICRO = 10**6


def group_max(values: Ints, group: Ints, count: int) -> Ints:
    """Return the maximum of each group, column by column; IMPOSSIBLE for an empty group."""
    out = np.full((count, values.shape[1]), IMPOSSIBLE, dtype=np.int64)
    if len(group):
        order = np.argsort(group, kind="stable")
        ordered = group[order]
        first = np.flatnonzero(np.r_[True, ordered[1:] != ordered[:-1]])
        out[ordered[first]] = np.maximum.reduceat(values[order], first, axis=0)
    return out


def group_min(values: Ints, group: Ints, count: int, nothing: int) -> Ints:
    """Return the minimum of each group, column by column; `nothing` for an empty group."""
    out = np.full((count, *values.shape[1:]), nothing, dtype=np.int64)
    np.minimum.at(out, group, values)
    return out


TRAVELS = 12
"""Number of spans into which travel limits are divided when rows are compared."""


def pareto_rows(values: Ints, merit: Ints, limit: Ints, group: Ints) -> Ints:
    """Return rows that some column of `values` ranks above every row of their group with as much merit and limit.

    For any non-decreasing function of the merit, capped at the limit and added to the values, the maximum of a group is
    among them. Limits are compared by spans, so more rows may remain than necessary.
    """
    keep = np.zeros(len(merit), dtype=np.bool_)
    if not len(merit):
        return np.flatnonzero(keep)
    different = numbered(limit)[0]
    ends = [span[-1] for span in np.array_split(different, min(TRAVELS, len(different)))]
    span_of = np.searchsorted(ends, limit)
    size = 2 * int(np.abs(merit).max()) + 3
    rising = merit + size // 2 + 1 + group * size  # the running maximum starts anew in each group
    for column in values.T:
        order = np.lexsort((-merit, -column, group))
        ordered, spans, limits = rising[order], span_of[order], limit[order]
        for at, end in enumerate(ends):
            most = np.maximum.accumulate(np.where(limits >= end, ordered, 0))
            keep[order[(spans == at) & np.r_[True, ordered[1:] > most[:-1]]]] = True
    return np.flatnonzero(keep)


def micro(number: Decimal | int | None) -> int | None:
    """Return a figure in whole micro-units; exact, as the store's figures have six decimals."""
    return None if number is None else int(number * MICRO)


@dataclass(frozen=True)
class Figures:
    """An array of figures in micro-units, with a mask of what is known."""

    values: npt.NDArray[Any]
    known: Flags

    @property
    def column(self) -> Column:
        """As the kernel reads it."""
        return Column(self.values, self.known)

    def at(self, where: Any) -> Figures:
        """The same, indexed."""
        return Figures(self.values[where], self.known[where])


def figures_of(cells: Sequence[Decimal | int | None]) -> Figures:
    """Figures from plain cells."""
    known = np.array([cell is not None for cell in cells], dtype=np.bool_)
    return Figures(np.array([micro(cell or 0) for cell in cells], dtype=np.int64), known)
