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
from matcher.formulas.port import port_quiet_level_db
from matcher.kernel.columns import Columns
from matcher.search.bass.levels import BASS_HZ, PORT, DriverTerms, Levels, quiet_cm2
from matcher.search.bass.made import MadeShapes, made_cents
from matcher.search.bass.stock import BoxGroup, Stock, box_columns, driver_columns, signature_of
from matcher.search.candidates.common import NO_ADAPTER, cost_of, points_of
from matcher.search.catalog.parts import cell, money_of
from matcher.search.feeds.links import BlockLink, link_gain_cdb
from matcher.search.feeds.parts import Candidate, Cost, SpeakerSignature
from matcher.search.scoring import Scoring
from matcher.settings import Settings


class DriverFigures(NamedTuple):
    """Driver figures that determine its level, stated or estimated."""

    fs_hz: float | None
    qts: float | None
    qes: float | None
    vas_l: float | None
    sd_cm2: float | None
    xmax_mm: float | None


@dataclass(frozen=True, slots=True)
class BassFigures:
    """Response of drivers and box, independent of the feed."""

    drivers: int
    kind: str | None
    net_l: Decimal | None
    tuned_hz: Decimal | None
    quiet_cm2: float | None
    """Area of a straight port that is as quiet."""
    driver: DriverFigures
    estimated: tuple[str, ...] = ()
    """Figures of driver and port that no list states."""

    @property
    def closed(self) -> ClosedBox | None:
        """Response in a closed box; None for other kinds."""
        if self.kind != "sealed":
            return None
        one = self.driver
        return closed_box(one.fs_hz, one.qts, one.vas_l, number(self.net_l), self.drivers)

    @property
    def vented(self) -> VentedSystem:
        """One driver in its share of a vented box."""
        each = None if self.net_l is None else float(self.net_l) / self.drivers
        return VentedSystem(self.driver.fs_hz, self.driver.qts, self.driver.vas_l, each, number(self.tuned_hz))

    def level(self, power_w: float, freq_hz: float, settings: Settings) -> MaxLevel | None:
        """Return the maximum level at a frequency on this power, and its limiting factor."""
        if self.kind is None:
            return None
        one = self.driver
        sens = sens_of_efficiency_db(reference_efficiency(one.fs_hz, one.vas_l, one.qes))
        how = sens, power_w, one.sd_cm2, one.xmax_mm, self.drivers
        if self.kind == "sealed":
            return closed_max_level(freq_hz, self.closed, *how)
        most = vented_max_level(freq_hz, self.vented, *how, ql=float(settings["box_ql"]))
        quiet = port_quiet_level_db(self.quiet_cm2, float(settings["port_speed_m_s"]), freq_hz, number(self.tuned_hz))
        if most is None or most.level_db is None or quiet is None or quiet >= most.level_db:
            return most
        return replace(most, level_db=quiet, ruled_by="port")


@dataclass(frozen=True, slots=True)
class MadeShape:
    """Outer sizes and empty mass of a box made to measure."""

    outer: Space
    mass_kg: float


@dataclass(frozen=True, slots=True)
class BassSystem:
    """Drivers in a box at a cargo space."""

    driver: Candidate
    box: Candidate
    drivers: int
    levels: Levels = field(compare=False)
    """Of this system alone."""
    figures: BassFigures
    shape: MadeShape | None
    """Of a box made to measure."""
    columns: Columns = field(compare=False)
    """One row with the subjects ``part`` (the driver), ``box``, ``opening`` and ``zone``."""

    @property
    def cents(self) -> int:
        """Price of drivers and box."""
        return self.driver.cents + self.box.cents

    @property
    def points(self) -> int:
        """Points of drivers and box by themselves."""
        return self.driver.total_points + self.box.total_points

    @property
    def code(self) -> int:
        """Worst verdict code of the two fits."""
        return min(self.driver.code, self.box.code)

    @property
    def signature(self) -> SpeakerSignature:
        """Electrical class of the drivers."""
        assert isinstance(self.driver.signature, SpeakerSignature)
        return self.driver.signature

    @property
    def name(self) -> tuple[str, str, str]:
        """Driver, box, number and place, as the total order compares them; a box made to measure has no name."""
        return (self.driver.part_id or "", self.box.part_id or "", f"{self.drivers} {self.box.opening_id}")

    def told_levels(self, link: BlockLink, settings: Settings) -> list[MaxLevel]:
        """Return the maximum level on a feed at each of `BASS_HZ`; empty if the power or a limit is unknown."""
        gain = link_gain_cdb(link)
        if gain is None or not self.levels.known:
            return []
        found = (self.figures.level(10 ** (gain / 1000), hz, settings) for hz in BASS_HZ)
        return [each for each in found if each is not None]


