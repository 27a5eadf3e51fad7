"""Boxes made to measure for one, two and four of every driver, as arrays.

A box fills the space or has the volume that gives its drivers the target Q, whichever is smaller. It is never narrower
than its drivers side by side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from matcher.formulas.cargo import Space, space_left
from matcher.formulas.fitted_box import Gate, largest_outer
from matcher.formulas.made_box import box_mass_kg, cut_list, driver_depth_mm, inner_volume_l
from matcher.formulas.relations import volume_for_q
from matcher.kernel.columns import UNKNOWN, Column, Columns, word_code
from matcher.kernel.exact import MICRO, floating, rounded, to_micro
from matcher.search.bass.levels import Floats, positive
from matcher.search.exact.choices import Ints
from matcher.search.feeds.parts import cents
from matcher.settings import Settings

MADE_FOR = (1, 2, 4)
"""Numbers of drivers for which a box is made."""
SPACE = ("w_mm", "h_mm", "d_mm", "d_top_mm", "floor_loss_mm", "gate_w_mm", "gate_h_mm")
MADE_PRICES = ("board_price_m2", "made_box_extras_price", "made_box_labour_h", "labour_rate")
"""Settings that price a box made to measure."""
UNTOLD = ("cutout_mm", "tuned_hz", "driver_size_in")
"""Figures that a box made to measure lacks: its holes are cut for its drivers."""


class MadeBy(NamedTuple):
    """Driver figures that determine the box made for it; NaN if unknown."""

    displaces_l: Floats
    outer_mm: Floats
    cutout_mm: Floats
    size_in: Floats
    qts: Floats
    vas_l: Floats

    def frame_mm(self, overlap_mm: float) -> Floats:
        """Flange diameter: stated, or from the hole and the least overlap, or from the nominal size."""
        by_hole = np.where(np.isnan(self.cutout_mm), 25.4 * self.size_in, self.cutout_mm + 2 * overlap_mm)
        found: Floats = np.where(np.isnan(self.outer_mm), by_hole, self.outer_mm)
        return found


class MadeShapes(NamedTuple):
    """Boxes made to measure, by the figures in which they differ within one space; NaN if unknown."""

    w_mm: Floats
    net_l: Floats
    mass_kg: Floats
    """Mass without drivers."""
    area_m2: Floats
    """Board area, counting each panel as the rectangle it is cut from."""

    def take(self, rows: Any) -> MadeShapes:
        """Return some of the boxes."""
        return MadeShapes(*(one[rows] for one in self))


class LinearSize(NamedTuple):
    """Measures that are linear in the outer width."""

    start: float
    for_mm: float

    def at(self, w_mm: Floats) -> Floats:
        """Return the measures at some widths."""
        return self.start + self.for_mm * w_mm


@dataclass(frozen=True, slots=True)
class Workshop:
    """The largest box that fits a space, and the measures of narrower boxes of the same shape."""

    largest: Space
    board_mm: float
    depth_mm: float
    liters_per_mm: float
    """Inner volume per millimeter of inner width."""
    mass_kg: LinearSize
    area_m2: LinearSize

    def shapes(self, drivers: int, one: MadeBy, settings: Settings) -> MadeShapes:
        """Return the boxes for this number of drivers of each model."""
        boards, overlap = 2 * self.board_mm, float(settings["flange_overlap_mm"])
        wanted_q = float(settings["qtc_made"])
        with np.errstate(all="ignore"):
            displaced = drivers * one.displaces_l
            q = np.where(wanted_q >= positive(one.qts) * (1 + 1e-6), one.qts, np.nan)
            each = volume_for_q(q, positive(one.vas_l), wanted_q)
            wide = boards + (drivers * each + displaced) / self.liters_per_mm
            front = boards + drivers * (one.frame_mm(overlap) + 2 * overlap)
            w = np.fmin(self.largest.w_mm, np.ceil(np.maximum(wide, front)))
            inner = self.liters_per_mm * (w - boards)
            net = np.where(displaced < inner, inner - displaced, np.nan)
        return MadeShapes(w, net, self.mass_kg.at(w), self.area_m2.at(w))

    def columns(self, drivers: int, shapes: MadeShapes, settings: Settings) -> Columns:
        """Return these boxes as the rules' subject ``box``."""
        off = to_micro(settings["tolerance_mm.measured"])
        largest, boards = self.largest, 2 * self.board_mm
        lengths = {
            "w_mm": shapes.w_mm,
            "h_mm": largest.h_mm,
            "d_mm": largest.d_mm,
            "d_top_mm": largest.d_top_mm,
            "front_w_mm": shapes.w_mm - boards,
            "front_h_mm": largest.h_mm - boards,
            "driver_depth_mm": self.depth_mm,
        }
        figures = {name: Column(*rounded(np.array(values, ndmin=1)), off) for name, values in lengths.items()}
        figures |= {"net_l": Column(*rounded(shapes.net_l)), "mass_kg": Column(*rounded(shapes.mass_kg))}
        figures |= {"drivers": Column(np.array([drivers * MICRO])), "made": Column(np.ones(1, np.bool_))}
        figures |= {"kind": Column(np.array([word_code("sealed")], np.int32))} | dict.fromkeys(UNTOLD, UNKNOWN)
        figures |= {"priced": Column(np.array([MICRO]), np.array([is_priced(settings)]))}
        return Columns({f"box.{name}": column for name, column in figures.items()})


