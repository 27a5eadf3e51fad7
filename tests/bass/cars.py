"""Cargo spaces, boxes, drivers and amplifiers for bass, complete by default, and a pair of them to ask."""

from __future__ import annotations

from catalog_schema.answers import Check
from matcher.kernel.explain import explain
from matcher.rules.bass import BASS
from matcher.rules.rule import rules_of
from matcher.search.bass.stock import box_columns, driver_columns
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.vehicle import subject_columns
from matcher.shop.base import shop_settings
from tests.factories import Bench, Row, amplifier, part, vehicle


def cargo_space(**changes: object) -> Row:
    """A space with a sloped back behind a seat, as measured with a tape."""
    whole = {
        "opening_id": "cargo",
        "kind": "cargo",
        "label": "Behind the seat",
        "w_mm": 600,
        "h_mm": 450,
        "d_mm": 400,
        "d_top_mm": 300,
        "gate_w_mm": 500,
        "gate_h_mm": 400,
        "floor_loss_mm": 50,
        "mass_max_kg": 20,
        "fasten": "load eyes",
    }
    return whole | changes


def trunk(**changes: object) -> Row:
    """The trunk of a sedan, wide enough for any box of the tests."""
    sides = {"w_mm": 900, "h_mm": 450, "d_mm": 500, "d_top_mm": 450, "gate_w_mm": 800, "gate_h_mm": 500}
    return cargo_space(**{"label": "Trunk", "floor_loss_mm": 0, "mass_max_kg": 60} | sides | changes)


def straight(**changes: object) -> Row:
    """A space without a slope."""
    return cargo_space(**{"d_top_mm": 400} | changes)


def box(**changes: object) -> Row:
    """A closed box for one driver of 10 in that the space takes with room to spare."""
    own = {
        "part_id": "box",
        "mass_kg": 8,
        "drivers": 1,
        "driver_size_in": 10,
        "cutout_mm": 235,
        "driver_depth_mm": 200,
        "net_l": 30,
        "kind": "sealed",
        "w_mm": 400,
        "h_mm": 350,
        "d_mm": 300,
        "d_top_mm": 250,
    }
    return part("enclosure", **own | changes)


def driver(**changes: object) -> Row:
    """A driver of 10 in whose Q in that box is 0.707."""
    own = {
        "part_id": "driver",
        "mass_kg": 5,
        "cutout_mm": 232,
        "depth_mm": 130,
        "outer_mm": 260,
        "displaces_l": 1.5,
        "fs_hz": 30,
        "qts": 0.5,
        "qes": 0.55,
        "vas_l": 30,
        "sd_cm2": 330,
        "xmax_mm": 10,
        "vented_pole": False,
    }
    return part("subwoofer", **own | changes)


def bass_amplifier(**changes: object) -> Row:
    """An amplifier with one channel for bass and none for the rest."""
    own = {
        "part_id": "mono",
        "full_channels": 0,
        "full_w_4ohm": None,
        "full_min_ohm": None,
        "bass_channels": 1,
        "bass_w_4ohm": 200,
        "bass_w_2ohm": 350,
        "bass_w_1ohm": 500,
        "bass_min_ohm": 1,
        "input_min_v": 0.2,
        "input_max_v": 5,
        "standby_ma": 5,
    }
    return amplifier(**own | changes)


MADE_BOX: Row = {"w_mm": 590, "h_mm": 390, "d_mm": 380, "d_top_mm": 300, "front_w_mm": 554, "front_h_mm": 354}
MADE_BOX |= {
    "priced": 1,
    "driver_depth_mm": 250,
    "net_l": 40,
    "mass_kg": 9,
    "drivers": 1,
    "made": True,
    "kind": "sealed",
}
MADE_BOX |= {"cutout_mm": None, "tuned_hz": None, "driver_size_in": None, "basis": "measured"}
"""A box made to measure as rules read it."""


def pair_checks(bench: Bench, one: Row, boxed: Row | None, space: Row, made: Row | None = None) -> list[Check]:
    """The rules of a driver in a box of the catalog, or in one made for it."""
    settings = shop_settings(bench.con)
    bench.lay(one, *([boxed] if boxed else []), vehicle(space))
    catalog = Catalog(bench.con, settings)
    driver = driver_columns(catalog.parts("subwoofer"), [0])
    boxes = subject_columns("box", [made], settings) if made else box_columns(catalog.parts("enclosure"), [0])
    opening = catalog.vehicle("tern").opening("cargo", space["opening_id"])
    (checks,) = explain(rules_of(BASS), driver | boxes | opening, settings)
    return checks