def system_at(stock: Stock, group: BoxGroup, driver: int, box: int, scoring: Scoring) -> BassSystem:
    """Return the system of a driver and a box, by their positions in a group."""
    row, parts = int(group.driver[driver]), stock.drivers
    step, box_code, _ = group.loss
    cost = cost_of(group.drivers, money_of(parts, row), NO_ADAPTER, scoring)
    code = int(group.code[driver, box])
    if group.shapes is None:
        one = _bought(stock, int(group.box[box]), scoring)
    else:
        one = _made(stock, group.drivers, group.shapes.take([driver]), scoring)
    port = (("known", scoring.port),) if one.estimated else ()
    figures = [None if np.isnan(each[row]) else float(each[row]) for each in stock.terms]
    return BassSystem(
        driver=Candidate(
            slot="bass",
            opening_id=stock.opening_id,
            part_id=str(parts.part_ids[row]),
            step=step,
            code=code,
            cost=cost,
            points=points_of(scoring, 0, cost, code),
            signature=signature_of(parts, row, group.drivers),
        ),
        box=Candidate(
            slot="enclosure",
            opening_id=stock.opening_id,
            part_id=one.part_id,
            step=step,
            code=box_code,
            cost=one.cost,
            points=(*points_of(scoring, step, one.cost, box_code), *port),
        ),
        drivers=group.drivers,
        levels=stock.levels(group, driver, [box]).take(0),
        figures=BassFigures(
            group.drivers,
            one.kind,
            one.net_l,
            one.tuned_hz,
            one.quiet_cm2,
            DriverFigures(*figures),
            estimated=(
                *(name for name in DriverTerms._fields if cell(parts.cells[name], row) is None),
                *one.estimated,
            ),
        ),
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
    quiet_cm2: float | None
    shape: MadeShape | None
    columns: Columns
    estimated: tuple[str, ...] = ()


def _bought(stock: Stock, row: int, scoring: Scoring) -> _Box:
    """Return a catalog box."""
    cost = cost_of(1, money_of(stock.boxes, row), NO_ADAPTER, scoring)
    cells = stock.boxes.cells
    kind, net_l, tuned_hz, is_flared, *port = (
        cell(cells[name], row) for name in ("kind", "net_l", "tuned_hz", "port_flared", *PORT)
    )
    quiet = quiet_cm2_of(port, net_l, is_flared, scoring.settings)
    is_open = kind == "vented" and port[0] is None and None in port[1:]
    return _Box(
        part_id=str(stock.boxes.part_ids[row]),
        cost=cost,
        kind=kind,
        net_l=net_l,
        tuned_hz=tuned_hz,
        quiet_cm2=quiet,
        shape=None,
        columns=box_columns(stock.boxes, [row]),
        estimated=PORT[:1] if is_open else (),
    )


def _made(stock: Stock, drivers: int, shapes: MadeShapes, scoring: Scoring) -> _Box:
    """Return a box made to measure."""
    assert stock.workshop is not None
    boards, labor = made_cents(shapes, scoring.settings)
    columns = stock.workshop.columns(drivers, shapes, scoring.settings)
    shape = MadeShape(replace(stock.workshop.largest, w_mm=float(shapes.w_mm[0])), float(shapes.mass_kg[0]))
    net_l = cell(columns["box.net_l"], 0)
    return _Box(None, Cost(1, 1, 0, int(boards[0]), labor), "sealed", net_l, None, None, shape, columns)


def quiet_cm2_of(
    port: Sequence[Decimal | None], net_l: Decimal | None, is_flared: bool | None, settings: Settings
) -> float | None:
    """Return the area of a straight port as quiet as a box's own; None if unknown."""
    *of_port, net = (np.nan if each is None else float(each) for each in (*port, net_l))
    found = float(quiet_cm2(of_port, net, bool(is_flared), settings))
    return None if np.isnan(found) else found


def number(figure: Decimal | None) -> float | None:
    """Return a stored figure as a float."""
    return None if figure is None else float(figure)
