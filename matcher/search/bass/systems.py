"""Bass systems as an answer shows them: drivers of one model in one box."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import NamedTuple

import numpy as np

from matcher.formulas.box import ClosedBox, closed_box
from matcher.formulas.cargo import Space
from matcher.formulas.driver import reference_efficiency
from matcher.formulas.loudness import sens_of_efficiency_db
from matcher.formulas.output import MaxLevel, VentedSystem, closed_max_level, vented_max_level
from matcher.kernel.columns import Columns
from matcher.search.bass.made import MadeShapes, made_cents
from matcher.search.bass.stock import BoxGroup, Stock, box_columns, driver_columns, signature_of
from matcher.search.candidates.common import NO_ADAPTER, cost_of, points_of
from matcher.search.feeds.links import Link, link_gain_cdb
from matcher.search.feeds.parts import Candidate, Cost, SpeakerSignature
from matcher.search.fits.mounted import cell, money_of
from matcher.search.scoring import NOT_KNOWN, Scoring

DRIVER_FIGURES = ("fs_hz", "qts", "qes", "vas_l", "sd_cm2", "xmax_mm")
"""The figures of a driver that its level hangs on."""


@dataclass(frozen=True, slots=True)
class BassFigures:
    """What drivers and box make together, whatever drives them."""

    drivers: int
    kind: str | None
    net_l: Decimal | None
    tuned_hz: Decimal | None
    fs_hz: float | None
    qts: float | None
    qes: float | None
    vas_l: float | None
    sd_cm2: float | None
    xmax_mm: float | None

    @property
    def closed(self) -> ClosedBox | None:
        """What a closed box makes of the drivers; None of another kind of box."""
        if self.kind != "sealed":
            return None
        return closed_box(self.fs_hz, self.qts, self.vas_l, number(self.net_l), self.drivers)

    @property
    def vented(self) -> VentedSystem:
        """One driver in its share of a vented box."""
        each = None if self.net_l is None else float(self.net_l) / self.drivers
        return VentedSystem(self.fs_hz, self.qts, self.vas_l, each, number(self.tuned_hz))

    def level(self, power_w: float, freq_hz: float) -> MaxLevel | None:
        """The most it gives at a frequency on this power, and what rules."""
        if self.kind is None:
            return None
        sens = sens_of_efficiency_db(reference_efficiency(self.fs_hz, self.vas_l, self.qes))
        how = sens, power_w, self.sd_cm2, self.xmax_mm, self.drivers
        if self.kind == "sealed":
            return closed_max_level(freq_hz, self.closed, *how)
        return vented_max_level(freq_hz, self.vented, *how)


@dataclass(frozen=True, slots=True)
class MadeShape:
    """A box made to measure: outer sizes, and what it weighs empty."""

    outer: Space
    mass_kg: float


@dataclass(frozen=True, slots=True)
class BassSystem:
    """Drivers in a box at a cargo space."""

    driver: Candidate
    box: Candidate
    drivers: int
    at_1w_cdb: int | None
    """Level on 1 W into the whole net, by power alone."""
    travel_cdb: int | None
    """Level at which the cones come to their travel's end."""
    figures: BassFigures
    shape: MadeShape | None
    """Of a box made to measure."""
    columns: Columns = field(compare=False)
    """What rules read of it, one row: of ``part``, which is the driver, ``box``, ``opening`` and ``zone``."""

    @property
    def cents(self) -> int:
        """What drivers and box cost."""
        return self.driver.cents + self.box.cents

    @property
    def points(self) -> int:
        """What they earn by themselves."""
        return self.driver.total_points + self.box.total_points

    @property
    def unsure(self) -> bool:
        """Whether a fit is still to be measured."""
        return self.driver.unsure or self.box.unsure

    @property
    def signature(self) -> SpeakerSignature:
        """Its drivers as a feed sees them."""
        assert isinstance(self.driver.signature, SpeakerSignature)
        return self.driver.signature

    @property
    def name(self) -> tuple[str, str, str]:
        """Driver, box, number and place, as the total order compares them; a box made to measure has no name."""
        return (self.driver.part_id or "", self.box.part_id or "", f"{self.drivers} {self.box.opening_id}")

    def level_cdb(self, link: Link) -> int | None:
        """The most it gives on a feed: the lower of what power and travel allow; None where either is not known."""
        gain = link_gain_cdb(link)
        if gain is None or self.at_1w_cdb is None or self.travel_cdb is None:
            return None
        return min(self.at_1w_cdb + gain, self.travel_cdb)

    def ruled_by(self, link: Link) -> str | None:
        """What sets that level."""
        level = self.level_cdb(link)
        return None if level is None else "travel" if level == self.travel_cdb else "power"


