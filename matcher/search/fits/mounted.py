"""Figures of the parts that go into an opening: the number of feasible mountings, and the rows that matter."""

from __future__ import annotations

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
from matcher.search.fits.undominated import Merits, dominated_by


@dataclass(frozen=True, slots=True)
class Tally:
    """Number of all, with those always beaten by others."""

    ways: int
    """Parts, each with every adapter through which it goes in."""
    parts: int
    sure: int
    """Parts of which some way leaves nothing to measure."""


def tallies(mountings: Mountings, rows: Numbers, sure: NDArray[np.bool_], group: Numbers) -> dict[int, Tally]:
    """Number of some rows, by the group of their part; `sure` and `group` are by row and by part."""
    part, size = mountings.part[rows], int(group.max(initial=0)) + 1
    ways = np.zeros(size, np.int64)
    np.add.at(ways, group[part], mountings.ways[rows])
    every, certain = (np.bincount(group[numbered(some)[0]], minlength=size) for some in (part, part[sure[rows]]))
    return {at: Tally(int(ways[at]), int(every[at]), int(certain[at])) for at in np.flatnonzero(every).tolist()}


class FittedParts(NamedTuple):
    """Parts through adapters, a row for each pair."""

    row: Numbers
    """The way in, as a row of the mountings."""
    part: Numbers
    adapter: Numbers
    """As `Interfaces` counts them."""
    cents: Numbers
    """Price of the part there with this adapter and its labor."""
    cause: Numbers
    """The same number for pairs of which the same is open, where that is asked: the part, the adapter, or both."""

    def ids(self, part_ids: NDArray[Any], mountings: Mountings) -> NDArray[np.object_]:
        """Names of part and adapter, shape (pairs, 2)."""
        adapters = np.append("", mountings.interfaces.adapters.part_ids.astype(object))
        return np.column_stack([part_ids[self.part].astype(object), adapters[self.adapter]])


def kept(mountings: Mountings, rows: Numbers, merits: Merits, look: CandidatePass) -> FittedParts:
    """Rows that are not always beaten by k others: each part with the cheapest adapters of each mounting.

    Where one hopes, what nothing sure always beats: beside its cheapest adapter with each that is open itself.
    """
    if look.hoping:
        some = dominated_by(merits, 1, by_sure=True) == 0
        found = through_adapters(mountings, rows[some], np.where(merits.open, look.k, 1)[some])
        return _by_cause(mountings, rows, merits.open, found)
    beaten = dominated_by(merits, look.k)
    # What is dearer of the same part is beaten by what is cheaper as well.
    return through_adapters(mountings, rows[beaten < look.k], look.k - beaten[beaten < look.k])


def _by_cause(mountings: Mountings, rows: Numbers, is_open: NDArray[np.bool_], found: FittedParts) -> FittedParts:
    """Cause of each open pair of part and adapter: never one that fits elsewhere with nothing open."""
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
    """Ways in through the cheapest adapters of each, at most so many."""
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
