"""Boxes on shelves, and the drivers that they take: both priced and scored.

Nothing here is listed pair by pair: a driver has a bit for each box of its shelf, and bounds on how loud it gets in
each that differs in sound.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

from matcher.search.bass.figures import BassSystem
from matcher.search.bass.levels import (
    BEYOND_CDB,
    NO_LIMIT_CDB,
    UNKNOWN_CDB,
    WIDE_CDB,
    Boxed,
    DriverTerms,
    cone_db,
    lift_cdb,
)
from matcher.search.bass.mates import Stood
from matcher.search.exact.entries import SCALE, Values
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


class Front(NamedTuple):
    """Bounds on both levels in a box of one sound: on 1 W, and at the end of travel."""

    at_1w_cdb: int
    travel_cdb: int
    sound: int = -1

    @property
    def least(self) -> tuple[int, int]:
        """What both levels surely are; less than any level where they may not be known at all."""
        if self.at_1w_cdb == BEYOND_CDB:
            return -1, -1
        travel = self.travel_cdb if self.travel_cdb == NO_LIMIT_CDB else self.travel_cdb - WIDE_CDB
        return self.at_1w_cdb - WIDE_CDB, travel


@dataclass
class Shelf:
    """The boxes for so many drivers of one size, the cheapest first."""

    opening_id: str
    drivers: int
    boxes: Sequence[BoxAt]
    sounds: Sequence[Boxed]
    _orders: dict[int, list[BoxAt]] = field(init=False)

    def __post_init__(self) -> None:
        self._orders = {}

    @cached_property
    def lifts_cdb(self) -> list[int | None]:
        """For each sound: by how much it lets cones get louder within their travel."""
        return [lift_cdb(boxed) for boxed in self.sounds]

    @cached_property
    def alike(self) -> list[list[BoxAt]]:
        """For each sound: its boxes, the cheapest first."""
        found: list[list[BoxAt]] = [[] for _ in self.sounds]
        for box in self.boxes:
            found[box.sound].append(box)
        return found

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

    def best_by(self, times: int) -> list[BoxAt]:
        """The boxes by what they are worth by a multiplier, the best first."""
        if times not in self._orders:
            self._orders[times] = sorted(self.boxes, key=lambda box: times * box.cents - SCALE * box.points)
        return self._orders[times]

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
    doubt: int
    """What is lost where they are not."""
    can: str
    sure: str
    powers_cdb: array[int]
    terms: DriverTerms
    make: Callable[[Member, BoxAt, bool], BassSystem]
    """Works them out in a box, where their fit may still be open."""
    _tops: dict[tuple[tuple[int, ...], bool], tuple[Values, list[BoxAt]] | None] = field(init=False)

    def __post_init__(self) -> None:
        self._tops = {}

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

    def worth(self, times: int, least: int) -> Iterator[tuple[BoxAt, bool]]:
        """As `boxes`, those in which they are worth so much by a multiplier, and perhaps others; the best first."""
        left = least - SCALE * self.points + times * self.cents
        for box in self.shelf.best_by(times):
            if SCALE * box.points - times * box.cents < left:
                return
            if self.can[box.place] == "1":
                yield box, self.sure[box.place] == "0"

    def tops(self, multipliers: tuple[int, ...], sure: bool) -> tuple[Values, list[BoxAt]] | None:
        """What they are worth at most by each multiplier, in a box, and in which; None where they go into none."""
        key = (multipliers, sure)
        if key not in self._tops:
            found = [self._top(times, sure) for times in multipliers]
            tops = [one for one in found if one is not None]
            self._tops[key] = (tuple(value for value, _ in tops), [box for _, box in tops]) if tops else None
        return self._tops[key]

    def _top(self, times: int, sure: bool) -> tuple[int, BoxAt] | None:
        """By one multiplier: the best box to be measured or the best that is sure, whichever is worth more."""
        own, open_box = SCALE * self.points - times * self.cents, None
        for box in self.shelf.best_by(times):
            if self.sure[box.place] == "1" and not (sure and box.unsure):
                top = own + SCALE * box.points - times * box.cents, box
                return top if open_box is None else max(top, open_box, key=lambda one: one[0])
            if open_box is None and not sure and self.can[box.place] == "1":
                open_box = own + SCALE * (box.points + self.doubt) - times * box.cents, box
        return open_box

    def cents_least(self, sure: bool) -> int:
        """What they cost at least in a box."""
        boxes = (box for box, is_open in self.boxes() if not (sure and (is_open or box.unsure)))
        return self.cents + next((box.cents for box in boxes), 0)

    @cached_property
    def cone_cdb(self) -> int | None:
        """A bound on the level at which the cones alone come to their travel's end."""
        level_db = cone_db(self.terms, self.shelf.drivers)
        return None if level_db is None else math.ceil(100 * level_db)

    def front(self, sound: int) -> Front | None:
        """Bounds on both levels in a box of this sound; None where either is not known."""
        lift, power, cone = self.shelf.lifts_cdb[sound], self.powers_cdb[sound], self.cone_cdb
        if lift is None or cone is None or power == UNKNOWN_CDB:
            return None
        return Front(power, NO_LIMIT_CDB if lift == NO_LIMIT_CDB else cone + lift, sound)

    @cached_property
    def fronts(self) -> list[Front]:
        """The bounds on their levels in the boxes that they go into, without those that another one exceeds."""
        by_power = sorted(range(len(self.powers_cdb)), key=self.powers_cdb.__getitem__, reverse=True)
        kept: list[Front] = []
        most = -NO_LIMIT_CDB
        for sound in by_power:
            lift = self.shelf.lifts_cdb[sound]
            if lift is not None and lift > most:
                front = self.front(sound)
                if front is not None and self.cheapest(sound, False) is not None:
                    kept.append(front)
                    most = lift
        return kept

    def cheapest(self, sound: int, sure: bool) -> BoxAt | None:
        """The cheapest box of a sound that they go into, or surely go into."""
        bits = self.sure if sure else self.can
        return next(
            (box for box in self.shelf.alike[sound] if bits[box.place] == "1" and not (sure and box.unsure)), None
        )

    def every(self) -> Iterator[BassSystem]:
        """Each of them worked out."""
        return (self.make(self, box, is_open) for box, is_open in self.boxes())


def foremost(fronts: Iterable[Front]) -> list[Front]:
    """Of bounds that come by falling power those that no other one exceeds in both levels."""
    kept: list[Front] = []
    for front in fronts:
        if not kept or front.travel_cdb > kept[-1].travel_cdb:
            kept.append(front)
    return kept


def level_on(fronts: Sequence[Front], gain_cdb: int | None) -> int | None:
    """The most that any of some bounds allows with so much gain."""
    if gain_cdb is None:
        return None
    return max((min(front.at_1w_cdb + gain_cdb, front.travel_cdb) for front in fronts), default=None)
