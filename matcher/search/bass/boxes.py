"""Boxes for bass: every one of the catalog, and those made to measure, as one relation.

A box made to measure fills the space, or has just the volume that gives its drivers the wanted Q,
whichever is smaller; it is never narrower than its drivers side by side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from matcher.formulas.box import closed_volume_l
from matcher.formulas.cargo import Space, space_left
from matcher.formulas.fitted_box import Gate, largest_outer
from matcher.formulas.made_box import box_mass_kg, cut_list, driver_depth_mm, inner_volume_l
from matcher.search.fits.place import Place
from matcher.search.fits.relations import part_sql
from matcher.settings import Settings
from matcher.store.connection import Connection

MADE_FOR = (1, 2, 4)
"""How many drivers a box is made for."""

LENGTHS = ("cutout_mm", "driver_depth_mm", "w_mm", "h_mm", "d_mm", "d_top_mm")
OTHERS = ("net_l", "tuned_hz", "mass_kg")
PRICED = ("price", "pack_of", "labour_h")
"""What a box of the catalog costs: one made to measure is reckoned by its boards."""


@dataclass(frozen=True, slots=True)
class MadeShape:
    """A box made to measure: outer sizes, and what it holds and weighs empty."""

    outer: Space
    front_w_mm: float
    front_h_mm: float
    driver_depth_mm: float
    net_l: float | None
    mass_kg: float
    area_m2: float


@dataclass(frozen=True, slots=True)
class Workshop:
    """The largest box that goes into a space, and what a narrower one of its shape comes to."""

    largest: Space
    board_mm: float
    density_kg_m3: float
    depth_mm: float
    liters_per_mm: float
    """Inner volume for each millimeter of inner width."""
    mass_kg: tuple[float, float]
    area_m2: tuple[float, float]
    """At no width, and for each millimeter of outer width."""

    def shape(self, w_mm: float, displaced_l: float | None) -> MadeShape:
        """The box of this outer width with its drivers in it."""
        largest, board = self.largest, self.board_mm
        inner = self.liters_per_mm * (w_mm - 2 * board)
        net = None if displaced_l is None or displaced_l >= inner else inner - displaced_l
        (mass, mass_mm), (area, area_mm) = self.mass_kg, self.area_m2
        return MadeShape(
            Space(w_mm, largest.h_mm, largest.d_mm, largest.d_top_mm),
            w_mm - 2 * board,
            largest.h_mm - 2 * board,
            self.depth_mm,
            net,
            mass + mass_mm * w_mm,
            area + area_mm * w_mm,
        )

    def for_drivers(self, drivers: int, driver: dict[str, Any], settings: Settings) -> MadeShape:
        """The box for some drivers of one model."""
        displaces, outer = (_float(driver[name]) for name in ("displaces_l", "outer_mm"))
        displaced = None if displaces is None else drivers * displaces
        each = closed_volume_l(_float(driver["qts"]), _float(driver["vas_l"]), float(settings["qtc_made"]))
        if each is None or displaced is None:
            return self.shape(self.largest.w_mm, displaced)
        wanted = 2 * self.board_mm + (drivers * each + displaced) / self.liters_per_mm
        lip = 2 * float(settings["flange_overlap_mm"])
        front = 0.0 if outer is None else 2 * self.board_mm + drivers * (outer + lip)
        return self.shape(min(self.largest.w_mm, float(math.ceil(max(wanted, front)))), displaced)


def workshop(con: Connection, place: Place, settings: Settings) -> Workshop | None:
    """What can be built for a cargo space; none where a measure of it is not known."""
    names = ("w_mm", "h_mm", "d_mm", "d_top_mm", "floor_loss_mm", "gate_w_mm", "gate_h_mm")
    row = con.execute(
        f"SELECT {', '.join(names)} FROM opening_cargo WHERE vehicle_id = ? AND opening_id = ?", place.key
    ).fetchone()
    if row is None or None in row:
        return None
    w, h, d, d_top, loss, gate_w, gate_h = (float(figure) for figure in row)
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
    per_mm = inner / (largest.w_mm - 2 * board)
    return Workshop(
        largest, board, density, depth, per_mm, _line(masses, narrow, largest), _line(areas, narrow, largest)
    )


def _line(ends: list[float], narrow: Space, largest: Space) -> tuple[float, float]:
    """What grows evenly with the width: its value at no width, and for each millimeter."""
    if largest.w_mm == narrow.w_mm:
        return ends[1], 0.0
    slope = (ends[1] - ends[0]) / (largest.w_mm - narrow.w_mm)
    return ends[1] - slope * largest.w_mm, slope


def area_m2(box: Space, board_mm: float) -> float:
    """Area of board that a box takes, each panel as the rectangle it is cut from."""
    panels = cut_list(box, board_mm) or ()
    return sum(panel.count * panel.length_mm * max(panel.width_mm, panel.width_top_mm or 0.0) for panel in panels) / 1e6


@dataclass(frozen=True, slots=True)
class Made:
    """Boxes made to measure, each for some drivers of one model: what `boxes_sql` reads of them."""

    drivers_of: tuple[tuple[str, int], ...]
    shapes: tuple[MadeShape, ...]

    def params(self) -> list[list[Any]]:
        """One list for each figure, in the order of `MADE_COLUMNS`."""
        shapes = self.shapes
        return [
            [part_id for part_id, _ in self.drivers_of],
            [drivers for _, drivers in self.drivers_of],
            [shape.outer.w_mm for shape in shapes],
            [shape.outer.h_mm for shape in shapes],
            [shape.outer.d_mm for shape in shapes],
            [shape.outer.d_top_mm for shape in shapes],
            [shape.front_w_mm for shape in shapes],
            [shape.front_h_mm for shape in shapes],
            [shape.driver_depth_mm for shape in shapes],
            [shape.net_l for shape in shapes],
            [shape.mass_kg for shape in shapes],
        ]


MADE_COLUMNS = (
    ("for_part", "VARCHAR"),
    ("drivers", "INTEGER"),
    ("w_mm", "DECIMAL(15,6)"),
    ("h_mm", "DECIMAL(15,6)"),
    ("d_mm", "DECIMAL(15,6)"),
    ("d_top_mm", "DECIMAL(15,6)"),
    ("front_w_mm", "DECIMAL(15,6)"),
    ("front_h_mm", "DECIMAL(15,6)"),
    ("driver_depth_mm", "DECIMAL(15,6)"),
    ("net_l", "DECIMAL(15,6)"),
    ("mass_kg", "DECIMAL(15,6)"),
)


def boxes_sql(settings: Settings) -> str:
    """Boxes of the catalog and boxes made to measure as one relation; the latter are parameters $3 onward."""
    stored = ", ".join([*(f'"{name}", "{name}_tol"' for name in (*LENGTHS, *OTHERS)), *PRICED])
    made = ", ".join(
        f"unnest(${position}::{'DOUBLE' if kind.startswith('DEC') else kind}[])::{kind} AS {name}"
        for position, (name, kind) in enumerate(MADE_COLUMNS, 3)
    )
    unstated = ", ".join(f"NULL::DECIMAL(15,6) AS {name}_tol" for name in ("front_w_mm", "front_h_mm"))
    return (
        f"SELECT part_id, false AS made, drivers, driver_size_in, kind, {stored}, basis_tol "
        f"FROM ({part_sql('enclosure', settings)}) UNION ALL BY NAME "
        f"SELECT *, true AS made, 'sealed' AS kind, {unstated}, "
        f"{settings['tolerance_mm.measured']}::DECIMAL(15,6) AS basis_tol FROM (SELECT {made})"
    )


def bass_ctes(settings: Settings) -> str:
    """The relations of a bass system at the cargo space $2 of the vehicle $1: opening, boxes, drivers."""
    return (
        "WITH opening AS (SELECT * FROM opening_cargo WHERE vehicle_id = $1 AND opening_id = $2), "
        f"boxes AS ({boxes_sql(settings)}), driver AS ({part_sql('subwoofer', settings)})"
    )


def made_boxes(drivers: Sequence[dict[str, Any]], shop: Workshop | None, settings: Settings) -> Made:
    """A box made to measure for one, two and four of every driver."""
    if shop is None:
        return Made((), ())
    found = [
        ((driver["part_id"], count), shop.for_drivers(count, driver, settings))
        for driver in drivers
        for count in MADE_FOR
    ]
    return Made(tuple(key for key, _ in found), tuple(shape for _, shape in found))


def _float(number: Decimal | None) -> float | None:
    return None if number is None else float(number)
