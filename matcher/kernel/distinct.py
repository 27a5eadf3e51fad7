"""Distinct rows of whole numbers, numbered, so that a question shared by many parts is computed once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]
MOST = 1 << 62
ROOMY = 8
"""Ranges of up to this many values per row are counted; wider ones are sorted."""


class DistinctSets(NamedTuple):
    """The distinct combinations of several figures."""

    first: Numbers
    """For each combination, the index of one row that has it."""
    number: Numbers
    """For each row, the number of its combination."""


def numbered(values: NDArray[Any]) -> tuple[Numbers, Numbers]:
    """Return the sorted distinct values, and for each row the index of its value among them.

    >>> [each.tolist() for each in numbered(np.array([30, 10, 30]))]
    [[10, 30], [1, 0, 1]]
    """
    if not len(values):
        return values.astype(np.int64), np.zeros(0, np.int64)
    low, high = int(values.min()), int(values.max())
    places = values.astype(np.int64) - low if high - low <= MOST else None
    step = 1 if places is None else max(int(np.gcd.reduce(places)), 1)
    if places is None or (high - low) // step > ROOMY * len(values):
        found, number = np.unique(values, return_inverse=True)
        return found, number.reshape(-1)
    places //= step
    met = np.zeros((high - low) // step + 1, np.bool_)
    met[places] = True
    return np.flatnonzero(met) * step + low, (np.cumsum(met) - 1)[places]


def distinct(columns: Sequence[Numbers], rows: int) -> DistinctSets:
    """Return the distinct rows of several columns of whole numbers."""
    return combined(((number, len(values)) for values, number in map(numbered, columns)), rows)


def combined(columns: Iterable[tuple[Numbers, int]], rows: int) -> DistinctSets:
    """Return the distinct rows of several columns, each with its numbers from 0 and their exclusive upper bound."""
    key, size = np.zeros(rows, np.int64), 1
    for number, count in columns:
        if count <= 1:
            continue
        if size * count >= MOST:
            kept, key = numbered(key)
            size = len(kept)
        key, size = key * count + number, size * count
    kept, number = numbered(key)
    first = np.zeros(len(kept), np.int64)
    first[number[::-1]] = np.arange(rows - 1, -1, -1)
    return DistinctSets(first, number)
