"""Slots and unions: a tree of choices whose points, cents and other uses add up.

A *slot* takes exactly one of its entries. A *union* takes exactly one of its alternatives, and each of these is a
list of slots and unions in turn. A *combination* is one entry of every slot that its alternatives lead to.

Everything is bounded by relaxed values: for fixed multipliers of money and of the other limited sums, 16 times the
points less what the money and the uses come to. A union holds the relaxed values of its alternatives as an array and
makes an alternative only when it is opened.

Anyone who builds a union owes one thing: an alternative's values are at least the sums of the tops of what it is made
of, its cents and uses at most the sums of their least. A value too low loses combinations without a word.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

Ints: TypeAlias = npt.NDArray[np.int64]

SCALE = 16
"""Relaxed values are in sixteenths of a point's hundredth, so that multipliers are whole numbers."""
_MONEY = (0, 1, 2, 4, 8, 12, 16, 24, 32, 64)
_OTHERS = ((32, 0), (128, 0), (512, 0), (0, 32), (0, 128), (32, 32), (64, 128), (128, 64), (256, 256))
MULTIPLIERS = np.array(
    [(cents, 0, 0, 0) for cents in _MONEY] + [(cents, *other, 0) for cents in (0, 8) for other in _OTHERS],
    dtype=np.int64,
)
"""One row for each bound: what a cent, and a unit of each other limited sum, takes off. Any row is a true bound."""
OF_CENTS, OF_USES = MULTIPLIERS[:, 0], MULTIPLIERS[:, 1:]
ROWS, USES = OF_USES.shape
CENTS_ONLY, SPREAD = np.unique(OF_CENTS, return_inverse=True)
"""The distinct multipliers of money; and for each row of `MULTIPLIERS` its position among these."""

IMPOSSIBLE = -(2**50)
"""The relaxed value where there is nothing to choose."""
ENDLESS = 2**40
"""The cents and uses where there is nothing to choose."""
NO_USES = np.zeros(USES, dtype=np.int64)


def relaxed(points: Ints, cents: Ints, uses: Ints | None = None) -> Ints:
    """Return relaxed values, a row for each entry and a column for each row of `MULTIPLIERS`."""
    values = relaxed_by_cents(points, cents)[:, SPREAD]
    return values if uses is None else values - uses @ OF_USES.T


def relaxed_by_cents(points: Ints, cents: Ints) -> Ints:
    """Return the relaxed values of entries that take nothing but money, a column for each of `CENTS_ONLY`."""
    result: Ints = SCALE * points[:, None] - cents[:, None] * CENTS_ONLY
    return result


class _Node:
    """Base of slots and unions: relaxed values, cents and uses, a row for each candidate or alternative."""

    cents: Ints
    uses: Ints | None

    @property
    def values(self) -> Ints:
        """Relaxed values, a row for each entry or alternative."""
        raise NotImplementedError

    @cached_property
    def top(self) -> Ints:
        """The greatest relaxed value by each row of multipliers."""
        result: Ints = self.values.max(axis=0, initial=IMPOSSIBLE)
        return result

    @cached_property
    def least_cents(self) -> int:
        """The least money of an entry or alternative."""
        return int(self.cents.min(initial=ENDLESS))

    @cached_property
    def least_uses(self) -> Ints:
        """The least of each other limited sum, each by itself."""
        result: Ints = NO_USES if self.uses is None else self.uses.min(axis=0, initial=ENDLESS)
        return result


class Slot(_Node):
    """Exactly one of some entries.

    Parameters
    ----------
    points, cents
        One for each entry.
    uses
        What each entry takes of the limited sums beside money, shape (entries, USES); None: nothing.
    tag
        Tells the caller what this slot is; nothing here looks into it.
    turn
        Where only slots are left those of a lower turn are chosen first: what takes limited sums comes early.
    """

    def __init__(self, points: Ints, cents: Ints, uses: Ints | None, tag: Any, turn: int = 0) -> None:
        self.points, self.cents, self.uses, self.tag, self.turn = points, cents, uses, tag, turn

    def __len__(self) -> int:
        return len(self.points)

    @cached_property
    def values(self) -> Ints:
        """Relaxed values, a row for each entry."""
        return relaxed(self.points, self.cents, self.uses)


class Union(_Node):
    """Exactly one of some alternatives.

    Parameters
    ----------
    values, cents, uses
        Bounds of each alternative: relaxed values at least, cents and uses at most what it is made of.
    make
        Makes an alternative by its position: its own points, and its slots and unions.
    """

    def __init__(self, values: Ints, cents: Ints, uses: Ints | None, make: Callable[[int], Alternative]) -> None:
        self._values, self.cents, self.uses, self.make = values, cents, uses, make

    @property
    def values(self) -> Ints:
        """Bounds on relaxed values, a row for each alternative."""
        return self._values


Part: TypeAlias = Slot | Union
Alternative: TypeAlias = tuple[int, Sequence[Part]]
"""Points by itself, and what has to be chosen in it."""


def sum_of(parts: Sequence[Part], points: int = 0) -> tuple[Ints, int, Ints]:
    """Return the bounds of some parts together: relaxed values, least cents, least uses."""
    values, uses = np.full(ROWS, SCALE * points, dtype=np.int64), NO_USES
    cents = 0
    for part in parts:
        values, cents, uses = values + part.top, cents + part.least_cents, uses + part.least_uses
    return values, cents, uses


def union_of(alternatives: Sequence[Alternative]) -> Union:
    """Return a union of alternatives that are there already, each bounded by what it is made of."""
    bounds = [sum_of(parts, points) for points, parts in alternatives]
    if not bounds:
        nothing = np.zeros(0, dtype=np.int64)
        return Union(np.zeros((0, ROWS), dtype=np.int64), nothing, None, alternatives.__getitem__)
    values, cents, uses = zip(*bounds, strict=True)
    return Union(np.array(values), np.array(cents, dtype=np.int64), np.array(uses), alternatives.__getitem__)