def system_at(stock: Stock, group: BoxGroup, driver: int, box: int, scoring: Scoring) -> BassSystem:
    """The system of a driver and a box, by their positions in a group."""
    row, parts = int(group.driver[driver]), stock.drivers
    step, doubt = (np.broadcast_to(each, group.can.shape)[driver, box] for each in (group.box_step, group.box_doubt))
    cost = cost_of(group.drivers, money_of(parts, row), NO_ADAPTER, scoring)
    unsure, look = not group.sure[driver, box], int(step)
    if group.shapes is None:
        one = _bought(stock, int(group.box[box]), scoring)
    else:
        one = _made(stock, group.drivers, group.shapes.take([driver]), scoring)
    at_1w, travel = (int(each[driver, group.sound[box]]) for each in group.levels)
    return BassSystem(
        driver=Candidate(
            slot="bass",
            opening_id=stock.opening_id,
            part_id=str(parts.part_ids[row]),
            step=look,
            unsure=unsure,
            cost=cost,
            points=points_of(scoring, 0, cost, unsure=unsure),
            signature=signature_of(parts, row, group.drivers),
        ),
        box=Candidate(
            slot="enclosure",
            opening_id=stock.opening_id,
            part_id=one.part_id,
            step=look,
            unsure=bool(doubt),
            cost=one.cost,
            points=points_of(scoring, look, one.cost, unsure=bool(doubt)),
        ),
        drivers=group.drivers,
        at_1w_cdb=None if at_1w == NOT_KNOWN else at_1w,
        travel_cdb=None if travel == NOT_KNOWN else travel,
        figures=one.with_drivers(group.drivers, [number(cell(parts.cells[name], row)) for name in DRIVER_FIGURES]),
        shape=one.shape,
        columns=driver_columns(parts, [row]) | one.columns | stock.opening,
    )


class _Box(NamedTuple):
    """The box of a system."""

    part_id: str | None
    cost: Cost
    kind: str | None
    net_l: Decimal | None
    tuned_hz: Decimal | None
    shape: MadeShape | None
    columns: Columns

    def with_drivers(self, drivers: int, figures: Sequence[float | None]) -> BassFigures:
        """What it makes with so many drivers of these figures."""
        return BassFigures(drivers, self.kind, self.net_l, self.tuned_hz, *figures)


def _bought(stock: Stock, row: int, scoring: Scoring) -> _Box:
    """A box of the catalog."""
    cost = cost_of(1, money_of(stock.boxes, row), NO_ADAPTER, scoring)
    kind, net_l, tuned_hz = (cell(stock.boxes.cells[name], row) for name in ("kind", "net_l", "tuned_hz"))
    return _Box(str(stock.boxes.part_ids[row]), cost, kind, net_l, tuned_hz, None, box_columns(stock.boxes, [row]))


def _made(stock: Stock, drivers: int, shapes: MadeShapes, scoring: Scoring) -> _Box:
    """A box made to measure."""
    assert stock.workshop is not None
    boards, labor = made_cents(shapes, scoring.settings)
    columns = stock.workshop.columns(drivers, shapes, scoring.settings)
    shape = MadeShape(replace(stock.workshop.largest, w_mm=float(shapes.w_mm[0])), float(shapes.mass_kg[0]))
    net_l = cell(columns["box.net_l"], 0)
    return _Box(None, Cost(1, 1, 0, int(boards[0]), labor), "sealed", net_l, None, shape, columns)


def number(figure: Decimal | None) -> float | None:
    """A stored figure as the formulas take it."""
    return None if figure is None else float(figure)
