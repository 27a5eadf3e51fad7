"""What is read of the parts that go into an opening: how many ways in there are, and the rows that matter."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import Column, word_of
from matcher.kernel.distinct import Numbers
from matcher.kernel.exact import from_micro
from matcher.search.catalog.parts import Parts
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
    kinds, kind = np.unique(mountings.through[rows], return_inverse=True)
    named = [mountings.mates.cheapest(mountings.classes[at], int(most.max(initial=0))) for at in kinds.tolist()]
    count = np.minimum(np.array([len(some) for some in named], np.int64)[kind], most)
    first = np.cumsum([0, *(len(some) for some in named)])[:-1]
    adapters = [one for some in named for one in some]
    row = np.repeat(rows, count)
    within = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    adapter = np.repeat(first[kind], count) + within
    paid = np.array([one["cents"] for one in adapters], np.int64)[adapter]
    cents = mountings.cents[row] - mountings.adapter_cents[row] + paid
    return Fitted(row, mountings.part[row], adapter, cents, adapters)


def cell(column: Column, row: int) -> Any:
    """A cell as a plain number, word, or yes and no; None where it is not known."""
    known = column.known
    if not (known if isinstance(known, bool) else known[row]):
        return None
    value, kind = column.values[row], column.values.dtype
    if kind == np.int32:
        return word_of(value)
    return bool(value) if kind == np.bool_ else from_micro(value)


def tol_of(column: Column, row: int) -> Decimal | None:
    """The tolerance of a cell; None if there is none."""
    tol = int(np.broadcast_to(column.tol, column.values.shape)[row])
    return from_micro(tol) if tol else None


def cells_of(cells: Mapping[str, Column], names: Iterable[str], row: int) -> dict[str, Any]:
    """Some cells of a part as plain numbers, words, and yes and no."""
    return {name: cell(cells[name], row) for name in names}


def tolerance(column: Column, row: int) -> Decimal | None:
    """The tolerance of a cell; None where there is none."""
    tol = int(np.broadcast_to(column.tol, len(column.values))[row])
    return from_micro(tol) if tol else None


def money_of(parts: Parts, row: int) -> tuple[Any, Any, Any]:
    """What a part is sold for: price, pieces in a pack, and hours of fitting."""
    price, pack_of, labour_h = (cell(parts.cells[name], row) for name in ("price", "pack_of", "labour_h"))
    return price, None if pack_of is None else int(pack_of), labour_h
