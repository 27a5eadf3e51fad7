"""Non-dominated rows: what k others of its group always beat cannot stand in one of the k best packages.

Within a group of parts that every feed sees as the same, a row is dominated where another is no dearer, draws no
more, gives no less and stands before it in the total order; through several adapters one part counts once, as packages
are told apart by parts. The rivals that a row is held against are the best few of its group by each merit: so no row is
left out that should stay, and few stay that should not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.distinct import Numbers, numbered

MOST_RIVALS = 100
"""Beyond so many packages nothing is left out here."""
PRICES = (0.0, 0.1, 0.5, 2.0)
"""Hundredths of a point for each cent: what a budget may make of money."""


class Merits(NamedTuple):
    """Figures by which rows are compared."""

    group: Numbers
    """Rows of one number are alike to whatever is asked."""
    part: Numbers
    points: Numbers
    cents: Numbers
    open: NDArray[np.bool_]
    """Whether something about it is still to be measured."""
    name: Numbers
    """Its place in the order of names."""
    high: Numbers
    """A merit beside the points: the more the better, whatever the feed."""
    low: Numbers
    """Use of a limited sum."""
    lost: Numbers | int = 0
    """Points lost by the open figures of a row: a feed with more open figures takes off the difference only."""
    mix: float = 1.0
    """Points for each unit of the merit beside them."""


def dominated_by(merits: Merits, k: int, *, by_sure: bool = False) -> Numbers:
    """By how many other parts each row is dominated, of the best few of its group, or of those that are sure."""
    rows = len(merits.group)
    beaten = np.zeros(rows, np.int64)
    if k > MOST_RIVALS or rows == 0:
        return beaten
    counted = np.full(rows, -1, np.int64)
    for rivals in _rivals(merits, k, (~merits.open,) if by_sure else (None, ~merits.open)):
        other = rivals[merits.group]
        part = merits.part[np.maximum(other, 0)]
        beats = (other >= 0) & (part != counted) & _beats(merits, np.maximum(other, 0))
        beaten, counted = beaten + beats, np.where(beats, part, counted)
    return beaten


def _rivals(merits: Merits, k: int, among: Sequence[Any]) -> Sequence[Numbers]:
    """For each group its rivals, one after the other, those of one part together; -1 where it has no more."""
    sum_of = merits.points + merits.mix * merits.high
    orders = [*(sum_of - price * merits.cents for price in PRICES), -merits.cents.astype(np.float64)]
    if merits.high.any():
        orders += [merits.high.astype(np.float64), merits.points.astype(np.float64)]
    if merits.low.any():
        orders.append(-merits.low.astype(np.float64))
    picked = [_best(merits.group, order, some, k) for order in orders for some in among]
    rivals = numbered(np.concatenate(picked))[0]
    group = merits.group[rivals]
    order = np.lexsort((merits.part[rivals], group))
    rivals, group = rivals[order], group[order]
    within = np.arange(len(group)) - np.searchsorted(group, group)
    table = np.full((int(within.max(initial=-1)) + 1, int(merits.group.max()) + 1), -1, np.int64)
    table[within, group] = rivals
    return list(table)


def _best(group: Numbers, order: Any, among: Any, k: int) -> Numbers:
    """The k best of each group by an order."""
    rows = np.arange(len(group)) if among is None else np.flatnonzero(among)
    ranked = rows[np.lexsort((-order[rows], group[rows]))]
    of = group[ranked]
    best: Numbers = ranked[np.arange(len(of)) - np.searchsorted(of, of) < k]
    return best


def _beats(merits: Merits, other: Numbers) -> NDArray[np.bool_]:
    """Whether a rival stands before a row whatever the feed."""
    cents, lost = merits.cents[other], np.broadcast_to(merits.lost, len(merits.part))
    found: NDArray[np.bool_] = (
        (cents <= merits.cents)
        & (merits.high[other] >= merits.high)
        & (merits.low[other] <= merits.low)
        & (merits.open | ~merits.open[other])
        & (merits.points[other] + np.minimum(lost - lost[other], 0) >= merits.points)
        & ((cents < merits.cents) | (merits.name[other] < merits.name))
    )
    return found