def as_part(boxes: Columns) -> Columns:
    """Return boxes as the rules' subject ``part``, for their fit in the space."""
    some = ((name.partition("."), column) for name, column in boxes.items())
    return Columns({f"part.{name}": column for (subject, _, name), column in some if subject == "box"})


def workshop(opening: Columns, settings: Settings) -> Workshop | None:
    """Return the boxes that can be built for a cargo space; None if one of its measures is unknown."""
    figures = [opening[f"opening.{name}"] for name in SPACE]
    if not all(np.all(one.known) for one in figures):
        return None
    w, h, d, d_top, loss, gate_w, gate_h = (float(floating(np.ravel(one.values)[0])) for one in figures)
    room = space_left(Space(w, h, d, d_top), loss)
    largest = None if room is None else largest_outer(room, Gate(gate_w, gate_h), float(settings["box_air_mm"]))
    if largest is None:
        return None
    whole = Space(*(float(math.floor(side)) for side in (largest.w_mm, largest.h_mm, largest.d_mm, largest.d_top_mm)))
    return _workshop(whole, float(settings["board_mm"]), float(settings["board_kg_m3"]))


def _workshop(largest: Space, board: float, density: float) -> Workshop | None:
    inner, depth = inner_volume_l(largest, board), driver_depth_mm(largest, board)
    if inner is None or depth is None:
        return None
    narrow = Space(2 * board + 1, largest.h_mm, largest.d_mm, largest.d_top_mm)
    masses = [box_mass_kg(box, board, density) or 0.0 for box in (narrow, largest)]
    areas = [area_m2(box, board) for box in (narrow, largest)]
    lines = [_line(ends, narrow.w_mm, largest.w_mm) for ends in (masses, areas)]
    return Workshop(largest, board, depth, inner / (largest.w_mm - 2 * board), *lines)


def _line(ends: list[float], narrow_mm: float, wide_mm: float) -> LinearSize:
    if wide_mm == narrow_mm:
        return LinearSize(ends[1], 0.0)
    slope = (ends[1] - ends[0]) / (wide_mm - narrow_mm)
    return LinearSize(ends[1] - slope * wide_mm, slope)


def area_m2(box: Space, board_mm: float) -> float:
    """Board area of a box, counting each panel as the rectangle it is cut from."""
    panels = cut_list(box, board_mm) or ()
    return sum(panel.count * panel.length_mm * max(panel.width_mm, panel.width_top_mm or 0.0) for panel in panels) / 1e6


def is_priced(settings: Settings) -> bool:
    """Whether the shop has set every price of a box that it makes: an unset price is not zero."""
    return all(name in settings.own for name in MADE_PRICES)


def made_cents(shapes: MadeShapes, settings: Settings) -> tuple[Ints, int]:
    """Return the material cost of each box (boards, carpet, terminals) and the labor, in cents."""
    times, by = (settings.charged("board_price_m2") * 100).as_integer_ratio()
    boards: Ints = (rounded(shapes.area_m2)[0] * times + MICRO * by // 2) // (MICRO * by)
    labor = cents(settings["made_box_labour_h"] * settings.charged("labour_rate"))
    return boards + cents(settings.charged("made_box_extras_price")), labor
