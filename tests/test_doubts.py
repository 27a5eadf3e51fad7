"""Plausibility: usual ranges, and figures of one row that have to agree."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import duckdb
import pytest

from catalog_schema.agreements import AGREEMENTS, BESIDE, nominal_sizes_mm, size_agrees
from catalog_schema.columns import columns_of, family_columns
from catalog_schema.documents import build
from catalog_schema.doubts import document_doubts, figure_doubt, row_doubts
from catalog_schema.field_table import FIELD_TABLE
from catalog_schema.fields import field_of, fields_of
from catalog_schema.jobs import Job, Limits
from catalog_schema.kinds import CountKind, FigureKind
from catalog_schema.parts import FAMILIES
from catalog_schema.vehicles import OPENINGS, Cut, Electrical, KeepClear, Pane, Runs, Vehicle
from matcher.store.importing.doubtful_rows import doubtful_rows

MODELS: list[type[Any]] = [
    *FAMILIES.values(),
    *OPENINGS.values(),
    Cut,
    KeepClear,
    Electrical,
    Runs,
    Pane,
    Vehicle,
    Limits,
]


@pytest.mark.parametrize("model", MODELS)
def test_every_figure_has_its_row_in_the_table_of_fields(model: type[Any]) -> None:
    figures = {one.name: one for one in columns_of(model) if isinstance(one.kind, FigureKind | CountKind)}
    assert figures.keys() == fields_of(model).keys()
    for name, column in figures.items():
        if isinstance(column.kind, FigureKind):
            assert (fields_of(model)[name].unit or "n") == column.kind.unit, name


def test_every_usual_range_has_a_lower_and_an_upper_end() -> None:
    rows = [row for rows in FIELD_TABLE.values() for row in rows]
    assert all(Decimal(low) < Decimal(high) for _, _, low, high in rows)
    assert all(label for _, label, _, _ in rows)


@pytest.mark.parametrize(
    ("model", "name", "value", "found"),
    [
        ("DashOpening", "depth_mm", 5300, "5300 mm"),  # taken silently once: 53
        ("SpeakerOpening", "hole_w_mm", Decimal("14.4"), "14.4 mm"),  # 144
        ("SpeakerOpening", "depth_mm", 6200, "6200 mm"),  # 62.00
        ("Speaker", "sens_db", 190, "190 dB"),
        ("Film", "vlt_pct", 120, "120 %"),
        ("FilmInputs", "film_pct", 120.0, "120 %"),
        ("WireInputs", "length_m", 0.0045, "0.0045 m"),  # calc wire --length 4.5mm
        ("Speaker", "cutout_w_mm", Decimal("3.7"), "3.7 mm"),
        ("DashOpening", "depth_mm", 53, None),
        ("Speaker", "depth_mm", 250, None),  # exactly on the limit
        ("Speaker", "depth_mm", Decimal("250.1"), "250.1 mm"),
        ("Speaker", "depth_mm", None, None),
        ("Speaker", "maker", "Orlebar", None),
    ],
)
def test_a_figure_outside_its_usual_range_is_doubted(model: str, name: str, value: object, found: str | None) -> None:
    doubt = figure_doubt(model, name, value)
    assert (doubt.problem.found if doubt else None) == found


SPEAKER = {
    "shape": "round",
    "size": "165 mm",
    "cutout_w_mm": 143,
    "cutout_h_mm": 143,
    "depth_mm": 55,
    "flange_w_mm": 165,
    "magnet_mm": 90,
    "bolt_circle_mm": 155,
    "rms_w": 45,
    "impedance_ohm": 4,
}
BASS = {"size_in": 10, "cutout_mm": 233, "outer_mm": 262, "depth_mm": 110, "qts": Decimal("0.45"), "rms_w": 200}
AMPLIFIER = {"full_w_4ohm": 50, "full_w_2ohm": 75, "full_bridged_w_4ohm": 150, "input_min_v": 1, "input_max_v": 5}


@pytest.mark.parametrize(
    ("family", "row", "names"),
    [
        ("speaker", SPEAKER, []),
        ("speaker", SPEAKER | {"cutout_w_mm": 55, "cutout_h_mm": 55, "depth_mm": 143}, ["depth_mm", "cutout_w_mm"]),
        ("speaker", {"cutout_w_mm": 49, "depth_mm": 184}, ["depth_mm", "cutout_w_mm"]),
        (
            "speaker",
            SPEAKER | {"size": "4 in", "cutout_w_mm": 37, "cutout_h_mm": 37},
            ["size", "cutout_w_mm", "cutout_h_mm"],
        ),
        ("speaker", SPEAKER | {"size": "87 mm"}, ["size", "cutout_w_mm", "cutout_h_mm"]),
        ("speaker", SPEAKER | {"peak_w": 30, "rms_w": 90}, ["rms_w", "peak_w"]),
        ("speaker", SPEAKER | {"peak_w": 45}, []),  # exactly on the limit
        ("speaker", SPEAKER | {"overall_d_mm": 42, "depth_mm": 27}, ["overall_d_mm", "depth_mm"]),
        ("speaker", SPEAKER | {"flange_w_mm": 130}, ["cutout_w_mm", "flange_w_mm"]),
        ("speaker", SPEAKER | {"low_hz": 20000, "high_hz": 60}, ["low_hz", "high_hz"]),
        ("speaker", SPEAKER | {"flange_w_mm": None, "size": "large"}, []),  # unknown breaks nothing
        ("amplifier", AMPLIFIER, []),
        ("amplifier", AMPLIFIER | {"d_mm": 27, "overall_d_mm": 42}, ["overall_d_mm", "d_mm"]),
        ("amplifier", AMPLIFIER | {"input_min_v": 6}, ["input_min_v", "input_max_v"]),
        ("amplifier", AMPLIFIER | {"full_w_2ohm": 40}, ["full_w_4ohm", "full_w_2ohm"]),
        ("subwoofer", BASS, []),
        ("subwoofer", BASS | {"cutout_mm": 110, "depth_mm": 233}, ["depth_mm", "cutout_mm"]),
        ("subwoofer", BASS | {"size_in": 12}, ["size_in", "cutout_mm"]),
        ("enclosure", {"net_l": 25, "w_mm": 52, "h_mm": 300, "d_mm": 300}, ["net_l", "w_mm", "h_mm", "d_mm"]),
        ("cable", {"fuse_a": 100, "rated_a": 60}, ["fuse_a", "rated_a"]),
        ("head_unit", {"shaft_min_mm": 140, "shaft_max_mm": 120}, ["shaft_min_mm", "shaft_max_mm"]),
    ],
)
def test_figures_of_one_row_have_to_agree(family: str, row: dict[str, object], names: list[str]) -> None:
    doubts = row_doubts(family, row)
    assert bool(doubts) == bool(names)
    assert not names or any(one.names == tuple(names) for one in doubts), doubts


def test_a_disagreement_names_both_figures_with_their_values() -> None:
    (doubt,) = row_doubts("speaker", {"cutout_w_mm": 49, "depth_mm": 184})
    assert doubt.problem.found == "mounting depth 184 mm, cut-out width 49 mm"


@pytest.mark.parametrize(
    ("size", "sizes"),
    [
        ("165 mm", ["165"]),
        ("16.5 cm", ["165"]),
        ("6 1/2 in", ["165.1"]),
        ('5.25"', ["133.35"]),
        ("4-inch", ["101.6"]),
        ("100x150 mm", ["100x150"]),
        ("6x9", ["152.4x228.6", "60x90"]),  # inches or centimeters
        ("13", ["330.2", "130"]),
        ("large", []),
    ],
)
def test_a_nominal_size_is_read(size: str, sizes: list[str]) -> None:
    read = ["x".join(f"{side.normalize():f}" for side in sides) for sides in nominal_sizes_mm(size)]
    assert read == sizes


def test_a_bare_size_agrees_with_what_any_of_its_readings_allows() -> None:
    assert size_agrees("13", {"cutout_w_mm": Decimal(115)})
    assert not size_agrees("13", {"cutout_w_mm": Decimal(190)})


def test_agreements_compare_fields_of_their_family() -> None:
    for family, declared in AGREEMENTS.items():
        known = {column.name for column in family_columns(family)} | BESIDE.keys()
        assert {name for one in declared for name in one.names} <= known, family
        assert all(name in BESIDE or field_of(FAMILIES[family], name) for one in declared for name in one.names)


def test_documents_are_doubted_with_the_path_of_each_figure() -> None:
    opening = {"opening_id": "dash", "kind": "dash", "depth_mm": 5300, "cut": {"w_mm": 1820}}
    pane = {"pane": "rear", "vlt_pct": 120}
    vehicle = build(Vehicle, {"vehicle_id": "gull", "openings": [opening], "panes": [pane], "runs": {}})
    found = {one.problem.column: one.problem.found for one in document_doubts(vehicle)}
    assert found == {
        "openings[dash].depth_mm": "5300 mm",
        "openings[dash].cut.w_mm": "1820 mm",
        "panes[rear].vlt_pct": "120 %",
    }
    job = build(Job, {"job_id": "one", "vehicle_id": "gull", "limits": {"screen_min_in": 80}})
    assert [one.problem.column for one in document_doubts(job)] == ["limits.screen_min_in"]


ROWS: list[tuple[str, dict[str, object]]] = [
    ("speaker", SPEAKER),
    ("speaker", SPEAKER | {"depth_mm": 5300}),
    ("speaker", SPEAKER | {"size": "87 mm"}),
    ("speaker", SPEAKER | {"size": "87 mm", "cutout_h_mm": None, "cutout_w_mm": Decimal("14.3")}),
    ("speaker", SPEAKER | {"size": "it's", "flange_w_mm": Decimal("141.9")}),
    ("speaker", {"shape": "oval", "size": "6x9", "bolt_circle_mm": 90, "cutout_w_mm": 150, "cutout_h_mm": 220}),
    ("subwoofer", BASS | {"size_in": 12}),
    ("amplifier", AMPLIFIER | {"full_w_2ohm": Decimal("110.1")}),
    ("amplifier", AMPLIFIER | {"full_w_2ohm": 110, "full_bridged_w_4ohm": 220}),  # exactly on the limit
    ("enclosure", {"net_l": 27, "w_mm": 300, "h_mm": 300, "d_mm": 300}),
    ("film", {"vlt_pct": 120}),
]


@pytest.mark.parametrize(("family", "row"), ROWS)
def test_the_database_finds_the_rows_that_are_doubted_one_by_one(family: str, row: dict[str, object]) -> None:
    columns = family_columns(family)
    con = duckdb.connect()
    named = ", ".join(f'"{one.name}" {one.kind.sql_type}' for one in columns)
    con.execute(f"create table listed (line integer, {named})")
    cells = [row.get(one.name) for one in columns]
    for line, values in ((2, [None] * len(cells)), (3, cells)):
        con.execute(f"insert into listed values (?{', ?' * len(cells)})", [line, *values])
    found = doubtful_rows(con, "listed", "line", family)
    expected = [one.problem for one in row_doubts(family, row)]
    assert found == ({3: expected} if expected else {})
