"""What the ranking does with arrays of points, money and levels: group maxima, Pareto fronts, exact figures."""

from __future__ import annotations

from decimal import Decimal
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from matcher.search.exact.choices import IMPOSSIBLE, Ints

Flags: TypeAlias = npt.NDArray[np.bool_]

MICRO = 10**6


def group_max(values: Ints, group: Ints, count: int) -> Ints:
    """The greatest row of each group; IMPOSSIBLE for a group without rows."""
    out = np.full((count, values.shape[1]), IMPOSSIBLE, dtype=np.int64)
    if len(group):
        order = np.argsort(group, kind="stable")
        ordered = group[order]
        first = np.flatnonzero(np.r_[True, ordered[1:] != ordered[:-1]])
        out[ordered[first]] = np.maximum.reduceat(values[order], first, axis=0)
    return out


def group_min(values: Ints, group: Ints, count: int, nothing: int) -> Ints:
    """The least of each group, column by column; `nothing` for a group without rows."""
    out = np.full((count, *values.shape[1:]), nothing, dtype=np.int64)
    np.minimum.at(out, group, values)
    return out


TRAVELS = 12
"""So many spans of levels that travel allows are told apart where rows are held against each other."""


def pareto_rows(values: Ints, merit: Ints, limit: Ints, group: Ints) -> Ints:
    """Rows that some column of `values` puts before every row of their group with as much of merit and limit.

    The greatest value in a group, whatever non-decreasing function of the merit, cut off at the limit, is added to it,
    is one of theirs. Limits are told apart by spans: more rows may stay than have to.
    """
    keep = np.zeros(len(merit), dtype=np.bool_)
    if len(merit):
        different = np.unique(limit)
        for span in np.array_split(different, min(TRAVELS, len(different))):
            inside, rival = (limit >= span[0]) & (limit <= span[-1]), limit >= span[-1]
            some = np.flatnonzero(inside | rival)
            keep[some[_unbeaten(values[some], merit[some], group[some], rival[some]) & inside[some]]] = True
    return np.flatnonzero(keep)


def _unbeaten(values: Ints, merit: Ints, group: Ints, rival: Flags) -> Flags:
    """Whether no rival of its group has as great a value, of some column, and as much of the merit."""
    keep = np.zeros(len(merit), dtype=np.bool_)
    span = 2 * int(np.abs(merit).max()) + 3
    rising = merit + span // 2 + 1 + group * span  # the running maximum starts anew in each group
    for column in range(values.shape[1]):
        order = np.lexsort((-merit, -values[:, column], group))
        ordered = rising[order]
        most = np.maximum.accumulate(np.where(rival[order], ordered, 0))
        keep[order[np.r_[True, ordered[1:] > most[:-1]]]] = True
    return keep


def micro(number: Decimal | int | None) -> int | None:
    """A figure in whole micro-units, exact: the store's figures have six decimals."""
    return None if number is None else int(number * MICRO)
