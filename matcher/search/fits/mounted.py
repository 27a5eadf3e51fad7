"""Figures of the parts that go into an opening: the number of feasible mountings, and the rows that matter."""

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
from matcher.search.fits.mates import places
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
    """A place in `adapters`."""
    cents: Numbers
    """Price of the part there with this adapter and its labor."""
    adapters: Sequence[dict[str, Any]]
    cause: Numbers
    """The same number for pairs of which the same is open, where that is asked: the part, the adapter, or both."""

    def ids(self, part_ids: NDArray[Any]) -> NDArray[np.object_]:
        """Names of part and adapter, shape (pairs, 2)."""
        adapters = np.array([one["adapter_id"] or "" for one in self.adapters], object)
        return np.column_stack([part_ids[self.part].astype(object), adapters[self.adapter]])

    def at(self, place: int) -> tuple[int, dict[str, Any]]:
        """The way in of a pair and its adapter."""
        return int(self.row[place]), self.adapters[self.adapter[place]]


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
    settled = np.isin(found.part, mountings.part[rows[~is_open]])
    surely = numbered(mountings.through[rows[mountings.code[rows] == FITS]])[0].tolist()
    classes = reduce(or_, (mountings.classes[at] for at in surely), 0)
    sits = {one["adapter_id"] for at in places(classes) for one in mountings.mates.classes[at]}
    names = [one["adapter_id"] for one in found.adapters]
    number = {name: at for at, name in enumerate(names)}
    adapter = np.array([number[name] for name in names], np.int64)[found.adapter]
    sits_here = np.array([name in sits for name in names], np.bool_)[found.adapter]
    is_both, opened = settled == sits_here, np.isin(found.row, rows[is_open])
    about_part = np.where(opened & (is_both | ~settled), found.part, -1)
    about_adapter = np.where(opened & (is_both | ~sits_here), adapter, -1)
    cause = distinct([about_part, about_adapter], len(found.part)).number
    some = np.r_[True, found.row[1:] != found.row[:-1]][: len(cause)] | (about_adapter >= 0)
    row, part, adapter, cents = (each[some] for each in found[:4])
    return FittedParts(row, part, adapter, cents, found.adapters, cause[some])


def through_adapters(mountings: Mountings, rows: Numbers, most: Numbers) -> FittedParts:
    """Ways in through the cheapest adapters of each, at most so many."""
    through, kind = numbered(mountings.through[rows])
    every = [mountings.classes[at] for at in through.tolist()]
    place = {classes: at for at, classes in enumerate(dict.fromkeys(every))}
    kind = np.array([place[classes] for classes in every], np.int64)[kind]
    named = [mountings.mates.cheapest(classes, int(most.max(initial=0))) for classes in place]
    count = np.minimum(np.array([len(some) for some in named], np.int64)[kind], most)
    first = np.cumsum([0, *(len(some) for some in named)])[:-1]
    adapters = [one for some in named for one in some]
    row = np.repeat(rows, count)
    within = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    adapter = np.repeat(first[kind], count) + within
    paid = np.array([one["cents"] for one in adapters], np.int64)[adapter]
    cents = mountings.cents[row] - mountings.adapter_cents[row] + paid
    return FittedParts(row, mountings.part[row], adapter, cents, adapters, row)
