"""Bass: drivers in boxes at cargo spaces, on the channel groups that may drive them.

Nothing is listed pair by pair. Of each driver the boxes that are louder than every cheaper one bound all its boxes;
classes of systems are bounded by those rows, on each channel group in each coil wiring.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from matcher.rules.rule import FITS, NO
from matcher.search.bass.figures import BassSystem, coil_nets_of
from matcher.search.exact.choices import (
    CENTS_ONLY,
    ENDLESS,
    IMPOSSIBLE,
    ROWS,
    SCALE,
    SPREAD,
    Alternative,
    Ints,
    Slot,
    Union,
    relaxed_by_cents,
)
from matcher.search.feeds.links import Coils
from matcher.search.feeds.parts import SpeakerSignature
from matcher.search.feeds.plans import Mode
from matcher.search.scoring import Scoring
from matcher.search.tree.arrays import NOT_KNOWN, Flags
from matcher.search.tree.channels import ChannelGroups, Wired, feeds_of, figures_of

TURN = 3
STEP_CDB = 32
"""How finely levels bound: rounded up to a third of a decibel."""
LOUDEST_CDB = 100_000
"""No level counts beyond it."""

SystemClass = tuple[int, SpeakerSignature]
"""How many drivers, and what one is: all that a feed sees of a system."""


@dataclass
class BoxShelf:
    """Enclosures of the catalog for so many drivers of one size at one cargo space, and the drivers that go in."""

    driver_class: Ints
    driver_points: Ints
    driver_cents: Ints
    box_points: Ints
    box_cents: Ints
    box_doubt: Flags
    sound: Ints
    """By box: which of those that differ in sound it is."""
    can: Flags
    sure: Flags
    """By driver and box: whether it may go in, and whether that is sure."""
    at_1w: Ints
    travel: Ints
    """By driver and sound: levels in hundredths of a decibel."""
    driver_names: Sequence[str]
    box_names: Sequence[str]
    where: str
    make: object
    """Makes the system of a driver and a box, by their positions."""


@dataclass
class MadeBoxes:
    """Drivers in boxes made to measure."""

    system_class: Ints
    points: Ints
    cents: Ints
    doubt: Flags
    at_1w: Ints
    travel: Ints
    systems: Sequence[BassSystem]


class BassSource(NamedTuple):
    """A way in which an amplifier drives bass: a mode, a channel group, and how sure its channels are."""

    mode: Mode
    group: int
    code: int


@dataclass(frozen=True)
class OnSource:
    """What fills the bass slot: the mode, the coil wiring, and what the rules say of the feed."""

    mode: Mode
    coils: Coils
    code: int
    gain: int
    in_aim: bool
    wiring: int


class _Wirings(NamedTuple):
    """System classes in coil wirings on one source."""

    group: Ints
    wiring: Ints
    gain: Ints
    code: Ints
    in_aim: Flags


class BassOptions:
    """Every bass system on every source that may drive it.

    Parameters
    ----------
    classes
        What a feed sees of systems.
    groups
        The channel groups by mode.
    feed_wanted
        The mode and the coil wiring that alone are looked at; None: all.
    """

    def __init__(
        self,
        classes: Sequence[SystemClass],
        shelves: Sequence[BoxShelf],
        made: MadeBoxes,
        groups: dict[Mode, ChannelGroups],
        scoring: Scoring,
        *,
        sure: bool,
        feed_wanted: tuple[str, str] | None = None,
    ) -> None:
        self.shelves, self.made, self._scoring, self._sure = shelves, made, scoring, sure
        self._doubt, self._feed_wanted = scoring.unknown(True), feed_wanted
        self._aimed = scoring._weighted("bass", scoring.settings["points_aim"])
        self._wire(classes, groups)
        self._bound(len(classes))
        self._on: dict[BassSource, _Wirings] = {}
        self._tops: dict[tuple[int, int, bool], Ints] = {}
        self._made: dict[object, Union | Slot] = {}

    def _wire(self, classes: Sequence[SystemClass], groups: dict[Mode, ChannelGroups]) -> None:
        """Meet each class in each coil wiring with every channel group."""
        wired = [(at, coils) for at, one in enumerate(classes) for coils in coil_nets_of(*one)]
        self._wiring_class = np.array([at for at, _ in wired], dtype=np.int64)
        self._coils = [coils for _, coils in wired]
        loads = figures_of([coils.load_ohm for coils in self._coils])
        rms = figures_of([classes[at][1].rms_w for at, _ in wired])
        kinds = Wired(loads, np.ones(len(wired), dtype=np.int64), rms, np.zeros(len(wired), dtype=np.bool_))
        self._feeds = {mode: feeds_of(some, kinds, None, self._scoring) for mode, some in groups.items()}

    def _bound(self, classes: int) -> None:
        """Rows that bound all systems: class, points, cents, levels, shelf (-1: made), driver, all in doubt.

        Points are as if every fit were sure: what is in doubt, or on a doubtful feed, loses the same once.
        """
        made, count = self.made, len(self.made.points)
        clean = made.points - np.where(made.doubt, self._doubt, 0)
        levels = made.at_1w, np.minimum(made.travel, LOUDEST_CDB)
        own = [made.system_class, clean, made.cents, *levels, np.full(count, -1), np.arange(count), made.doubt]
        rows = [np.stack(own, axis=1), *(self._bounding(at, shelf) for at, shelf in enumerate(self.shelves))]
        every = np.concatenate(rows)
        self._rows = every[np.lexsort((every[:, 6], every[:, 5], every[:, 0]))]
        self._start = np.searchsorted(self._rows[:, 0], np.arange(classes + 1))
        self._least = np.full(classes, ENDLESS, dtype=np.int64)
        np.minimum.at(self._least, self._rows[:, 0], self._rows[:, 2])

    def _bounding(self, at: int, shelf: BoxShelf) -> Ints:
        """Of each driver the boxes that are louder than every cheaper one, each standing for itself and all dearer.

        Such a row holds the greatest levels up to there, the least money from there on, and the most points of a box
        from there on, as if its fit were sure.
        """
        order = np.argsort(shelf.box_cents, kind="stable")
        if not len(order) or not len(shelf.driver_class):
            return np.zeros((0, 8), dtype=np.int64)
        clean = (shelf.box_points - np.where(shelf.box_doubt, self._doubt, 0))[order]
        most, can = np.maximum.accumulate(clean[::-1])[::-1], self._allowed(shelf)[:, order]
        levels = [self._running(level, shelf.sound[order], can) for level in (shelf.at_1w, shelf.travel)]
        new = can.copy()
        new[:, 1:] = (levels[0][:, 1:] > levels[0][:, :-1]) | (levels[1][:, 1:] > levels[1][:, :-1])
        driver, box = np.nonzero(new)
        rough = [each[driver, box].astype(np.int64) for each in levels]
        at_1w, travel = (np.where(level < 0, NOT_KNOWN, STEP_CDB * level) for level in rough)
        points = shelf.driver_points[driver] + most[box]
        cents = shelf.driver_cents[driver] + shelf.box_cents[order][box]
        doubt = np.logical_not((shelf.sure & ~shelf.box_doubt).any(axis=1))
        which = np.full(len(driver), at)
        columns = [shelf.driver_class[driver], points, cents, at_1w, travel, which, driver, doubt[driver]]
        return np.stack(columns, axis=1)

    @staticmethod
    def _running(level: Ints, sound: Ints, can: Flags) -> np.ndarray:
        """The greatest level in any box so far, in coarse steps rounded up; -2: in none, -1: not known."""
        steps = np.where(level > NOT_KNOWN, (np.clip(level, 0, LOUDEST_CDB) + STEP_CDB - 1) // STEP_CDB, -1)
        by_box = np.where(can, np.take(steps.astype(np.int16), sound, axis=1), np.int16(-2))
        return np.maximum.accumulate(by_box, axis=1)

    def _allowed(self, shelf: BoxShelf) -> Flags:
        return shelf.sure & ~shelf.box_doubt if self._sure else shelf.can

    def _points(self, at_1w: Ints, travel: Ints, gain: int) -> Ints:
        """Points for the level on a feed: the lower of what power and travel allow."""
        if gain == NOT_KNOWN:
            return np.zeros_like(at_1w)
        level = np.minimum(at_1w + gain, travel)
        known = at_1w > NOT_KNOWN
        return np.where(known, self._scoring.bass_points(np.where(known, level, 0)), 0)

    def wirings(self, source: BassSource) -> _Wirings:
        """The classes in the wirings that a source carries."""
        if source not in self._on:
            feeds = self._feeds[source.mode]
            group = source.group
            gain, in_aim = feeds.gain[group, :, 0], feeds.in_aim[group, :, 0]
            code = np.minimum(feeds.code[group, :, 0], source.code)
            some: Flags = code == FITS if self._sure else code != NO
            if self._feed_wanted is not None:
                some = some & np.array([self._feed_wanted == (source.mode, coils.net) for coils in self._coils])
            kept = np.flatnonzero(some & (self._least[self._wiring_class] < ENDLESS))
            self._on[source] = _Wirings(self._wiring_class[kept], kept, gain[kept], code[kept], in_aim[kept])
        return self._on[source]

    def _class_top(self, group: int, gain: int, doubt: bool) -> Ints:
        """The greatest relaxed values of a class with a gain."""
        key = group, gain, doubt
        if key not in self._tops:
            rows = self._rows[self._start[group] : self._start[group + 1]]
            points = rows[:, 1] + self._points(rows[:, 3], rows[:, 4], gain) + self._doubt * (rows[:, 7] | doubt)
            self._tops[key] = relaxed_by_cents(points, rows[:, 2]).max(axis=0, initial=IMPOSSIBLE)
        return self._tops[key]

    def _wiring_tops(self, source: BassSource) -> Ints:
        on = self.wirings(source)
        columns = (one.tolist() for one in (on.group, on.gain, on.code, on.in_aim))
        tops = [
            self._class_top(group, gain, code != FITS) + SCALE * self._aimed * in_aim
            for group, gain, code, in_aim in zip(*columns, strict=True)
        ]
        return np.array(tops, dtype=np.int64).reshape(len(tops), len(CENTS_ONLY))[:, SPREAD]

    def on(self, sources: tuple[BassSource, ...]) -> Union:
        """The bass on any of some sources: a union over classes and wirings, then over drivers, then boxes."""
        if sources not in self._made:
            on = [self.wirings(source) for source in sources]
            tops = [self._wiring_tops(source) for source in sources]
            values = np.concatenate(tops) if tops else np.zeros((0, ROWS), dtype=np.int64)
            cents = np.concatenate([self._least[one.group] for one in on]) if on else np.zeros(0, dtype=np.int64)
            which = [(at, row) for at, one in enumerate(on) for row in range(len(one.group))]

            def make(position: int) -> Alternative:
                at, row = which[position]
                return 0, [self._drivers(sources[at], on[at], row)]

            self._made[sources] = Union(values, cents, None, make)
        found = self._made[sources]
        assert isinstance(found, Union)
        return found

    def _drivers(self, source: BassSource, on: _Wirings, row: int) -> Union:
        """The systems of a class in a wiring: a union over its drivers."""
        group, wiring, gain, code = (int(one[row]) for one in (on.group, on.wiring, on.gain, on.code))
        fills = OnSource(source.mode, self._coils[wiring], code, gain, bool(on.in_aim[row]), wiring)
        key = source.mode, wiring, gain, code, fills.in_aim
        if key not in self._made:
            rows = self._rows[self._start[group] : self._start[group + 1]]
            _, points, cents, at_1w, travel, shelf, driver, doubt = rows.T
            points = points + self._points(at_1w, travel, gain) + self._aimed * fills.in_aim
            points = points + self._doubt * (doubt | (fills.code != FITS))
            first = np.flatnonzero(np.r_[True, (shelf[1:] != shelf[:-1]) | (driver[1:] != driver[:-1])])
            tops = np.maximum.reduceat(relaxed_by_cents(points, cents), first, axis=0)[:, SPREAD]
            which = np.stack([shelf[first], driver[first]], axis=1).tolist()
            self._made[key] = Union(
                tops,
                np.minimum.reduceat(cents, first),
                None,
                lambda at: (0, [self._boxes(fills, *which[at])]),
            )
        found = self._made[key]
        assert isinstance(found, Union)
        return found

    def _boxes(self, fills: OnSource, shelf: int, driver: int) -> Slot:
        """The drivers of one model in every box that takes them, or in the one made for them."""
        key = fills, shelf, driver
        if key not in self._made:
            if shelf < 0:
                made, row = self.made, np.array([driver])
                points, cents, doubt = made.points[row], made.cents[row], made.doubt[row]
                at_1w, travel, boxes = made.at_1w[row], made.travel[row], row
            else:
                one = self.shelves[shelf]
                boxes = np.flatnonzero(self._allowed(one)[driver])
                is_open = ~one.sure[driver, boxes]
                points = one.driver_points[driver] + one.box_points[boxes] + np.where(is_open, self._doubt, 0)
                cents, doubt = one.driver_cents[driver] + one.box_cents[boxes], is_open | one.box_doubt[boxes]
                at_1w, travel = one.at_1w[driver, one.sound[boxes]], one.travel[driver, one.sound[boxes]]
            points = points + self._points(at_1w, travel, fills.gain) + self._aimed * fills.in_aim
            points = points + np.where((fills.code != FITS) & ~doubt, self._doubt, 0)
            self._made[key] = BassSlot(points, cents, self, fills, shelf, driver, boxes, doubt)
        found = self._made[key]
        assert isinstance(found, Slot)
        return found


class BassSlot(Slot):
    """Drivers of one model in any of some boxes, on one source."""

    def __init__(
        self,
        points: Ints,
        cents: Ints,
        options: BassOptions,
        fills: OnSource,
        shelf: int,
        driver: int,
        boxes: Ints,
        doubts: Flags,
    ) -> None:
        super().__init__(points, cents, None, fills, TURN)
        self.options, self.fills, self._shelf, self._driver = options, fills, shelf, driver
        self._boxes, self._doubts = boxes, doubts

    def name(self, position: int) -> tuple[str, str, str]:
        """Driver, box, number and place, as the total order compares them."""
        if self._shelf < 0:
            return self.options.made.systems[self._driver].name
        shelf = self.options.shelves[self._shelf]
        return shelf.driver_names[self._driver], shelf.box_names[int(self._boxes[position])], shelf.where

    def doubt(self, position: int) -> bool:
        """Whether the fit of an entry is still to be measured."""
        return bool(self._doubts[position])

    def system(self, position: int) -> BassSystem:
        """The system of an entry."""
        if self._shelf < 0:
            return self.options.made.systems[self._driver]
        shelf = self.options.shelves[self._shelf]
        made: BassSystem = shelf.make(self._driver, int(self._boxes[position]))  # type: ignore[operator]
        return made
