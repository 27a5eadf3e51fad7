"""Sheets of older spreadsheets (.xls): values, number formats, merged and struck-out cells."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from matcher.errors import FileRefused
from matcher.store.lists.listing import MOST_COLUMNS, BadCell
from matcher.store.lists.number_formats import shows_digits_alone
from matcher.store.lists.spreadsheet_check import MOST_CELLS, SheetNotes, no_spreadsheet

if TYPE_CHECKING:
    from xlrd import Book  # type: ignore[import-untyped]

MOST_BYTES = 100_000_000


def open_old_book(path: Path) -> Book:
    """Open the workbook in a file.

    Raises
    ------
    FileRefused
        if it is not one, or is larger than any list.
    """
    import xlrd

    if path.stat().st_size > MOST_BYTES:
        raise FileRefused(f"{path} has over {MOST_BYTES:,} bytes", fix="save it as .xlsx or .csv")
    try:
        with Path(os.devnull).open("w") as log:
            return xlrd.open_workbook(str(path), formatting_info=True, logfile=log)
    except Exception:  # the library fails on broken files in many ways
        raise no_spreadsheet(path) from None


def read_old_sheet(path: Path, book: Book, name: str) -> tuple[SheetNotes, list[list[object]]]:
    """Return a sheet's notes and its values, row by row from the first line."""
    sheet = book.sheet_by_name(name)
    if sheet.ncols > MOST_COLUMNS or sheet.nrows * sheet.ncols > MOST_CELLS:
        raise FileRefused(f"{path} spreads over too many cells", fix="save the list alone, as CSV")
    notes = SheetNotes(sheet.nrows)
    values = [[_value(book, cell) for cell in sheet.row(row)] for row in range(sheet.nrows)]
    for row in range(sheet.nrows):
        for column, cell in enumerate(sheet.row(row)):
            _note(book, cell, (row + 1, column + 1), notes)
    for first, last, left, right in sheet.merged_cells:
        notes.join(first + 1, last, left, right - 1)
    return notes, values


def _value(book: Book, cell: Any) -> object:
    from xlrd import XL_CELL_BOOLEAN, XL_CELL_DATE, xldate_as_datetime

    if cell.ctype == XL_CELL_BOOLEAN:
        return bool(cell.value)
    if cell.ctype != XL_CELL_DATE:
        return cell.value
    try:
        return xldate_as_datetime(cell.value, book.datemode)
    except (ValueError, OverflowError):
        return cell.value


def _note(book: Book, cell: Any, place: tuple[int, int], notes: SheetNotes) -> None:
    from xlrd import XL_CELL_EMPTY, XL_CELL_ERROR, XL_CELL_NUMBER, error_text_from_code

    style = book.xf_list[cell.xf_index] if cell.xf_index is not None else None
    if cell.ctype == XL_CELL_ERROR:
        shown = error_text_from_code.get(cell.value, "#ERROR")
        notes.bad[place] = BadCell(shown, "a value, not a spreadsheet's error", "mend the formula in the list")
    if style is None or cell.ctype == XL_CELL_EMPTY:
        return
    if book.font_list[style.font_index].struck_out:
        notes.struck.add(place)
    code = book.format_map[style.format_key].format_str if style.format_key in book.format_map else ""
    if cell.ctype == XL_CELL_NUMBER and code and not shows_digits_alone(code):
        notes.formats[place] = code
