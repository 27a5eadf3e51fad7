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
from matcher.search.bass.nets import SystemClass, coil_nets_of
from matcher.search.bass.side import BassSide
from matcher.search.bass.stock import BoxGroup, Stock
from matcher.search.bass.systems import BassSystem, system_at
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
from matcher.search.feeds.plans import Mode
from matcher.search.scoring import NOT_KNOWN, Scoring
from matcher.search.tree.arrays import Flags
from matcher.search.tree.channels import ChannelGroups, Wired, feeds_of, figures_of

TURN = 3


class _Group(NamedTuple):
    """A group of boxes, with the points of drivers and boxes by themselves."""

    stock: Stock
    boxes: BoxGroup
    driver_class: Ints
    driver_points: Ints
    box_points: Ints


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
    groups
        The channel groups by mode.
    """

    def __init__(self, side: BassSide, groups: dict[Mode, ChannelGroups], scoring: Scoring, *, sure: bool) -> None:
        self.own, self._feed_wanted = side.scoring, side.feed_wanted
        self._scoring, self._sure, self._aimed = scoring, sure, scoring.bass_aimed
        self._doubt, self._own_doubt = scoring.unknown(True), self.own.unknown(True)
        numbers: dict[SystemClass, int] = {}
        self.groups: list[_Group] = []
        for stock in side.stocks:
            own = np.array([numbers.setdefault(one, len(numbers)) for one in stock.classes], np.int64)
            for one in stock.groups:
                points = self.own.prices(one.driver_cents), one.box_points(self.own)
                self.groups.append(_Group(stock, one, own[one.system_class], *points))
        self._wire(list(numbers), groups)
        self._bound(side, numbers)
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

    def _bound(self, side: BassSide, numbers: dict[SystemClass, int]) -> None:
        """Rows that bound all systems of a class: class, points, cents, levels, all in doubt.

        Points are as if every fit were sure: what is in doubt, or on a doubtful feed, loses the same once.
        """
        rows = [np.zeros((0, 6), dtype=np.int64)]
        for stock in side.stocks:
            number = np.array([numbers[one] for one in stock.classes], dtype=np.int64)
            bounds = stock.bounds(self._sure)
            # Driver and box, each rounded by itself, lose up to a hundredth less than the sum of their money.
            points = 1 + self.own.look(bounds.step) + self.own.prices(bounds.cents)
            own = number[bounds.system_class], points, bounds.cents, bounds.at_1w, bounds.travel, bounds.doubt
            rows.append(np.stack(own, axis=1))
        every = np.concatenate(rows)
        self._rows = every[np.argsort(every[:, 0], kind="stable")]
        self._start = np.searchsorted(self._rows[:, 0], np.arange(len(numbers) + 1))
        self._least = np.full(len(numbers), ENDLESS, dtype=np.int64)
        np.minimum.at(self._least, self._rows[:, 0], self._rows[:, 2])

    def _by_driver(self, at: int, system_class: int) -> Ints:
        """Rows that bound the systems of a class in a group: points, cents, levels, group, driver, all in doubt.

        Each stands for a box and all dearer ones: it holds the greatest levels up to there, the least money from there
        on, and the most points of a box from there on, as if its fit were sure.
        """
        group, boxes = self.groups[at], self.groups[at].boxes
        front = boxes.front(self._sure)
        some = np.flatnonzero(group.driver_class[front.driver] == system_class)
        driver, box, at_1w, travel = (each[some] for each in front)
        clean = group.box_points - np.where(boxes.box_doubt, self._own_doubt, 0)
        most = np.maximum.accumulate(clean[:, ::-1], axis=1)[:, ::-1]
        most, money = (np.broadcast_to(each, boxes.can.shape)[driver, box] for each in (most, boxes.box_cents))
        points, cents = group.driver_points[driver] + most, boxes.driver_cents[driver] + money
        own = points, cents, at_1w, travel, np.full(len(some), at), driver, boxes.all_in_doubt[driver]
        rows = np.stack(own, axis=1)
        return rows[np.argsort(driver, kind="stable")]

    def _points(self, at_1w: Ints, travel: Ints, gain: int) -> Ints:
        """Points for the level on a feed: the lower of what power and travel allow."""
        if gain == NOT_KNOWN:
            return np.zeros_like(at_1w)
        level = np.minimum(at_1w + gain, travel)
        known = at_1w > NOT_KNOWN
        return np.where(known, self._scoring.bass_points(np.where(known, level, 0)), 0)

    def _lost(self, doubt: Ints, on_feed: bool) -> Ints:
        """Points lost once for a doubtful fit, or for a doubtful feed where the fit is sure."""
        return np.where(doubt != 0, self._own_doubt, self._doubt if on_feed else 0)

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
            points = rows[:, 1] + self._points(rows[:, 3], rows[:, 4], gain) + self._lost(rows[:, 5], doubt)
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
            rows = np.concatenate([self._by_driver(at, group) for at in range(len(self.groups))])
            points, cents, at_1w, travel, of, driver, doubt = rows.T
            points = points + self._points(at_1w, travel, gain) + self._aimed * fills.in_aim
            points = points + self._lost(doubt, fills.code != FITS)
            first = np.flatnonzero(np.r_[True, (of[1:] != of[:-1]) | (driver[1:] != driver[:-1])])
            tops = np.maximum.reduceat(relaxed_by_cents(points, cents), first, axis=0)[:, SPREAD]
            which = np.stack([of[first], driver[first]], axis=1).tolist()
            self._made[key] = Union(
                tops,
                np.minimum.reduceat(cents, first),
                None,
                lambda at: (0, [self._boxes(fills, *which[at])]),
            )
        found = self._made[key]
        assert isinstance(found, Union)
        return found

    def _boxes(self, fills: OnSource, group: int, driver: int) -> Slot:
        """The drivers of one model in every box that takes them, or in the one made for them."""
        key = fills, group, driver
        if key not in self._made:
            of, one = self.groups[group], self.groups[group].boxes
            rows = np.flatnonzero(one.allowed(self._sure)[driver])
            figures = (of.box_points, one.box_cents, one.box_doubt)
            points, cents, doubt = (np.broadcast_to(each, one.can.shape)[driver, rows] for each in figures)
            is_open, sound = ~one.sure[driver, rows], one.sound[rows]
            points = of.driver_points[driver] + points + np.where(is_open, self._own_doubt, 0)
            cents, doubt = one.driver_cents[driver] + cents, doubt | is_open
            at_1w, travel = (each[driver, sound] for each in one.levels)
            points = points + self._points(at_1w, travel, fills.gain) + self._aimed * fills.in_aim
            points = points + np.where((fills.code != FITS) & ~doubt, self._doubt, 0)
            self._made[key] = BassSlot(points, cents, fills, of, driver, rows, doubt, self.own)
        found = self._made[key]
        assert isinstance(found, Slot)
        return found


class BassSlot(Slot):
    """Drivers of one model in any of some boxes, on one source."""

    def __init__(
        self,
        points: Ints,
        cents: Ints,
        fills: OnSource,
        group: _Group,
        driver: int,
        boxes: Ints,
        doubts: Flags,
        scoring: Scoring,
    ) -> None:
        super().__init__(points, cents, None, fills, TURN)
        self.fills, self._group, self._driver = fills, group, driver
        self._boxes, self._doubts, self._scoring = boxes, doubts, scoring

    def name(self, position: int) -> tuple[str, str, str]:
        """Driver, box, number and place, as the total order compares them."""
        return self._group.stock.name(self._group.boxes, self._driver, int(self._boxes[position]))

    def doubt(self, position: int) -> bool:
        """Whether the fit of an entry is still to be measured."""
        return bool(self._doubts[position])

    def system(self, position: int) -> BassSystem:
        """The system of an entry."""
        of = self._group
        return system_at(of.stock, of.boxes, self._driver, int(self._boxes[position]), self._scoring)
