"""Figures of the parts that go into an opening: the number of feasible mountings, and the rows that matter.

Non-dominated rows: what k others of its group always beat cannot stand in one of the k best packages.

Within a group of parts that every feed sees as the same, a row is dominated where another is no dearer, draws no
more, gives no less and stands before it in the total order; through several adapters one part counts once, as packages
are told apart by parts. The rivals that a row is held against are the best few of its group by each merit: so no row is
left out that should stay, and few stay that should not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.distinct import Numbers, distinct, numbered
from matcher.rules.rule import FITS
from matcher.search.fits.feasible import Mountings
from matcher.search.fits.interfaces import places
from matcher.search.fits.place import CandidatePass


@dataclass(frozen=True, slots=True)
class Tally:
    """Number of all, including dominated ones."""

    ways: int
    """Number of parts, counting each adapter."""
    parts: int
    sure: int
    """Number of parts with a mounting that leaves nothing open."""


def tallies(mountings: Mountings, rows: Numbers, sure: NDArray[np.bool_], group: Numbers) -> dict[int, Tally]:
    """Return the number of some rows by the group of their part; `sure` is by row, `group` by part."""
    part, size = mountings.part[rows], int(group.max(initial=0)) + 1
    ways = np.zeros(size, np.int64)
    np.add.at(ways, group[part], mountings.ways[rows])
    every, certain = (np.bincount(group[numbered(some)[0]], minlength=size) for some in (part, part[sure[rows]]))
    return {at: Tally(int(ways[at]), int(every[at]), int(certain[at])) for at in np.flatnonzero(every).tolist()}


class FittedParts(NamedTuple):
    """Parts through adapters, one row per pair."""

    row: Numbers
    """Row of the mounting."""
    part: Numbers
    adapter: Numbers
    """Numbered as in `Interfaces`."""
    cents: Numbers
    """Price of the part there with this adapter and its labor."""
    cause: Numbers
    """Equal for pairs with the same open subject, if requested: part, adapter, or both."""

    def ids(self, part_ids: NDArray[Any], mountings: Mountings) -> NDArray[np.object_]:
        """Names of part and adapter, shape (pairs, 2)."""
        adapters = np.append("", mountings.interfaces.adapters.part_ids.astype(object))
        return np.column_stack([part_ids[self.part].astype(object), adapters[self.adapter]])


def kept(mountings: Mountings, rows: Numbers, merits: Merits, look: CandidatePass) -> FittedParts:
    """Return rows not dominated by k others: each part with the cheapest adapters of each mounting.

    For a hopeful pass, rows not dominated by a certain one: with the cheapest adapter and with each open one.
    """
    if look.hoping:
        some = dominated_by(merits, 1, by_sure=True) == 0
        found = through_adapters(mountings, rows[some], np.where(merits.open, look.k, 1)[some])
        return _by_cause(mountings, rows, merits.open, found)
    beaten = dominated_by(merits, look.k)
    # What is dearer of the same part is beaten by what is cheaper as well.
    return through_adapters(mountings, rows[beaten < look.k], look.k - beaten[beaten < look.k])


def _by_cause(mountings: Mountings, rows: Numbers, is_open: NDArray[np.bool_], found: FittedParts) -> FittedParts:
    """Cause of each open pair of part and adapter, but not of one that fits elsewhere with nothing open."""
    met = mountings.interfaces
    settled = np.isin(found.part, mountings.part[rows[~is_open]])
    surely = numbered(mountings.through[rows[mountings.code[rows] == FITS]])[0].tolist()
    classes = reduce(or_, (mountings.classes[at] for at in surely), 0)
    sits_here = np.isin(found.adapter, [one for at in places(classes) for one in met.classes[at]])
    is_both, opened = settled == sits_here, np.isin(found.row, rows[is_open])
    about_part = np.where(opened & (is_both | ~settled), found.part, -1)
    about_adapter = np.where(opened & (is_both | ~sits_here), found.adapter, -1)
    cause = distinct([about_part, about_adapter], len(found.part)).number
    some = np.r_[True, found.row[1:] != found.row[:-1]][: len(cause)] | (about_adapter >= 0)
    return FittedParts(*(each[some] for each in (*found[:4], cause)))


def through_adapters(mountings: Mountings, rows: Numbers, most: Numbers) -> FittedParts:
    """Mountings through at most this many of their cheapest adapters."""
    through, kind = numbered(mountings.through[rows])
    met, greatest = mountings.interfaces, int(most.max(initial=0))
    named = [met.cheapest(mountings.classes[at], greatest) for at in through.tolist()]
    sizes = np.array(list(map(len, named)), np.int64)
    count = np.minimum(sizes[kind], most)
    row = np.repeat(rows, count)
    within = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    every = np.array([one for some in named for one in some], np.int64)
    adapter = every[np.repeat((np.cumsum(sizes) - sizes)[kind], count) + within]
    cents = mountings.cents[row] - met.cents[mountings.adapter[row]] + met.cents[adapter]
    return FittedParts(row, mountings.part[row], adapter, cents, row)


MOST_RIVALS = 100
"""With more packages than this, nothing is dropped here."""
PRICES = (0.0, 0.1, 0.5, 2.0)
"""Hundredths of a point per cent: the most that a budget can make money count."""


class Merits(NamedTuple):
    """Figures by which rows are compared."""

    group: Numbers
    """Rows with equal numbers are equivalent in every question."""
    part: Numbers
    points: Numbers
    cents: Numbers
    open: NDArray[np.bool_]
    """Whether anything about it is open."""
    name: Numbers
    """Position in the order of names."""
    high: Numbers
    """A merit besides points: more is better on every feed."""
    low: Numbers
    """Amount of a limited sum."""
    lost: Numbers | int = 0
    """Points lost by the open figures of a row: a riskier feed takes off only the difference."""
    mix: float = 1.0
    """Points per unit of the merit."""


def dominated_by(merits: Merits, k: int, *, by_sure: bool = False) -> Numbers:
    """Number of other parts that dominate each row: the best few of its group, or those with nothing open."""
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
    """Rivals of each group in a row, those of one part together; -1 where there are no more."""
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
    """Whether a rival precedes a row on every feed."""
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
