"""Cores, limits on the whole, and packages that are found: whole numbers and names, nothing of the trade."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from matcher.search.exact.entries import Entry, Slot


@dataclass(frozen=True, slots=True)
class Core:
    """A plan with signatures chosen: one list of entries for each slot, and what it adds itself."""

    points: int
    slots: tuple[Slot, ...]
    rank: int
    """Where its plan stands among the plans: of two packages of the same parts the lower is kept."""
    arrangement: tuple[int, ...]
    """The slots' names in the order in which the total order compares them."""
    what: Any
    inside: Callable[[], Iterable[Core]] | None = None
    """Of a bundle: the cores that it stands for. None of them has a package that its own slots do not bound."""
    bundles: Callable[[], Iterable[Core]] | None = None
    """Of a bundle of bundles: these, each of which bounds whatever is alike to what it holds."""

    @property
    def opened(self) -> Callable[[], Iterable[Core]] | None:
        """What makes the cores or bundles that it stands for; none where it is a core itself."""
        return self.bundles or self.inside


@dataclass(frozen=True, slots=True)
class Bounds:
    """Limits on the whole."""

    cents: int | None = None
    uses: tuple[int | None, ...] = ()
    """The most of each other thing: drain at rest, current, mass. None: no limit."""


@dataclass(frozen=True, slots=True)
class Found:
    """A package: its place in the total order, its core and its entries."""

    points: int
    cents: int
    uses: tuple[int, ...]
    name: tuple[str, ...]
    core: Core
    entries: tuple[Entry, ...]

    @property
    def order(self) -> tuple[int, int, tuple[str, ...]]:
        """Its place in the total order, as that of an entry."""
        return (-self.points, self.cents, self.name)
