"""Drawing from a distribution with a seed: the same numbers on every machine and Python version."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import TypeVar

from data_demo.distributions import CENTS, Span

T = TypeVar("T")


def spread(table: Sequence[tuple[int, T]]) -> tuple[T, ...]:
    """A table of (share, thing) as a hundred things, each as often as its share says.

    Raises
    ------
    ValueError
        if the shares do not make a hundred.
    """
    things = tuple(thing for share, thing in table for _ in range(share))
    if len(things) != 100:
        raise ValueError(f"the shares make {len(things)}, not 100")
    return things


class RandomStream:
    """A stream of draws. Only ``Random.random`` is used: it alone is promised never to change."""

    def __init__(self, seed: int) -> None:
        self.unit = Random(seed).random

    @classmethod
    def aside(cls, number: int) -> RandomStream:
        """A stream of its own for one row: what was drawn before it was there stays as it is."""
        return cls(number * 1_000_003)

    def pick(self, things: Sequence[T]) -> T:
        """One of several, all alike."""
        return things[int(self.unit() * len(things))]

    def chance(self, share: float) -> bool:
        """Yes in this share of all draws."""
        return self.unit() < share

    def half(self, span: Span) -> float:
        """A number in the span, in steps of a half."""
        low, high = span
        return low + int(self.unit() * ((high - low) * 2 + 1)) / 2

    def whole(self, span: Span) -> int:
        """A whole number in the span."""
        low, high = span
        return int(low + int(self.unit() * (high - low + 1)))

    def graded(self, things: Sequence[T], grade: float) -> T:
        """One of several that go from plain to fine: mostly as the grade (0 to 1) says."""
        return things[int((0.6 * grade + 0.4 * self.unit()) * len(things))]

    def graded_half(self, span: Span, grade: float) -> float:
        """A number in the span, mostly as the grade says, in steps of a half."""
        low, high = span
        return low + int((0.6 * grade + 0.4 * self.unit()) * ((high - low) * 2 + 1)) / 2

    def price(self, span: Span, grade: float) -> str:
        """A price in the span, mostly as the grade says, as it stands on a tag."""
        return f"{int(self.graded_half(span, grade))}.{self.pick(CENTS)}"
