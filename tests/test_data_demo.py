"""The demo's lists: drawn the same every time, written as suppliers write, wrong only on purpose."""

from __future__ import annotations

import csv
import json
from collections import Counter
from decimal import Decimal
from itertools import islice
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

import data_demo
from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.figures import read_figure, read_number, split_header
from catalog_schema.kinds import is_blank
from catalog_schema.notation import Notation
from catalog_schema.parts import FAMILIES
from catalog_schema.problems import FieldError
from data_demo.draw import RandomStream
from data_demo.generate import rows, write_catalog, write_lists, write_million
from data_demo.hands import write_cell
from data_demo.rows import shares_of
from data_demo.sheets import intended_faults, numbered

FAMILY_NAMES = sorted(FAMILIES)


def cells(path: Path) -> object:
    """What a list holds: its bytes, or for a workbook its cells, which no packer's version can change."""
    if path.suffix != ".xlsx":
        return path.read_bytes()
    return CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python(skip_empty_area=False)


def read_rows(path: Path) -> list[dict[str, Any]]:
    """A list's rows, straight from its file."""
    if path.suffix == ".jsonl":
        return [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    if path.suffix == ".xlsx":
        page = CalamineWorkbook.from_path(path).get_sheet_by_index(0)
        header, *table = page.to_python(skip_empty_area=False)
        return [dict(zip(map(str, header), row, strict=True)) for row in table]
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


EUROS = Notation(currency=data_demo.SETTINGS["currency"])
LISTS = {family: read_rows(path) for family, [path] in data_demo.lists().items()}


# The generator


def test_the_lists_are_what_the_generator_writes(tmp_path: Path) -> None:
    written = {path.name: cells(path) for path in write_lists(tmp_path)}
    stored = {path.name: cells(path) for paths in data_demo.lists().values() for path in paths}
    assert written == stored


@pytest.mark.parametrize("family", FAMILY_NAMES)
def test_a_longer_list_begins_with_the_shorter_one(family: str) -> None:
    assert list(rows(family, 20, seed=7)) == list(islice(rows(family, 50, seed=7), 20))


@pytest.mark.parametrize("family", FAMILY_NAMES)
def test_another_seed_draws_other_rows(family: str) -> None:
    assert list(rows(family, 20, seed=7)) != list(rows(family, 20, seed=8))


@pytest.mark.parametrize("family", FAMILY_NAMES)
def test_rows_are_clean(family: str) -> None:
    columns = {column.name: column for column in family_columns(family)}
    drawn = list(rows(family, 300, seed=3))
    for row in drawn:
        assert list(row) == list(drawn[0])
        for name, cell in row.items():
            columns[name].kind.read(cell, EUROS)
            assert not (columns[name].required and is_blank(cell))
    assert len({row["part_id"] for row in drawn}) == 300


def test_about_one_row_in_seven_lacks_a_figure() -> None:
    depths = [row["depth_mm"] for row in rows("speaker", 3000, seed=5)]
    assert 0.015 < depths.count(None) / 3000 < 0.035  # 15 % of rows, one of six figures


def test_write_million_writes_canonical_rows(tmp_path: Path) -> None:
    write_million(tmp_path / "speakers.csv", 500, seed=11)
    stored = read_rows(tmp_path / "speakers.csv")
    assert [row["part_id"] for row in stored[:2]] == ["SP0000001", "SP0000002"]
    assert [read_number(row["depth_mm"], "mm") for row in stored] == [
        read_number(row["depth_mm"], "mm") for row in rows("speaker", 500, seed=11)
    ]


@pytest.mark.parametrize("n", [1, 7, 999, 1000, 10_000, 1_000_000])
def test_the_shares_make_the_whole(n: int) -> None:
    assert sum(shares_of(n).values()) == n


def test_write_catalog_writes_a_file_for_each_family(tmp_path: Path) -> None:
    files = write_catalog(tmp_path / "catalog", 1000, seed=2)
    assert {family: len(read_rows(path)) for family, path in files.items()} == shares_of(1000)
    assert set(files) == set(FAMILIES) - {"install"}, (
        "a catalog of any size is for ranking: kits have lists of their own"
    )


@given(st.integers(0, 2**32), st.integers(-40, 40), st.integers(0, 100))
def test_a_half_lies_in_its_span(seed: int, low: int, width: int) -> None:
    value = RandomStream(seed).half((low, low + width / 2))
    assert low <= value <= low + width / 2
    assert (value * 2).is_integer()


# The hands of the suppliers


@pytest.mark.parametrize(
    ("column", "value", "hand", "cell"),
    [
        ("depth_mm", 60.5, "plain", "60.5"),
        ("depth_mm", 60.0, "plain", "60"),
        ("depth_mm", 60.5, "mm", "60.5 mm"),
        ("depth_mm", 60.5, "comma", "60,5 mm"),
        ("depth_mm", 60.5, "fraction", "2 3/8 in"),
        ("depth_mm", 165, "inch_mark", '6½"'),
        ("depth_mm", 56, "inch_mark", '2-3/16"'),
        ("depth_mm", 12.7, "inch_mark", '½"'),
        ("depth_mm", 14.5, "inch_mark", '9/16"'),
        ("depth_mm", 50.8, "fraction", "2 in"),
        ("depth_mm", 50.8, "inch_mark", '2"'),
        ("depth_mm", 9.5, "fraction", "3/8 in"),
        ("xmax_mm", 2.5, "fraction", "2.5 mm"),
        ("screen_rise_min_mm", -24.0, "fraction", "-24 mm"),
        ("rms_w", 75, "mm", "75 W RMS"),
        ("price", "129.90", "comma", "129,90 €"),
        ("lead_days", 5, "comma", "5"),
        ("bolt_count", 4, "mm", "4"),
        ("qts", 0.45, "comma", "0.45"),
        ("depth_mm", None, "comma", ""),
    ],
)
def test_a_cell_in_its_hand(column: str, value: object, hand: str, cell: str) -> None:
    assert write_cell(column, value, hand) == cell


@given(st.integers(-100, 2000), st.sampled_from(["plain", "mm", "comma", "fraction", "inch_mark"]))
def test_a_hand_can_be_read_back(halves: int, hand: str) -> None:
    figure = read_figure(write_cell("depth_mm", halves / 2, hand), "mm")
    assert figure is not None
    assert abs(figure.value - Decimal(halves) / 2) <= Decimal("25.4") / 32  # half a sixteenth of an inch


# The lists


def column_under(family: str, header: str) -> TableColumn:
    """The column that a header of a list means, with or without its unit in brackets."""
    columns = {column.name: column for column in family_columns(family)}
    stem, unit = split_header(header)
    return columns[header] if unit is None else columns[f"{stem}_mm"]


def unreadable(family: str, row: dict[str, Any]) -> list[str]:
    """The headers of a row's cells that its columns refuse."""
    refused = []
    for header, cell in row.items():
        column = column_under(family, header)
        try:
            value = column.kind.read(cell, EUROS)
        except FieldError:
            refused.append(header)
        else:
            refused += [header] if column.required and value is None else []
    return refused


@pytest.mark.parametrize("family", FAMILY_NAMES)
def test_a_list_is_wrong_only_on_purpose(family: str) -> None:
    wrong = {row["part_id"]: unreadable(family, row) for row in LISTS[family] if unreadable(family, row)}
    intended = {
        fault["set"].get("part_id", fault["part_id"]): list(fault["set"])
        for fault in intended_faults()
        if fault["family"] == family and fault["outcome"] == "problem"
    }
    assert wrong == intended


def test_a_part_number_comes_twice_only_on_purpose() -> None:
    counted = Counter(row["part_id"] for table in LISTS.values() for row in table)
    twice = {part_id for part_id, times in counted.items() if times > 1}
    assert twice == {fault["part_id"] for fault in intended_faults() if "again" in fault}


@pytest.mark.parametrize("fault", [fault for fault in intended_faults() if "again" in fault], ids=str)
def test_a_row_that_comes_again(fault: dict[str, Any]) -> None:
    first, second = (row for row in LISTS[fault["family"]] if row["part_id"] == fault["part_id"])
    differing = {column for column, cell in first.items() if second[column] != cell}
    assert differing == set(fault["again"])


def test_inches_stand_under_a_header_that_says_so() -> None:
    assert {"Cutout (in)", "Depth (in)", "Outer (in)"} <= set(LISTS["subwoofer"][0])
    clean = {row["part_id"]: row for row in numbered()["subwoofer"]}
    row = next(row for row in LISTS["subwoofer"] if row["maker"] == "Guillemar")
    read = read_figure(row["Cutout (in)"], "mm", given_in="in")
    assert read is not None
    assert float(read.value) == pytest.approx(clean[row["part_id"]]["cutout_mm"], abs=0.13)
