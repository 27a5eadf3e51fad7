"""Write tables as CSV or XLSX in which no text is taken for a formula."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from catalog_schema.choices import Cell, Sheet
from matcher.errors import InputError
from matcher.store.database.durable import check_target, put_in_place

DANGEROUS = re.compile(r"'*[=+\-@\t\r]")
"""First characters by which a spreadsheet takes a text for a formula, and texts that look escaped already.

Escaping the latter, too, makes removing our apostrophe always restore the cell.
"""


def neutral(cell: str) -> str:
    """Escape a cell that could be taken for a formula with an apostrophe."""
    return "'" + cell if DANGEROUS.match(cell) else cell


def write_sheets(sheets: Sequence[Sheet], target: Path, *, force: bool = False) -> None:
    """Write tables to a file: all of them to XLSX, the first one to CSV.

    Raises
    ------
    InputError
        if `check_sheets_target` refuses the file, or it cannot be written.
    """
    check_sheets_target(target, force=force)
    is_csv = target.suffix.lower() == ".csv"
    put_in_place(target, lambda half: _write_csv(sheets[0], half) if is_csv else _write_xlsx(sheets, half))


def check_sheets_target(target: Path, *, force: bool) -> None:
    """Refuse an invalid file for tables before they are computed.

    Raises
    ------
    InputError
        if the suffix or the folder is wrong, or the file exists and may not be replaced.
    """
    if target.suffix.lower() not in (".csv", ".xlsx"):
        raise InputError(f"{target} is to be a list", fix="name it .csv or .xlsx")
    if not target.parent.is_dir():
        raise InputError(f"there is no folder {target.parent}", fix="make the folder, or name another")
    check_target(target, force=force)


def _write_csv(sheet: Sheet, target: Path) -> None:
    with target.open("w", encoding="utf-8-sig", newline="") as stream:
        csv.writer(stream).writerows(_texts(row) for row in _rows(sheet))


def _texts(row: Sequence[Cell]) -> list[str]:
    return [neutral(cell) if isinstance(cell, str) else "" if cell is None else f"{cell}" for cell in row]


def _write_xlsx(sheets: Sequence[Sheet], target: Path) -> None:
    from xlsxwriter import Workbook  # type: ignore[import-untyped]

    plain = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with Workbook(str(target), plain) as book:
        text = book.add_format({"num_format": "@", "valign": "top"})
        head = book.add_format({"num_format": "@", "bold": True, "bottom": 1})
        money = book.add_format({"num_format": "#,##0.00", "valign": "top"})
        day = book.add_format({"num_format": "yyyy-mm-dd", "align": "left", "valign": "top"})
        typed = {Decimal: money, date: day}
        for sheet in sheets:
            page = book.add_worksheet(sheet.name)
            for place, row in enumerate(_rows(sheet)):
                for column, cell in enumerate(row):
                    form = typed.get(type(cell), text if place else head)
                    _write_cell(page, place, column, cell, form)
            page.freeze_panes(1, 1)
            _set_print(page)
            for column, wide in enumerate(_widths(sheet)):
                page.set_column(column, column, wide)


def _set_print(page: Any) -> None:
    """Set up printing: A4 landscape, all columns on one page's width, repeated heads, page numbers."""
    page.set_paper(9)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.repeat_rows(0)
    page.set_footer("&L&A&R&P / &N")


def _write_cell(page: Any, row: int, column: int, cell: Cell, form: Any) -> None:
    if isinstance(cell, str):
        if cell:
            page.write_string(row, column, neutral(cell), form)
    elif isinstance(cell, int | Decimal):
        page.write_number(row, column, cell, form)
    elif cell is not None:
        page.write_datetime(row, column, cell, form)


def _widths(sheet: Sheet) -> list[int]:
    """Return column widths: the longest cell, within a screen's width."""
    lengths = ([len(str(cell)) for cell in row] for row in _rows(sheet))
    return [min(50, max(8, *column)) for column in zip(*lengths, strict=True)]


def _rows(sheet: Sheet) -> list[list[Cell]]:
    return [[*sheet.heads], *sheet.cells]
