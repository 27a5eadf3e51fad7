"""Where to measure: for every figure of every kind of opening, with the one dimension drawn bold."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import pytest

from catalog_schema.vehicles import OPENINGS, Opening
from matcher.drawings.measuring import measured_fields, measuring_sketch
from matcher.drawings.svg import Drawing
from matcher.errors import InputError
from matcher.store.database.tables import opening_columns
from matcher.store.readings.subjects import NOT_READ
from tests.drawings.gallery import dash, door, space
from tests.drawings.read import named, per

EVERY = [(kind, field) for kind in OPENINGS for field in measured_fields(kind)]
NO_LENGTH = {"factory_ohm", "mass_max_kg"}


def bold(drawing: Drawing) -> list[ET.Element]:
    return [line for line in named(drawing, "dimension") if line.get("stroke-dasharray") or _width(line, drawing) > 0.6]


def _width(line: ET.Element, drawing: Drawing) -> float:
    return float(line.get("stroke-width", "nan")) / per(drawing)


def _long(line: ET.Element) -> float:
    x1, y1, x2, y2 = (float(line.get(name, "nan")) for name in ("x1", "y1", "x2", "y2"))
    return math.hypot(x2 - x1, y2 - y1)


@pytest.mark.parametrize("kind", OPENINGS)
def test_every_figure_that_a_reading_can_be_of_has_a_sketch(kind: str) -> None:
    figures = {column.name for column in opening_columns(kind) if column.is_figure and column.name not in NOT_READ}
    read = {name for name in figures if not name.startswith("original_")}  # taken with a meter, not a tape
    assert read - {"run_m", "signal_m", "wire_m"} <= set(measured_fields(kind)), (
        "cables run through the car: no sketch of a place has them"
    )


@pytest.mark.parametrize(("kind", "field"), EVERY)
def test_an_unknown_figure_is_one_dashed_line_that_says_measure(kind: str, field: str) -> None:
    drawing = measuring_sketch(OPENINGS[kind](opening_id="o", kind=kind), field)
    lines = bold(drawing)
    assert len(lines) == (0 if field in NO_LENGTH else 1)
    assert all(line.get("stroke-dasharray") for line in lines)
    assert "? measure" in " ".join(drawing.split("\n")).replace("</text>", " ")


@pytest.mark.parametrize(
    ("opening", "field", "mm"),
    [
        (dash(), "w_mm", 184),
        (dash(), "depth_mm", 178),
        (dash(), "proud_max_mm", 62),
        (dash(), "keep_clear.Dash.x_mm", 92),
        (dash(), "keep_clear.Dash.y_mm", 112),
        (dash(), "keep_clear.Dash 2.h_mm", 28),
        (door(), "hole_h_mm", 143),
        (door(), "bolt_w_mm", 80),
        (door(), "depth_mm", 92),
        (door(), "beside_mm", 88),
        (space(), "d_top_mm", 330),
        (space(), "floor_loss_mm", 45),
        (space(), "gate_w_mm", 1010),
    ],
)
def test_a_known_figure_is_one_bold_line_of_its_own_length(opening: Opening, field: str, mm: float) -> None:
    (line,) = bold(measuring_sketch(opening, field))
    assert _long(line) == pytest.approx(mm)
    assert line.get("stroke-dasharray") is None


@pytest.mark.parametrize("field", ["body_w_mm", "keep_clear.x.name", "keep_clear", "label", ""])
def test_a_figure_that_an_opening_has_not_is_refused_with_those_it_has(field: str) -> None:
    with pytest.raises(InputError, match="one of w_mm, h_mm, depth_mm"):
        measuring_sketch(dash(), field)


def test_a_thing_that_is_not_there_is_sketched_as_unknown() -> None:
    (line,) = bold(measuring_sketch(dash(), "keep_clear.gone.x_mm"))
    assert line.get("stroke-dasharray")
