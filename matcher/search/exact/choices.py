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
"""Relaxed values are in sixteenths of a hundredth of a point, so that multipliers are whole numbers."""
_MONEY = (0, 1, 2, 4, 8, 12, 16, 24, 32, 64)
_OTHERS = ((32, 0), (128, 0), (512, 0), (0, 32), (0, 128), (32, 32), (64, 128), (128, 64), (256, 256))
MULTIPLIERS = np.array(
    [(cents, 0, 0, 0) for cents in _MONEY] + [(cents, *other, 0) for cents in (0, 8) for other in _OTHERS],
    dtype=np.int64,
)
"""One row per bound: the deduction per cent and per unit of each other limited sum. Every row gives a valid bound."""
OF_CENTS, OF_USES = MULTIPLIERS[:, 0], MULTIPLIERS[:, 1:]
ROWS, USES = OF_USES.shape
CENTS_ONLY, SPREAD = np.unique(OF_CENTS, return_inverse=True)
"""The distinct multipliers of money, and the index of each row of `MULTIPLIERS` among them."""

IMPOSSIBLE = -(2**50)
"""Relaxed value of an empty choice."""
ENDLESS = 2**40
"""Cents and uses of an empty choice."""
NO_USES = np.zeros(USES, dtype=np.int64)


def relaxed(points: Ints, cents: Ints, uses: Ints | None = None) -> Ints:
    """Return relaxed values, one row per entry and one column per row of `MULTIPLIERS`."""
    values = relaxed_by_cents(points, cents)[:, SPREAD]
    return values if uses is None else values - uses @ OF_USES.T


def relaxed_by_cents(points: Ints, cents: Ints) -> Ints:
    """Return relaxed values of entries that use nothing but money, one column per `CENTS_ONLY`."""
    result: Ints = SCALE * points[:, None] - cents[:, None] * CENTS_ONLY
    return result


class _Node:
    """Base of slots and unions: relaxed values, cents and uses, one row per candidate or alternative."""

    cents: Ints
    uses: Ints | None

    @property
    def values(self) -> Ints:
        """Relaxed values, one row per entry or alternative."""
        raise NotImplementedError

    @cached_property
    def top(self) -> Ints:
        """Maximum relaxed value for each row of multipliers."""
        result: Ints = self.values.max(axis=0, initial=IMPOSSIBLE)
        return result

    @cached_property
    def least_cents(self) -> int:
        """Minimum cents of any entry or alternative."""
        return int(self.cents.min(initial=ENDLESS))

    @cached_property
    def least_uses(self) -> Ints:
        """Minimum of each other limited sum, separately."""
        result: Ints = NO_USES if self.uses is None else self.uses.min(axis=0, initial=ENDLESS)
        return result


class Slot(_Node):
    """A choice of exactly one entry.

    Parameters
    ----------
    points, cents
        One per entry.
    uses
        Amounts of the limited sums other than money, shape (entries, USES); None: nothing.
    tag
        Identifies the slot to the caller; not used here.
    turn
        In a star, slots with a lower turn are chosen first: those that use limited sums come early.
    """

    def __init__(self, points: Ints, cents: Ints, uses: Ints | None, tag: Any, turn: int = 0) -> None:
        self.points, self.cents, self.uses, self.tag, self.turn = points, cents, uses, tag, turn

    def __len__(self) -> int:
        return len(self.points)

    @cached_property
    def values(self) -> Ints:
        """Relaxed values, one row per entry."""
        return relaxed(self.points, self.cents, self.uses)

    @property
    def thinned(self) -> Slot:
        """The slot without entries that another makes superfluous to the caller; it has the same bounds."""
        return self


class Union(_Node):
    """A choice of exactly one alternative.

    Parameters
    ----------
    values, cents, uses
        Bounds of each alternative: relaxed values no lower, cents and uses no higher than its contents.
    make
        Create an alternative by its position: its own points, and its slots and unions.
    """

    def __init__(self, values: Ints, cents: Ints, uses: Ints | None, make: Callable[[int], Alternative]) -> None:
        self._values, self.cents, self.uses, self.make = values, cents, uses, make

    @property
    def values(self) -> Ints:
        """Upper bounds on relaxed values, one row per alternative."""
        return self._values


Part: TypeAlias = Slot | Union
Alternative: TypeAlias = tuple[int, Sequence[Part]]
"""Own points, and the choices within it."""


def sum_of(parts: Sequence[Part], points: int = 0) -> tuple[Ints, int, Ints]:
    """Return the bounds of some parts together: relaxed values, minimum cents, minimum uses."""
    values, uses = np.full(ROWS, SCALE * points, dtype=np.int64), NO_USES
    cents = 0
    for part in parts:
        values, cents, uses = values + part.top, cents + part.least_cents, uses + part.least_uses
    return values, cents, uses


def union_of(alternatives: Sequence[Alternative]) -> Union:
    """Return a union of existing alternatives, each bounded by its contents."""
    bounds = [sum_of(parts, points) for points, parts in alternatives]
    if not bounds:
        nothing = np.zeros(0, dtype=np.int64)
        return Union(np.zeros((0, ROWS), dtype=np.int64), nothing, None, alternatives.__getitem__)
    values, cents, uses = zip(*bounds, strict=True)
    return Union(np.array(values), np.array(cents, dtype=np.int64), np.array(uses), alternatives.__getitem__)
