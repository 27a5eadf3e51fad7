"""What is read of the parts that go into an opening: how many ways in there are, and the rows that matter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.distinct import Numbers, numbered
from matcher.search.fits.feasible import Mountings
from matcher.search.fits.undominated import Merits, dominated_by


@dataclass(frozen=True, slots=True)
class Tally:
    """How many there are in all, those included that others always beat."""

    ways: int
    """Parts, each with every adapter through which it goes in."""
    parts: int
    sure: int
    """Parts of which some way leaves nothing to measure."""


def tallies(mountings: Mountings, rows: Numbers, sure: NDArray[np.bool_], group: Numbers) -> dict[int, Tally]:
    """How many there are of some rows, by the group of their part; `sure` and `group` are by row and by part."""
    part, size = mountings.part[rows], int(group.max(initial=0)) + 1
    ways = np.zeros(size, np.int64)
    np.add.at(ways, group[part], mountings.ways[rows])
    every, certain = (np.bincount(group[np.unique(some)], minlength=size) for some in (part, part[sure[rows]]))
    return {at: Tally(int(ways[at]), int(every[at]), int(certain[at])) for at in np.flatnonzero(every).tolist()}


class Fitted(NamedTuple):
    """Parts through adapters, a row for each pair."""

    row: Numbers
    """The way in, as a row of the mountings."""
    part: Numbers
    adapter: Numbers
    """A place in `adapters`."""
    cents: Numbers
    """What the part costs there with this adapter and its labor."""
    adapters: Sequence[dict[str, Any]]

    def at(self, place: int) -> tuple[int, dict[str, Any]]:
        """The way in of a pair and its adapter."""
        return int(self.row[place]), self.adapters[self.adapter[place]]


def kept(mountings: Mountings, rows: Numbers, merits: Merits, k: int) -> Fitted:
    """What k others do not always beat: each part with the cheapest adapters of each way in."""
    beaten = dominated_by(merits, k)
    # What is dearer of the same part is beaten by what is cheaper as well.
    return through_adapters(mountings, rows[beaten < k], k - beaten[beaten < k])


def through_adapters(mountings: Mountings, rows: Numbers, most: Numbers) -> Fitted:
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
    return Fitted(row, mountings.part[row], adapter, cents, adapters)
