"""Boxes on shelves, and the drivers that they take: both priced and scored.

Nothing here is listed pair by pair: a driver has a bit for each box of its shelf.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from matcher.search.bass.figures import BassSystem
from matcher.search.bass.levels import Boxed, DriverTerms
from matcher.search.bass.mates import Stood
from matcher.search.feeds.parts import SpeakerSignature
from matcher.search.fits.mates import bits_of


class BoxAt(NamedTuple):
    """A box of the catalog on its shelf."""

    cents: int
    part_id: str
    points: int
    unsure: bool
    place: int
    """Its bit."""
    sound: int
    """Which of the shelf's boxes that differ in sound it is."""
    bought: Stood


@dataclass
class Shelf:
    """The boxes for so many drivers of one size, the cheapest first."""

    opening_id: str
    drivers: int
    boxes: Sequence[BoxAt]
    sounds: Sequence[Boxed]

    @cached_property
    def mask(self) -> int:
        """The bits of its boxes."""
        return _bits_of(self.boxes)

    @cached_property
    def sure_mask(self) -> int:
        """The bits of those that leave nothing to measure by themselves."""
        return _bits_of(box for box in self.boxes if not box.unsure)

    def meets(self, can: str) -> bool:
        """Whether any of its boxes is among some bits."""
        return any(can[box.place] == "1" for box in self.boxes)

    def without(self, is_out: Callable[[str], bool]) -> Shelf:
        """The shelf without some of its boxes."""
        return replace(self, boxes=[box for box in self.boxes if not is_out(box.part_id)])


def _bits_of(boxes: Iterable[BoxAt]) -> int:
    return sum(1 << box.place for box in boxes)


@dataclass
class Member:
    """So many drivers of one model, and the boxes on one shelf that they go into."""

    part_id: str
    shelf: Shelf
    signature: SpeakerSignature
    cents: int
    points: int
    """As far as they are sure to fit."""
    can: str
    sure: str
    terms: DriverTerms
    make: Callable[[Member, BoxAt, bool], BassSystem]
    """Works them out in a box, where their fit may still be open."""

    @property
    def bits(self) -> int:
        """The boxes that they go into, those on other shelves too."""
        return bits_of(self.can)

    @property
    def sure_bits(self) -> int:
        """Those of them whose fit is sure."""
        return bits_of(self.sure)

    def boxes(self) -> Iterator[tuple[BoxAt, bool]]:
        """The boxes that they go into, the cheapest first, and whether that is still to be measured."""
        return ((box, self.sure[box.place] == "0") for box in self.shelf.boxes if self.can[box.place] == "1")

    def every(self) -> Iterator[BassSystem]:
        """Each of them worked out."""
        return (self.make(self, box, is_open) for box, is_open in self.boxes())
