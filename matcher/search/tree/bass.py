"""Bass: drivers in boxes at cargo spaces, with the channel groups that can drive them.

Pairs are not enumerated. A class of systems is bounded by its Pareto-optimal pairs of price and loudness, for each
channel group and coil wiring; a driver is bounded by the boxes that make it louder than every cheaper one does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np

from matcher.rules.rule import FITS, NO
from matcher.search.bass.nets import SystemClass, coil_nets_of
from matcher.search.bass.side import BassSide
from matcher.search.bass.stock import BoxGroup, Stock
from matcher.search.bass.systems import BassSystem, system_at
from matcher.search.exact.arrays import Flags, figures_of
from matcher.search.exact.choices import (
    ENDLESS,
    SPREAD,
    Ints,
    Slot,
    Union,
    relaxed_by_cents,
)
from matcher.search.feeds.links import CoilWiring
from matcher.search.feeds.plans import Mode
from matcher.search.scoring import Scoring
from matcher.search.tree.channels import OPEN_FEED, ChannelGroups, Wired, feeds_of
from matcher.search.tree.tops import LevelTops

TURN = 3


class _Group(NamedTuple):
    """A group of boxes, with the points of drivers and boxes by themselves."""

    stock: Stock
    boxes: BoxGroup
    driver_class: Ints
    driver_points: Ints
    box_points: Ints


class BassSource(NamedTuple):
    """A way in which an amplifier drives bass: mode, channel group, and verdict code of its channels."""

    mode: Mode
    group: int
    code: int


@dataclass(frozen=True)
class OnSource:
    """Contents of the bass slot: mode, coil wiring, and verdict code of the feed."""

    mode: Mode
    coils: CoilWiring
    code: int
    gain: int
    wiring: int
    """Index among the wirings of all classes."""
    system_class: int


class BassOptions:
    """All bass systems on every source that can drive them.

    Parameters
    ----------
    groups
        Channel groups by mode.
    """

    def __init__(self, side: BassSide, groups: dict[Mode, ChannelGroups], scoring: Scoring, *, sure: bool) -> None:
        self._own, self._feed_wanted = side.scoring, side.feed_wanted
        self._scoring, self._sure = scoring, sure
        self._groups: list[_Group] = []
        self._stocks: list[tuple[Stock, Ints]] = []
        numbers: dict[SystemClass, int] = {}
        for stock in side.stocks:
            number = np.array([numbers.setdefault(one, len(numbers)) for one in stock.classes], dtype=np.int64)
            self._stocks.append((stock, number))
            for one in stock.groups:
                points = self._own.price(one.driver_cents), one.box_points(self._own)
                self._groups.append(_Group(stock, one, number[one.system_class], *points))
        self._least = np.full(len(numbers), ENDLESS, dtype=np.int64)
        self._wire(list(numbers), groups, scoring)
        # What several amplifiers ask is made once.
        self.on = cache(self._on_sources)
        self._wirings = cache(self._wirings_on)
        self._level_tops = self._bound_levels()
        self._drivers, self._boxes = cache(self._by_drivers), cache(self._by_boxes)

    def _wire(self, classes: Sequence[SystemClass], groups: dict[Mode, ChannelGroups], scoring: Scoring) -> None:
        """Match each class in each coil wiring with every channel group."""
        wired = [(at, coils) for at, one in enumerate(classes) for coils in coil_nets_of(*one)]
        self._wiring_class = np.array([at for at, _ in wired], dtype=np.int64)
        self._coils = [coils for _, coils in wired]
        loads = figures_of([coils.load_ohm for coils in self._coils])
        rms = figures_of([classes[at][1].rms_w for at, _ in wired])
        kinds = Wired(loads, np.ones(len(wired), dtype=np.int64), rms, np.zeros(len(wired), dtype=np.bool_))
        self._feeds = {
            mode: feeds_of(some, kinds, None, scoring.hopeful, scoring.settings) for mode, some in groups.items()
        }

    def _bound_levels(self) -> LevelTops:
        """Bounds of each class of systems; the loss of an open verdict is counted once."""
        rows = [np.zeros((7, 0), dtype=np.int64)]
        for stock, number in self._stocks:
            found = stock.bounds(self._sure)
            # Driver and box, each rounded by itself, lose up to a hundredth less than the sum of their money.
            boxes = np.array([loss.points(self._own) for loss in found.losses], np.int64)
            points = 1 + boxes[found.loss] + self._own.price(found.cents)
            lost = [self._lost(found.code, on_feed) for on_feed in (FITS, OPEN_FEED)]
            rows.append(np.stack([number[found.system_class], points, found.cents, found.power, found.travel, *lost]))
        system_class, points, cents, power, travel, lost_sure, lost_doubtful = np.concatenate(rows, axis=1)
        np.minimum.at(self._least, system_class, cents)
        many = len(self._least)
        return LevelTops(points, cents, (power, travel), (lost_sure, lost_doubtful), system_class, many, self._points)

    def _points(self, level: Ints) -> Ints:
        """Points for judged levels; None if one is unknown."""
        return self._scoring.bass_points(level)

    def _lost(self, own: Ints, on_feed: int) -> Ints:
        """Points lost by verdict codes of fits and feed: of two open ones the riskier counts."""
        more: Ints = np.minimum(self._scoring.losses[on_feed] - self._scoring.losses[own], 0)
        return self._own.losses[own] + more

    def _on_sources(self, sources: tuple[BassSource, ...]) -> Union:
        """Return the bass on any of some sources: a union over classes and wirings, then drivers, then boxes."""
        fills = [each for source in sources for each in self._wirings(source)]
        columns = [(one.gain, one.code != FITS, one.system_class) for one in fills]
        gain, is_doubtful, system_class = np.array(columns, dtype=np.int64).reshape(-1, 3).T
        tables, at = self._level_tops.tables(gain)
        tops = tables[at, is_doubtful, system_class]
        return Union(tops[:, SPREAD], self._least[system_class], None, lambda at: (0, [self._drivers(fills[at])]))

    def _wirings_on(self, source: BassSource) -> list[OnSource]:
        """Coil wirings of every class that a source can drive."""
        feeds, at = self._feeds[source.mode], source.group
        gain = feeds.gain[at, :, 0]
        code = np.minimum(feeds.code[at, :, 0], source.code)
        some: Flags = code == FITS if self._sure else code != NO
        if self._feed_wanted is not None:
            some = some & np.array([self._feed_wanted == (source.mode, coils.net) for coils in self._coils])
        kept = np.flatnonzero(some & (self._least[self._wiring_class] < ENDLESS))
        columns = (each[kept].tolist() for each in (code, gain, np.arange(len(code)), self._wiring_class))
        rows = zip(*columns, strict=True)
        return [OnSource(source.mode, self._coils[one[2]], *one) for one in rows]

    def _by_drivers(self, fills: OnSource) -> Union:
        """Return the systems of a class in a wiring: a union over its drivers."""
        rows = np.concatenate([self._rows_of(at, fills) for at in range(len(self._groups))])
        points, cents, level, of, driver, own = rows.T
        points = points + self._points(level) + self._lost(own, fills.code)
        first = np.flatnonzero(np.r_[True, (of[1:] != of[:-1]) | (driver[1:] != driver[:-1])])
        tops = np.maximum.reduceat(relaxed_by_cents(points, cents), first, axis=0)[:, SPREAD]
        which = np.stack([of[first], driver[first]], axis=1).tolist()
        least = np.minimum.reduceat(cents, first)
        return Union(tops, least, None, lambda at: (0, [self._boxes(fills, *which[at])]))

    def _rows_of(self, at: int, fills: OnSource) -> Ints:
        """Rows that bound the systems of a class in a group: points, cents, level, group, driver, best verdict code.

        Each row stands for a box and the dearer ones up to the next row: it has the greatest level up to there, and the
        price and points of the box, as if its verdict were FITS.
        """
        group, boxes = self._groups[at], self._groups[at].boxes
        front = boxes.front(self._sure)
        some = np.flatnonzero(group.driver_class[front.driver] == fills.system_class)
        driver, box, power, travel = (each[some] for each in front)
        level = np.minimum(power + fills.gain, travel)
        clean = group.box_points - self._own.unknown(boxes.loss.code)
        earned, money = (np.broadcast_to(each, boxes.can.shape)[driver, box] for each in (clean, boxes.box_cents))
        points, cents = group.driver_points[driver] + earned, boxes.driver_cents[driver] + money
        own = points, cents, level, np.full(len(some), at), driver, boxes.surest[driver]
        return np.stack(own, axis=1)

    def _by_boxes(self, fills: OnSource, at: int, driver: int) -> BassSlot:
        """Return the drivers of one model in every box that takes them, or in the one made for them."""
        of, one = self._groups[at], self._groups[at].boxes
        boxes = np.flatnonzero(one.allowed(self._sure)[driver])
        points, cents = (np.broadcast_to(each, one.can.shape)[driver, boxes] for each in (of.box_points, one.box_cents))
        code = one.code[driver, boxes]
        points = of.driver_points[driver] + points + self._own.losses[code]
        cents, code = one.driver_cents[driver] + cents, np.minimum(code, one.loss.code)
        level = of.stock.judged(one, driver, boxes, fills.gain)
        lost = np.minimum(self._scoring.unknown(fills.code) - self._scoring.losses[code], 0)
        points = points + self._points(level) + lost
        return BassSlot(points, cents, fills, of, driver, boxes, code != FITS, self._own)


class BassSlot(Slot):
    """Drivers of one model in one of several boxes, on one source."""

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
        """Whether the fit of an entry is open."""
        return bool(self._doubts[position])

    def system(self, position: int) -> BassSystem:
        """Return the system of an entry."""
        of = self._group
        return system_at(of.stock, of.boxes, self._driver, int(self._boxes[position]), self._scoring)
