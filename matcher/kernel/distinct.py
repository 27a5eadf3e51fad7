"""Distinct rows of whole numbers, each with a number of its own: what many parts share is asked once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]
MOST = 1 << 62
ROOMY = 8
"""A range of at most so many places for each row is counted off; a wider one is sorted."""


class DistinctSets(NamedTuple):
    """The distinct sets of some figures."""

    first: Numbers
    """Of each set one row that has it."""
    number: Numbers
    """By row: the number of its set."""


def numbered(values: NDArray[Any]) -> tuple[Numbers, Numbers]:
    """The distinct values in rising order, and by row the place of its own among them.

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
    """The distinct rows of some columns of whole numbers."""
    return combined(((number, len(values)) for values, number in map(numbered, columns)), rows)


def combined(columns: Iterable[tuple[Numbers, int]], rows: int) -> DistinctSets:
    """The distinct rows of some columns, each of numbers from 0 and the number that none of them reaches."""
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
