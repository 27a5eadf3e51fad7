"""Ways to fill a slot, as whole numbers and names, and lists of them that are made only as far as they matter.

An entry's *relaxed value* by a multiplier is its points less so much for each cent. What a slot has to bring in
a package that still matters is a need: the least relaxed value by each multiplier.
"""

from __future__ import annotations

import itertools
from bisect import bisect_right, insort
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from operator import add, ge, le
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matcher.search.fits.looks import Needs

MULTIPLIERS = (0, 1, 2, 4, 8, 16, 32, 64, 128)
"""Sixteenths of a point's hundredth for each cent of the budget."""
SCALE = 16

Values = tuple[int, ...]
"""Relaxed values, one for each multiplier."""
Greatest = tuple[Values, int, tuple[int, ...]]
"""Relaxed values by multiplier, least money, least use of each limited thing."""
ANYTHING = -(10**17)
"""Whatever an entry brings, it is more."""
WHATEVER: Values = (ANYTHING,) * len(MULTIPLIERS)
"""No need at all."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One way to fill a slot."""

    points: int
    cents: int
    uses: tuple[int, ...]
    """What it takes of each thing that is limited beside money, in the order of `Bounds.uses`."""
    name: tuple[str, ...]
    what: Any = field(compare=False, hash=False)

    @property
    def order(self) -> tuple[int, int, tuple[str, ...]]:
        """Its place in the total order: more points, less money, then by name."""
        return (-self.points, self.cents, self.name)


def least_of(uses: Iterable[tuple[int, ...]]) -> tuple[int, ...]:
    """The least that any takes of each limited thing."""
    return tuple(map(min, zip(*uses, strict=True)))


def add_uses(first: tuple[int, ...], second: tuple[int, ...]) -> tuple[int, ...]:
    """What two take together of each limited thing."""
    return tuple(map(add, first, second))


def relaxed(points: int, cents: int, multipliers: Sequence[int] = MULTIPLIERS) -> Values:
    """Relaxed values of points and money."""
    return tuple(SCALE * points - times * cents for times in multipliers)


def brings(points: int, cents: int, need: Values) -> bool:
    """Whether so many points for so much money are worth as much as is needed."""
    return all(map(ge, relaxed(points, cents), need))


def less(need: Iterable[int], others: Iterable[int]) -> Values:
    """What is left to bring where others bring so much."""
    return tuple(one - other for one, other in zip(need, others, strict=True))


def widened(held: Values | None, need: Values) -> Values | None:
    """The need by which something has to be made anew to meet another one too; None where what is held does."""
    if held is None:
        return need
    return None if all(map(le, held, need)) else tuple(map(min, held, need))


def greatest_of(entries: Sequence[Entry], multipliers: Sequence[int]) -> Greatest | None:
    """The greatest relaxed values of some entries, their least money and least uses; None where there is none."""
    if not entries:
        return None
    values = greatest_values([(one.points, one.cents) for one in entries], multipliers)
    return values, min(one.cents for one in entries), least_of(one.uses for one in entries)


def greatest_values(sums: Iterable[tuple[int, int]], multipliers: Sequence[int]) -> Values:
    """For each multiplier the greatest relaxed value of some points and money.

    >>> greatest_values([(5, 9), (7, 8), (3, 1), (3, 2)], (0, 16))
    (112, 32)
    """
    least, front = None, []  # of as many points and more only the cheaper ones
    for points, cents in sorted(sums, key=lambda each: (-each[0], each[1])):
        if least is None or cents < least:
            least = cents
            front.append((SCALE * points, cents))
    return tuple(max([points - times * cents for points, cents in front]) for times in multipliers)


class Slot:
    """One list of entries in the total order, made when it is first asked for, and as far as they are needed."""

    _need: Values | None = None
    _held: Sequence[Entry] = ()

    @property
    def entries(self) -> Sequence[Entry]:
        """All of them."""
        return self.worth(WHATEVER)

    @property
    def held(self) -> int:
        """How many were made so far."""
        return len(self._held)

    def worth(self, need: Values) -> Sequence[Entry]:
        """The entries that bring so much, and perhaps others."""
        if (wider := widened(self._need, need)) is not None:
            self._need, self._held = wider, self.made(wider)
        return self._held

    def made(self, need: Values) -> Sequence[Entry]:
        """The entries that bring so much, in the total order; none that k others of them always beat."""
        raise NotImplementedError

    def greatest(self, multipliers: Sequence[int], need: Values = WHATEVER) -> Greatest | None:
        """For each multiplier no less than the greatest relaxed value of an entry that brings so much; and no more
        than their least money and least uses. None where there is no such entry."""
        return greatest_of(self.worth(need), multipliers)

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """As `greatest`, perhaps higher, and at less cost: to put the cores in order."""
        return self.greatest(multipliers)

    def bare(self, multipliers: Sequence[int]) -> Greatest | None:
        """As `rough`, of everything that is alike to what is here, whatever comes along with it."""
        return self.rough(multipliers)

    def tell(self, need: Values, needs: Needs) -> None:
        """Take down what each of its candidates has to bring, where its entries have to bring so much."""


class ListSlot(Slot):
    """A slot of entries that are there already."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._held, self._need = entries, WHATEVER


def undominated(entries: Iterable[Entry], k: int) -> list[Entry]:
    """The entries that can stand in one of the k best packages, in the total order.

    >>> [e.points for e in undominated([Entry(5, 9, (), ("a",), 0), Entry(7, 8, (), ("b",), 0)], 1)]
    [7]
    """
    kept: list[Entry] = []
    money: list[int] = []  # of what is kept, sorted
    plain = True  # so far all take the same of everything else
    for entry in sorted(entries, key=lambda entry: entry.order):
        # All that are kept stand before it in the order; those that cost and take no more dominate it.
        plain = plain and (not kept or entry.uses == kept[0].uses)
        over = bisect_right(money, entry.cents)
        if over >= k and not plain:
            beating = (1 for other in kept if other.cents <= entry.cents and _no_more(other.uses, entry.uses))
            over = sum(itertools.islice(beating, k))
        if over < k:
            kept.append(entry)
            insort(money, entry.cents)
    return kept


def _no_more(uses: tuple[int, ...], than: tuple[int, ...]) -> bool:
    return all(map(le, uses, than))
