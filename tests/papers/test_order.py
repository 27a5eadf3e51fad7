"""The order: a document for each supplier with what that one needs to know, and nothing of the others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from python_calamine import CalamineWorkbook

from catalog_schema.answers import KitLine
from catalog_schema.choices import Cell, OpenPoint
from matcher.papers.dossier import Dossier
from matcher.papers.model import Document, Para, Table
from matcher.papers.order import supplier_orders
from matcher.papers.words import Words
from matcher.papers.writer import Writer
from matcher.store.catalog.supplier_terms import SupplierTerms
from tests.choices.conftest import make_shop
from tests.papers.conftest import amounts, told

D = Decimal


def row(supplier: str = "Ulvo", part_id: str = "wire", **changes: Any) -> Mapping[str, Cell]:
    """A line of an order as the catalog is today."""
    whole = {
        "order_from": supplier, "part_id": part_id, "maker": "Ulvo", "model": "One", "packs": 2, "pack_of": 1,
        "stock": 0, "lead_days": 3, "price": D("40.10"), "total": D("80.20"),
    }  # fmt: skip
    return whole | changes


def orders(
    dossier: Dossier, *rows: Mapping[str, Cell], points: tuple[OpenPoint, ...] = (), **terms: SupplierTerms
) -> list[Document]:
    return [one.document for one in supplier_orders(Writer(dossier, Words()), rows, points, terms)]


def table(paper: Document) -> Table:
    return next(block for block in paper.blocks if isinstance(block, Table))


def test_each_supplier_gets_a_document_with_its_own_lines(dossier: Dossier) -> None:
    ulvo, other, *_ = orders(dossier, row(), row("Other & Sons", "plain"), row(part_id="low"))
    assert (ulvo.name, other.name) == ("order-j1-Ulvo", "order-j1-Other-Sons")
    assert [line[0] for line in table(ulvo).rows if line[0]] == ["wire", "low"]
    assert "plain" not in told(ulvo) and "wire" not in told(other)
    assert [name for name, _ in ulvo.facts] == ["Job", "Date"]
    assert ulvo.subject == "Ulvo" and "Screen & sound" not in told(ulvo)


def test_the_lines_add_up_with_tax_apart(dossier: Dossier) -> None:
    paper = orders(dossier, row(), row(part_id="low", total=D("19.99")))[0]
    sums = [amounts(line[-1])[0] for line in table(paper).rows]
    assert sums == [D("80.20"), D("19.99"), D("100.19"), D("19.04"), D("119.23")]


@pytest.mark.parametrize(
    ("terms", "lead", "sums"),
    [
        (SupplierTerms(), "Retail prices as in your list, without tax", "100.00 EUR 19.00 EUR 119.00 EUR"),
        (SupplierTerms("cost"), "Our cost prices as in your list, without tax", "100.00 EUR 19.00 EUR 119.00 EUR"),
        (SupplierTerms("cost", with_tax=True), "in your list, with tax", "84.03 EUR 15.97 EUR 100.00 EUR"),
        (SupplierTerms("cost", currency="SEK", rate=D("0.09")), "without tax", "100.00 SEK 19.00 SEK 119.00 SEK"),
    ],
)
def test_an_order_is_in_the_suppliers_own_prices(dossier: Dossier, terms: SupplierTerms, lead: str, sums: str) -> None:
    """Every order said without tax and in the shop's currency, whatever the list's prices mean."""
    paper = orders(dossier, row(total=D(100)), Ulvo=terms)[0]
    assert lead in told(paper)
    assert " ".join(line[-1].replace("\u00a0", " ") for line in table(paper).rows[1:]) == sums


@pytest.mark.parametrize(
    ("changes", "there", "latest"),
    [
        ({"stock": 2}, "in stock", "All parts are in stock."),
        ({"stock": 1}, "Mar 7, 2026", "by Mar 7, 2026"),
        ({"stock": None, "lead_days": 9}, "Mar 13, 2026", "by Mar 13, 2026"),
        ({"stock": None, "lead_days": None}, "to be confirmed", "Some delivery dates are not known"),
    ],
)
def test_the_day_on_which_it_is_there(dossier: Dossier, changes: dict[str, Any], there: str, latest: str) -> None:
    paper = orders(dossier, row(**changes))[0]
    assert table(paper).rows[0][3] == there and latest in told(paper)


def test_a_part_that_was_withdrawn_has_no_price_and_says_so(dossier: Dossier) -> None:
    paper = orders(dossier, row(price=None, total=None))[0]
    assert table(paper).rows[0][-2:] == ("?", "?")
    assert "No longer in the list, without a price: wire" in told(paper)


def test_what_has_to_be_measured_first_is_warned_of_where_it_matters(dossier: Dossier) -> None:
    assert dossier.package is not None and "opening:tern/shelf.beside_mm" in dossier.package.measure
    shelf = next(line.part_id for line in dossier.package.lines if line.opening_id == "shelf")
    point = OpenPoint(what="figure", subject="opening:tern/shelf.beside_mm", says="")
    warned, free, *_ = orders(dossier, row(part_id=str(shelf)), row("Other", "wire"), points=(point,))
    (warning,) = [block for block in warned.blocks if isinstance(block, Para) and block.tone == "warn"]
    assert warning.text.startswith("Measure first")
    assert "Measure first" not in told(free)


def test_what_no_list_holds_is_a_document_of_its_own(dossier: Dossier) -> None:
    package = dossier.package
    assert package is not None
    fuse = KitLine(
        kind="fuse",
        label="",
        quantity=D(2),
        unit="piece",
        size=D(30),
        size_unit="A",
        part_id=None,
        packs=0,
        price=D(0),
        priced=False,
    )
    cable = replace(fuse, kind="cable", quantity=D("5.5"), unit="m", size=D(25), size_unit="mm2")
    listed = replace(fuse, kind="strap", part_id="strap-1", packs=1, priced=True)
    text = told(orders(replace(dossier, package=replace(package, kit=[cable, fuse, listed])), row())[-1])
    assert "Supply cable, 25 mm²\n5.5 m" in text and "Main fuse, 30 A\n2" in text
    assert "Straps" not in text, "it is ordered of its supplier"


def test_the_shop_writes_each_as_pdf_and_spreadsheet(tmp_path: Path) -> None:
    shop = make_shop()
    shop.choices.choose("j1", 1)
    shop.orders.sheets("j1", folder=tmp_path / "orders")
    assert {path.name for path in (tmp_path / "orders").iterdir()} >= {"order-j1-Ulvo.pdf", "order-j1-Ulvo.xlsx"}
    book = CalamineWorkbook.from_path(str(tmp_path / "orders" / "order-j1-Ulvo.xlsx"))
    cells = book.get_sheet_by_name("Order").to_python()
    assert cells[0] == ["Part", "Item", "Packs", "There by", "Each", "Total"]
    assert ["", "Date", date.today(), "", "", ""] in cells  # a day, not its text: a spreadsheet reckons with it
    assert [line[1] for line in cells[-2:]] == [
        "To Ulvo. Retail prices as in your list, without tax; we pay as agreed.",
        "Some delivery dates are not known: please confirm them before sending anything.",
    ]
    assert [line[-1] for line in cells[1:4]] == [100, 100, 200] and ["", "Total", "", "", "", 400] in cells
    shop.con.close()
