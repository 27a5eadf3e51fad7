"""Sets of parts as whole numbers and names, and the few of them that may stand in one of the k best packages."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from operator import add, le
from typing import Any


@dataclass(frozen=True, slots=True)
class Entry:
    """One way to fill a slot."""

    points: int
    cents: int
    uses: tuple[int, ...]
    """What it takes of each limited sum beside money, as `USES` names them."""
    name: tuple[str, ...]
    what: Any = field(compare=False, hash=False)

    @property
    def order(self) -> tuple[int, int, tuple[str, ...]]:
        """Its place in the total order: more points, less money, then by name."""
        return (-self.points, self.cents, self.name)


def add_uses(first: tuple[int, ...], second: tuple[int, ...]) -> tuple[int, ...]:
    """What two take together of each limited sum."""
    return tuple(map(add, first, second))


def undominated(entries: Iterable[Entry], k: int) -> list[Entry]:
    """The entries that can stand in one of the k best packages of different parts, in the total order.

    Entries of one part, through several adapters, count once.

    >>> [e.points for e in undominated([Entry(5, 9, (), ("a",), 0), Entry(7, 8, (), ("b",), 0)], 1)]
    [7]
    """
    kept: list[Entry] = []
    for entry in sorted(entries, key=lambda entry: entry.order):
        # All that are kept stand before it in the order; those that cost and take no more dominate it.
        beating = {other.name[:1] for other in kept if other.cents <= entry.cents and _no_more(other.uses, entry.uses)}
        if len(beating) < k:
            kept.append(entry)
    return kept


def _no_more(uses: tuple[int, ...], than: tuple[int, ...]) -> bool:
    return all(map(le, uses, than))
