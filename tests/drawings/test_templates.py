"""Templates are as large as what is cut, and are there only where the ladder allows the cut."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from catalog_schema.checks import CutNeeded
from matcher.drawings.template import cut_template, dash_template, drill_template
from tests.drawings.gallery import CUT, dash, door, fig, fit, loudspeaker, plate, unit
from tests.drawings.read import named, per, size_of, texts

MADE = cut_template(door(), loudspeaker(), fit(cut=CUT))
assert MADE is not None


def test_a_millimeter_is_a_millimeter_of_paper() -> None:
    assert MADE is not None and per(MADE) == pytest.approx(1, abs=1e-4)


def test_both_control_bars_are_100_mm() -> None:
    bars = [[float(bar.get(name, "nan")) for name in ("x1", "y1", "x2", "y2")] for bar in named(str(MADE), "control")]
    assert sorted((x2 - x1, y2 - y1) for x1, y1, x2, y2 in bars) == [(0, 100), (100, 0)]


def test_the_line_is_the_part_s_own_cut_out_in_its_own_shape() -> None:
    (line,) = named(str(MADE), "cut-line")
    assert (line.tag.rpartition("}")[2], size_of(line)) == ("ellipse", (152.5, 222))


def test_a_part_that_lies_turned_is_cut_turned() -> None:
    made = cut_template(door(), loudspeaker(), fit(cut=CUT, turned=True))
    (line,) = named(str(made), "cut-line")
    assert size_of(line) == (222, 152.5)


def test_every_bolt_hole_is_marked() -> None:
    holes = {(float(hole.get("cx", "")), float(hole.get("cy", ""))) for hole in named(str(MADE), "drill")}
    assert holes == {(x, y) for x in (-60, 60) for y in (-96.5, 96.5)}


@pytest.mark.parametrize(
    "changes",
    [
        {"cut": None},
        {"asked": "bolt_on"},
        {"asked": "drilled"},
        {"alteration": None},
    ],
    ids=["nothing to cut", "bolts only", "one step short", "would not fit anyway"],
)
def test_no_template_where_nothing_may_be_cut(changes: dict[str, Any]) -> None:
    assert cut_template(door(), loudspeaker(), fit(**({"cut": CUT} | changes))) is None


def test_a_template_at_exactly_the_step_allowed() -> None:
    spare = CutNeeded(w_mm=Decimal(98), h_mm=Decimal(98), material="trim")
    there = fit(cut=spare, alteration="spare_piece", asked="spare_piece")
    assert cut_template(door(), loudspeaker(), there) is not None


def test_no_template_of_an_unknown_cut_out() -> None:
    assert cut_template(door(), loudspeaker(cutout_w_mm=None), fit(cut=CUT)) is None
    assert drill_template(door(), plate(gives_w_mm=None)) is None


def test_a_plate_is_drilled_for_the_car_and_for_the_part() -> None:
    made = drill_template(
        door(), plate(), loudspeaker(bolt_w_mm=None, bolt_h_mm=None, bolt_circle_mm=fig(93), bolt_count=2)
    )
    assert len(named(str(made), "drill")) == 2
    assert len(named(str(made), "drill-car")) == 4
    assert "turn the sheet" in str(made)


def test_a_dash_is_cut_to_the_size_that_the_rules_say_from_the_opening_as_found() -> None:
    cut = CutNeeded(w_mm=Decimal(184), h_mm=Decimal(102), material="trim")
    made = dash_template(dash(), unit("Unit"), fit(cut=cut))
    (line,), (found,) = named(str(made), "cut-line"), named(str(made), "beside-cut")
    assert (size_of(line), size_of(found)) == ((184, 102), (184, 76))


@pytest.mark.parametrize(
    ("opening", "changes"), [({}, {"cut": None}), ({}, {"asked": "bolt_on"}), ({"h_mm": None}, {})],
    ids=["nothing to cut", "bolts only", "size not known"],
)  # fmt: skip
def test_no_dash_template_where_nothing_may_be_cut(opening: dict[str, Any], changes: dict[str, Any]) -> None:
    assert dash_template(dash(**opening), unit("Unit"), fit(**({"cut": CUT} | changes))) is None


def test_every_template_says_what_its_lines_mean_and_which_way_is_up() -> None:
    told = [text for text, _ in texts(MADE)] if MADE is not None else []
    assert "cut here, the line itself stays: 152.5 × 222" in told and "this way up" in told
    assert named(str(MADE), "up") != []
