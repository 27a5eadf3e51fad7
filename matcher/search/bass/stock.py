"""Subwoofers and boxes that fit one cargo space, as arrays, independent of any job's wishes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import UNKNOWN, Column, Columns
from matcher.kernel.verdicts import Codes
from matcher.rules.bass import BASS
from matcher.rules.rule import FITS, NO, STOPS, rules_of
from matcher.rules.terms import read_by
from matcher.search.bass.estimates import stated_terms
from matcher.search.bass.levels import BoxTerms, DriverTerms, Levels, levels_of, spread_share
from matcher.search.bass.made import MadeShapes, Workshop
from matcher.search.bass.nets import SystemClass
from matcher.search.catalog.parts import Parts, cell
from matcher.search.exact.arrays import pareto_rows
from matcher.search.exact.choices import Ints
from matcher.search.feeds.parts import SpeakerSignature
from matcher.search.scoring import NOT_KNOWN, Scoring
from matcher.settings import Settings

Flags = NDArray[np.bool_]
Name = tuple[str, str, str]
"""Driver, box, number and place of a system, in the total order; a box made to measure has no name."""
MADE = -1
"""Row number of a box made to measure."""
ELECTRIC = ("coil_ohm", "coils", "rms_w")
"""Figures of a driver that matter to its feed."""
NO_PAIR = NOT_KNOWN - 1
"""Level of a driver in a box that it does not fit."""
AT_ONCE = 500_000
"""Number of pairs compared in one step."""


class PartTally(NamedTuple):
    """Number of parts that occur in some system, and of those that need no measuring there."""

    parts: int
    sure: int


class Front(NamedTuple):
    """For each driver, the boxes that raise one of its level limits above every cheaper box."""

    driver: Ints
    box: Ints
    power: Ints
    travel: Ints
    """Greatest limits in this box or a cheaper one, as in `Levels.limits`."""


class BoxLoss(NamedTuple):
    """Causes of lost points of boxes, other than price."""

    step: int
    """Required step of the alteration ladder."""
    code: int
    """Verdict code of the box in the space."""
    no_port: bool
    """Whether they are vented with no stated port."""

    def points(self, scoring: Scoring) -> int:
        """Points lost, not counting the verdict code."""
        return scoring.look(self.step) + scoring.port * self.no_port


@dataclass
class BoxGroup:
    """Boxes for a number of drivers, cheapest first, and the drivers that fit any of them.

    Either catalog boxes for drivers of one size, or one box made to measure per driver. All lose the same points apart
    from their price, so loud and cheap ones bound the others.
    """

    drivers: int
    driver: Ints
    """Rows of the catalog's drivers."""
    driver_cents: Ints
    system_class: Ints
    """Index into the stock's classes, by driver."""
    box: Ints
    """Rows of the catalog's boxes, or `MADE`."""
    box_cents: Ints
    """One column per box; one row for all drivers, or one per driver for boxes made to measure."""
    loss: BoxLoss
    code: Codes
    """Verdict codes by driver and box; NO if the driver does not fit."""
    sound: Ints
    """Index of the kind of sound, by box."""
    terms: BoxTerms
    """By kind of sound; by driver for boxes made to measure."""
    limits: tuple[Ints, Ints]
    """Level limits by driver and kind of sound, as in `Levels.limits`."""
    shapes: MadeShapes | None = None
    """Boxes made to measure, by driver."""
    _fronts: dict[bool, Front] = field(init=False, default_factory=dict)

    @cached_property
    def can(self) -> Flags:
        """Whether each driver fits each box."""
        found: Flags = self.code != NO
        return found

    def allowed(self, sure: bool) -> Flags:
        """Pairs to consider: all that fit, or only those that need no measuring."""
        return (self.code == FITS) & (self.loss.code == FITS) if sure else self.can

    def only(self, pairs: Flags) -> BoxGroup:
        """Restrict the group to some pairs of driver and box."""
        return replace(self, code=np.where(pairs, self.code, np.int8(NO)))

    def box_points(self, scoring: Scoring) -> Ints:
        """Points of the boxes by themselves, in the shape of `box_cents`."""
        return scoring.price(self.box_cents) + self.loss.points(scoring) + scoring.unknown(self.loss.code)

    @property
    def loudest(self) -> list[int]:
        """The greatest limit of any pair by power on 1 W, and by travel."""
        return [int(level[:, self.sound][self.can].max(initial=NOT_KNOWN)) for level in self.limits]

    @cached_property
    def surest(self) -> Codes:
        """The best verdict code of each driver in any box."""
        found: Codes = np.minimum(self.code, self.loss.code).max(axis=1, initial=STOPS)
        return found

    def front(self, sure: bool) -> Front:
        """Return the pairs that bound all others on any feed."""
        if sure not in self._fronts:
            can, step = self.allowed(sure), max(1, AT_ONCE // len(self.box))
            parts = [self._front(at, can[at : at + step]) for at in range(0, len(can), step)]
            self._fronts[sure] = Front(*np.concatenate(parts, axis=1))
        return self._fronts[sure]

    def _front(self, start: int, can: Flags) -> Ints:
        limits = (level[start : start + len(can)].take(self.sound, axis=1) for level in self.limits)
        most = [np.where(can, level, np.int32(NO_PAIR)) for level in limits]
        for level in most:
            np.maximum.accumulate(level, axis=1, out=level)
        is_more = can.copy()
        is_more[:, 1:] &= np.any([level[:, 1:] > level[:, :-1] for level in most], axis=0)
        driver, box = np.nonzero(is_more)
        return np.stack([driver + start, box, *(level[driver, box] for level in most)])


class Bounds(NamedTuple):
    """Pareto-optimal pairs of each class by level limits, price and verdict: they bound all pairs."""

    system_class: Ints
    cents: Ints
    power: Ints
    travel: Ints
    code: Ints
    """Best verdict code of the driver in any box."""
    loss: Ints
    """Index into `losses`."""
    losses: Sequence[BoxLoss]


@dataclass
class Stock:
    """All drivers and boxes that fit one cargo space."""

    opening_id: str
    drivers: Parts
    boxes: Parts
    opening: Columns
    """One row, including ``zone``."""
    workshop: Workshop | None
    """None if a measure of the space is unknown: then no box can be made for it."""
    classes: list[SystemClass]
    groups: list[BoxGroup]
    terms: DriverTerms
    """All drivers of the catalog, stated or estimated."""
    settings: Settings
    hope: tuple[int, int] | None = None
    """Limits assumed for unknown levels; None: they stay unknown."""
    _bounds: dict[bool, Bounds] = field(init=False, default_factory=dict)

    def levels(self, one: BoxGroup, driver: int, boxes: Any) -> Levels:
        """Return the levels of one driver in some boxes of a group."""
        terms = one.terms.take(one.sound[boxes] if one.shapes is None else [driver])
        found = levels_of(self.terms.take(one.driver[[driver]]), one.drivers, terms, self.settings).take(0, slice(None))
        return found if self.hope is None else found.at_least(self.hope)

    def judged(self, one: BoxGroup, driver: int, boxes: Any, gain_cdb: int) -> Ints:
        """Return the levels that earn points on a feed with this gain."""
        return self.levels(one, driver, boxes).judged(gain_cdb, spread_share(self.settings))

    def bounds(self, sure: bool) -> Bounds:
        """Return bounds of each class of systems: of all pairs, or only of those that need no measuring."""
        if sure not in self._bounds:
            self._bounds[sure] = self._bounding(sure)
        return self._bounds[sure]

    def _bounding(self, sure: bool) -> Bounds:
        rows, losses = [np.zeros((6, 0), np.int64)], list(dict.fromkeys(one.loss for one in self.groups))
        for one in self.groups:
            driver, box, *limits = one.front(sure)
            cents = one.driver_cents[driver] + np.broadcast_to(one.box_cents, one.can.shape)[driver, box]
            loss = np.full(len(driver), losses.index(one.loss))
            rows.append(np.stack([one.system_class[driver], cents, *limits, one.surest[driver], loss]))
        system_class, cents, power, travel, code, loss = np.concatenate(rows, axis=1)
        alike = ((FITS + 1) * system_class + code) * len(losses) + loss
        kept = pareto_rows(-cents[:, None], power, travel, np.unique(alike, return_inverse=True)[1])
        return Bounds(system_class[kept], cents[kept], power[kept], travel[kept], code[kept], loss[kept], losses)

    @cached_property
    def ways(self) -> Counter[SystemClass]:
        """Number of systems by electrical class."""
        found = np.zeros(len(self.classes), np.int64)
        for one in self.groups:
            np.add.at(found, one.system_class, one.can.sum(axis=1))
        return Counter(dict(zip(self.classes, found.tolist(), strict=True)))

    @cached_property
    def going_in(self) -> tuple[PartTally, PartTally]:
        """Drivers that fit some box, and catalog boxes that take some driver."""
        drivers, boxes = (np.zeros((2, len(each)), np.bool_) for each in (self.drivers, self.boxes))
        for one in self.groups:
            for at, pairs in enumerate((one.can, one.allowed(True))):
                drivers[at, one.driver[pairs.any(axis=1)]] = True
                boxes[at, one.box[pairs.any(axis=0) & (one.box != MADE)]] = True
        can, sure = (PartTally(*map(int, each.sum(axis=1))) for each in (drivers, boxes))
        return can, sure

    def only(self, pairs: Callable[[BoxGroup], Flags]) -> Stock:
        """Restrict each group to some pairs."""
        return replace(self, groups=[one.only(pairs(one)) for one in self.groups])

    def with_part(self, part_id: str) -> Stock:
        """Restrict to systems with a given part."""
        drivers, boxes = self.drivers.part_ids == part_id, np.append(self.boxes.part_ids == part_id, False)
        return self.only(lambda one: drivers[one.driver][:, None] | boxes[one.box])

    def named(self, names: Collection[Name], *, without: bool = False) -> Stock:
        """Restrict to some systems by name, or exclude them."""
        rows = [(self.drivers.row(driver), self.boxes.row(box) if box else MADE, rest) for driver, box, rest in names]

        def pairs(one: BoxGroup) -> Flags:
            found = np.full(one.can.shape, without)
            for driver, box, rest in rows:
                if rest == self._rest(one):
                    found[np.ix_(one.driver == driver, one.box == box)] = not without
            return found

        return self.only(pairs)

    def open(self) -> Stock:
        """Restrict to systems with an open fit or an unknown driver figure."""
        stated = ~np.isnan(np.sum(stated_terms(self.drivers), axis=0))
        return self.only(lambda one: ~(one.allowed(True) & stated[one.driver][:, None]))

    def at_least(self, most: tuple[int, int]) -> Stock:
        """Replace unknown levels by the given limits."""

        def hoped(one: BoxGroup) -> BoxGroup:
            power, travel = (
                np.where(level > NOT_KNOWN, level, top) for level, top in zip(one.limits, most, strict=True)
            )
            return replace(one, limits=(power, travel))

        return replace(self, groups=[hoped(one) for one in self.groups], hope=most)

    def name(self, one: BoxGroup, driver: int, box: int) -> Name:
        """Return the name of a system, by its position in a group."""
        boxed = "" if one.box[box] == MADE else str(self.boxes.part_ids[one.box[box]])
        return str(self.drivers.part_ids[one.driver[driver]]), boxed, self._rest(one)

    def _rest(self, one: BoxGroup) -> str:
        return f"{one.drivers} {self.opening_id}"


def signature_of(drivers: Parts, row: int, many: int) -> SpeakerSignature:
    """Return the electrical class of this number of drivers of a model."""
    ohm, coils, rms = (cell(drivers.cells[name], row) for name in ELECTRIC)
    return SpeakerSignature(ohm, int(coils), None if rms is None else many * rms)


def driver_columns(drivers: Parts, rows: Any) -> Columns:
    """Return some drivers as the rules of drivers in boxes read them."""
    return read_columns(drivers, "part", BASS).take(rows)


def box_columns(boxes: Parts, rows: Any) -> Columns:
    """Return some catalog boxes as the rules of drivers in boxes read them."""
    made_to_measure = {"box.made": Column(np.zeros(1, np.bool_))}
    made_to_measure |= dict.fromkeys(("box.front_w_mm", "box.front_h_mm", "box.priced"), UNKNOWN)
    return read_columns(boxes, "box", BASS).take(rows) | made_to_measure


def read_columns(parts: Parts, subject: str, scope: str) -> Columns:
    """Return a family's parts as the rules of a scope read them."""
    return Columns({f"{subject}.{name}": parts.cells[name] for name in _read(subject, scope) if name in parts.cells})


@cache
def _read(subject: str, scope: str) -> list[str]:
    """Fields of a subject that the rules of a scope read."""
    figures = read_by(*(term for rule in rules_of(scope) for term in rule.terms))
    return [one.field for one in figures if one.subject == subject]
