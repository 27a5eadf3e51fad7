"""All that there is for bass at one cargo space, counted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from matcher.search.bass.figures import BassSystem
from matcher.search.bass.shelves import Member, Shelf
from matcher.search.feeds.parts import SpeakerSignature

Wired = tuple[int, SpeakerSignature]
"""What a feed sees of a system: how many drivers, and what they are."""


@dataclass(frozen=True, slots=True)
class BassTally:
    """How many parts of a family go into some system, and how many of them leave nothing to measure there."""

    parts: int
    sure: int


@dataclass
class Stock:
    """All that goes into one cargo space."""

    opening_id: str
    members: Sequence[Member]
    made: Sequence[BassSystem]
    """Drivers in boxes made to measure."""

    @cached_property
    def ways(self) -> Counter[Wired]:
        """How many systems there are, by what a feed sees of them."""
        found: Counter[Wired] = Counter()
        for one in self.members:
            found[one.shelf.drivers, one.signature] += (one.bits & one.shelf.mask).bit_count()
        found.update((one.drivers, one.signature) for one in self.made)
        return found

    @cached_property
    def drivers(self) -> BassTally:
        """Drivers that go into some box there, bought or made."""
        can = {one.part_id for one in self.members if one.bits & one.shelf.mask}
        sure = {one.part_id for one in self.members if one.sure_bits & one.shelf.sure_mask}
        can |= {one.name[0] for one in self.made}
        sure |= {one.name[0] for one in self.made if not one.unsure}
        return BassTally(len(can), len(sure))

    @cached_property
    def boxes(self) -> BassTally:
        """Boxes of the catalog that take some driver there."""
        found: dict[int, tuple[Shelf, int, int]] = {}
        for one in self.members:
            shelf, can, sure = found.get(id(one.shelf), (one.shelf, 0, 0))
            found[id(shelf)] = shelf, can | one.bits, sure | one.sure_bits
        can = sum((bits & shelf.mask).bit_count() for shelf, bits, _ in found.values())
        return BassTally(can, sum((bits & shelf.sure_mask).bit_count() for shelf, _, bits in found.values()))

    def every(self) -> Iterator[BassSystem]:
        """Every system, worked out."""
        yield from (system for one in self.members for system in one.every())
        yield from self.made

    def holding(self, part_id: str) -> Iterator[BassSystem]:
        """Every system that has a part."""
        mine = [one for one in self.members if one.part_id == part_id]
        beside = self.without(lambda driver_id: driver_id == part_id, lambda box_id: box_id != part_id)
        yield from (system for one in (*mine, *beside.members) for system in one.every())
        yield from (one for one in self.made if one.driver.part_id == part_id)

    def without(self, driver_out: Callable[[str], bool], box_out: Callable[[str], bool]) -> Stock:
        """The same without some drivers, and without some boxes; those made to measure go by no name."""
        shelves = {id(one.shelf): one.shelf for one in self.members}
        left = {key: shelf.without(box_out) for key, shelf in shelves.items()}
        kept = [replace(one, shelf=left[id(one.shelf)]) for one in self.members if not driver_out(one.part_id)]
        made = [one for one in self.made if not (box_out("") or driver_out(one.name[0]))]
        return Stock(self.opening_id, kept, made)
