"""The order list and the comparison of packages, on the screen and in spreadsheets."""

from __future__ import annotations

import csv
import zipfile
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from python_calamine import CalamineWorkbook

from catalog_schema.choices import Sheet
from matcher.errors import InputError
from tests.choices.conftest import AMP, HEAD, SPEAKER, make_shop
from tests.factories import Bench, withdraw


@pytest.fixture(scope="module")
def chosen_once() -> Bench:
    made = make_shop()
    made.choices.choose("j1", 1)
    return made


@pytest.fixture
def shop(chosen_once: Bench) -> Bench:
    """A shop in which package 1 was chosen: speakers are sold singly, two are needed."""
    chosen_once.lay(HEAD, SPEAKER, AMP)
    return chosen_once


def row_of(sheet: Sheet, part_id: str) -> dict[str, Any]:
    return next(row for row in sheet.rows() if row["part_id"] == part_id)


def test_an_order_tells_packs_places_and_sums(shop: Bench) -> None:
    order, suppliers = shop.orders.sheets("j1")
    assert [(row["part_id"], row["for"], row["packs"], row["price"], row["total"]) for row in order.rows()] == [
        ("amplifier-1", "seat", 1, 100, 100),
        ("head_unit-1", "dash", 1, 100, 100),
        ("speaker-1", "door", 2, 100, 200),
    ]
    assert suppliers.rows() == [{"order_from": "Ulvo", "parts": 3, "total": 400, "longest_lead_days": None}]


CHANGES: dict[str, tuple[Callable[[Bench], object], dict[str, Any]]] = {
    "enough in stock": (lambda shop: shop.lay(SPEAKER | {"stock": 2}), {"stock": 2, "note": ""}),
    "one too few": (lambda shop: shop.lay(SPEAKER | {"stock": 1}), {"stock": 1, "note": "1 not in stock"}),
    "stock that nobody knows": (lambda shop: None, {"stock": None, "note": "stock not known"}),
    "a price that moved": (
        lambda shop: shop.lay(SPEAKER | {"price": 98.5, "stock": 9}),
        {"price": 98.5, "total": 197, "price_chosen": 100, "note": "price moved from 100.00"},
    ),
    "sold in pairs by now": (
        lambda shop: shop.lay(SPEAKER | {"pack_of": 2, "stock": 9}),
        {"packs": 1, "pieces": 2, "total": 100},
    ),
    "a part that was withdrawn": (
        lambda shop: withdraw(shop.con, "speaker", "speaker-1"),
        {"price": None, "total": None, "note": "withdrawn", "packs": 2},
    ),
}


@pytest.mark.parametrize(("change", "expected"), CHANGES.values(), ids=CHANGES)
def test_an_order_is_as_the_catalog_is_today(
    shop: Bench, change: Callable[[Bench], object], expected: dict[str, Any]
) -> None:
    change(shop)
    row = row_of(shop.orders.sheets("j1", anyway=True, note="tried")[0], "speaker-1")
    assert {name: row[name] for name in expected} == expected


def test_packages_stand_side_by_side(shop: Bench) -> None:
    packages = shop.jobs.compare("j1")[0]
    rows = {row["what"]: row for row in packages.rows()}
    assert packages.heads == ["what", "rank 1", "rank 2"]
    assert (rows["total"]["rank 1"], rows["total"]["rank 2"]) == (400, 410)
    assert rows["speaker at door"]["rank 2"] == "dearer Ulvo One"


def test_no_text_of_a_list_is_ever_a_formula(shop: Bench, tmp_path: Path) -> None:
    shop.lay(SPEAKER | {"model": "=1+1"})
    shop.choices.choose("j1", 1)
    shop.orders.sheets("j1", out=tmp_path / "order.csv")
    with (tmp_path / "order.csv").open(encoding="utf-8-sig", newline="") as stream:
        cells = [cell for row in csv.reader(stream) for cell in row]
    assert "'=1+1" in cells
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t"))]
    shop.orders.sheets("j1", out=tmp_path / "order.xlsx")
    with zipfile.ZipFile(tmp_path / "order.xlsx") as book:
        assert b"<f>" not in book.read("xl/worksheets/sheet1.xml")
        assert "'=1+1" in book.read("xl/sharedStrings.xml").decode()


def test_a_spreadsheet_holds_numbers_as_numbers(shop: Bench, tmp_path: Path) -> None:
    shop.choices.choose("j1", 1)
    order, suppliers = shop.orders.sheets("j1", out=tmp_path / "order.xlsx")
    book = CalamineWorkbook.from_path(str(tmp_path / "order.xlsx"))
    assert book.sheet_names == ["order", "suppliers"]
    for sheet in (order, suppliers):
        rows = book.get_sheet_by_name(sheet.name).to_python()
        assert rows[0] == sheet.heads
        expected = [[float(one) if isinstance(one, Decimal) else one or "" for one in row] for row in sheet.cells]
        assert rows[1:] == expected


@pytest.mark.parametrize("name", ["order.ods", "no/order.csv"])
def test_a_file_that_cannot_be_written(shop: Bench, tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError):
        shop.orders.sheets("j1", out=tmp_path / name)
