"""Adapters at an opening, and what a part there mates with: one bit for each mouth.

Adapters that give the same in every hole are alike: a class of them is one bit, the cheapest first,
so that the lowest bit that is set is the cheapest way to mount a part.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from matcher.rules.rule import FITS, STOPS
from matcher.search.fits.place import DRILLED

LEAST = range(STOPS, FITS + 1)
"""The codes of what is not refused, the riskiest first."""


@dataclass(frozen=True, slots=True)
class Mouth:
    """One hole through one class of adapters."""

    cut: bool
    place: int
    """Where its class stands."""
    step: int
    base: int
    bolts: int


@dataclass(frozen=True, slots=True)
class Way:
    """One way in: as found or as cut, at a step of its own, with the existing bolt holes or with new ones."""

    cut: bool
    step: int
    drilled: bool

    @property
    def taken(self) -> int:
        """The step that it takes."""
        return max(self.step, DRILLED) if self.drilled else self.step

    @property
    def order(self) -> tuple[int, int]:
        """Of two ways for one part and adapter the first is taken."""
        return self.taken, self.step


@dataclass(frozen=True, slots=True)
class Met:
    """The mouths that a part meets, by `LEAST` code: by what a drill cannot lift, and by the bolts."""

    base: Sequence[int]
    bolts: Sequence[int]


@dataclass(frozen=True, slots=True)
class WayIn:
    """A way in that is taken, and the classes of adapters by which it is."""

    taken: int
    """The step that it takes."""
    code: int
    """The worst that is said of it."""
    classes: int


@dataclass(frozen=True)
class Mates:
    """The adapters of an opening by class, and its mouths."""

    allowed: int
    classes: Sequence[Sequence[Any]]
    """Of each class the cheapest adapters: (adapter, price, pack_of, labour_h)."""
    many: Sequence[int]
    """Number of adapters of each class."""
    mouths: Sequence[Mouth]

    @property
    def size(self) -> int:
        """Bits of a string: every class in the hole as found, then as cut where that is allowed."""
        return len(self.classes) * (2 if self.is_cut else 1)

    @cached_property
    def is_cut(self) -> bool:
        """Whether the hole may be cut."""
        return any(mouth.cut for mouth in self.mouths)

    def at(self, mouth: Mouth) -> int:
        """The bit of a mouth."""
        return mouth.place + (len(self.classes) if mouth.cut else 0)

    def mask(self, mouths: Iterable[Mouth]) -> int:
        """The bits of some mouths."""
        return sum(1 << self.at(mouth) for mouth in mouths)

    @cached_property
    def firmly(self) -> Sequence[int]:
        """The mouths in which the adapter itself sits, by `LEAST` code."""
        return [self.mask(one for one in self.mouths if one.base >= least) for least in LEAST]

    @cached_property
    def bolted(self) -> Sequence[int]:
        """The mouths whose adapter meets the existing bolt holes, by `LEAST` code."""
        return [self.mask(one for one in self.mouths if one.bolts >= least) for least in LEAST]

    @cached_property
    def _by_step(self) -> Mapping[tuple[bool, int], int]:
        """The mouths of each hole and step."""
        found: dict[tuple[bool, int], int] = {}
        for one in self.mouths:
            found[one.cut, one.step] = found.get((one.cut, one.step), 0) | 1 << self.at(one)
        return found

    @cached_property
    def ways(self) -> list[Way]:
        """The ways in, in the order in which they are taken."""
        found = {
            Way(one.cut, one.step, drilled)
            for one in self.mouths
            for drilled in ((False, True) if self.allowed >= DRILLED > one.step else (False,))
        }
        return sorted(found, key=lambda way: way.order)

    def ways_in(self, met: Met) -> Iterator[WayIn]:
        """Mounting of a part: through each adapter by one way, the first that takes it."""
        used = 0
        for way in self.ways:
            held: Sequence[int] = met.base
            if not way.drilled and way.step < DRILLED:
                held = [base & bolts for base, bolts in zip(met.base, met.bolts, strict=True)]
            can = held[0] & self._by_step[way.cut, way.step] & (~met.bolts[0] if way.drilled else -1)
            shift = len(self.classes) if way.cut else 0
            left = (can >> shift) & ~used
            used |= left
            for code, mouths in zip(reversed(LEAST), reversed(held), strict=True):
                if classes := left & (mouths >> shift):
                    yield WayIn(way.taken, code, classes)
                    left &= ~classes

    def is_bare(self, place: int) -> bool:
        """Whether a class is the opening itself, without an adapter."""
        return self.classes[place][0]["adapter_id"] is None

    def first(self, classes: int) -> Any:
        """The cheapest adapter of some classes."""
        return self.classes[next(places(classes))][0]

    def number(self, classes: int) -> int:
        """Number of adapters of some classes."""
        return sum(power * (classes & plane).bit_count() for power, plane in self._planes)

    @cached_property
    def _planes(self) -> list[tuple[int, int]]:
        """Numbers of adapters in binary: for each power of two the classes that hold it."""
        powers = [1 << at for at in range(max(self.many, default=0).bit_length())]
        return [(power, sum(1 << at for at, many in enumerate(self.many) if many & power)) for power in powers]

    def cheapest(self, classes: int, k: int) -> list[Any]:
        """The k cheapest adapters of some classes."""
        found = [one for at in itertools.islice(places(classes), k) for one in self.classes[at]]
        return sorted(found, key=lambda one: (one["cents"], one["adapter_id"] or ""))[:k]


def places(bits: int) -> Iterator[int]:
    """Where the bits of a string are set, oldest first.

    >>> list(places(0b1010))
    [1, 3]
    """
    while bits:
        yield (bits & -bits).bit_length() - 1
        bits &= bits - 1
