"""Sheets of OpenDocument spreadsheets (.ods): each cell with its value and its displayed text.

The layout is that of OASIS OpenDocument 1.3, part 3, chapter 9 (tables).
"""

from __future__ import annotations

import re
import zipfile
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from pathlib import Path
from xml.etree.ElementTree import Element, iterparse

from matcher.errors import FileRefused
from matcher.store.lists.listing import MOST_COLUMNS, BadCell

CONTENT = "content.xml"
MOST_CELLS = 30_000_000
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
STYLE = "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
CALC_EXTENSION = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"
CELLS = (f"{TABLE}table-cell", f"{TABLE}covered-table-cell")
_NUMBER = re.compile(r"(\d+(?:[.,'’ \u00a0\u202f]\d+)*)(\s*)")
_FRACTION = re.compile(r"\d ?/ ?\d")


@dataclass(slots=True)
class OpenSheet:
    """One sheet: its rows by number, and the count of its calculated values."""

    name: str
    rows: list[tuple[int, list[object]]] = field(default_factory=list)
    lines: int = 0
    """Number of the last row with content."""
    formulas: int = 0
    struck: set[tuple[int, int]] = field(default_factory=set)
    """Struck-out cells (line, column from 1)."""


def is_open_document(path: Path) -> bool:
    """Whether an archive is an OpenDocument."""
    with zipfile.ZipFile(path) as archive:
        return CONTENT in archive.namelist()


def read_open_document(path: Path) -> list[OpenSheet]:
    """Return every sheet of an OpenDocument spreadsheet.

    Raises
    ------
    FileRefused
        if a sheet has more cells than any list.
    """
    sheets: list[OpenSheet] = []
    line = 0
    through: set[str] = set()
    with zipfile.ZipFile(path) as archive, archive.open(CONTENT) as stream:
        for event, element in iterparse(stream, events=("start", "end")):
            if element.tag == f"{STYLE}style" and event == "end":
                through |= _struck_style(element)
            elif element.tag == f"{TABLE}table" and event == "start":
                sheets.append(OpenSheet(element.get(f"{TABLE}name", "")))
                line = 0
            elif element.tag == f"{TABLE}table-row" and event == "end":
                line = _take_row(path, sheets[-1], line, element, through)
                element.clear()
    return sheets


def _struck_style(style: Element) -> set[str]:
    """Return the name of a style that strikes text out."""
    drawn = {part.get(f"{STYLE}text-line-through-style", "none") for part in style}
    return {style.get(f"{STYLE}name", "")} if drawn - {"none"} else set()


def _take_row(path: Path, sheet: OpenSheet, line: int, row: Element, through: set[str]) -> int:
    """Add the rows of one element; return the number of the last one."""
    times = int(row.get(f"{TABLE}number-rows-repeated", 1))
    cells, formulas, struck = _row_cells(row, through)
    if not cells:
        return line + times
    if len(cells) > MOST_COLUMNS or (len(sheet.rows) + times) * len(cells) > MOST_CELLS:
        raise FileRefused(f"{path} spreads over too many cells", fix="save the list alone, as CSV")
    sheet.rows += [(line + number, list(cells)) for number in range(1, times + 1)]
    sheet.formulas += formulas * times
    sheet.struck |= {(line + number, column) for number in range(1, times + 1) for column in struck}
    sheet.lines = line + times
    return line + times


def _row_cells(row: Element, through: set[str]) -> tuple[list[object], int, list[int]]:
    """Return a row's cells up to the last filled one, the count of calculated ones, and the struck-out columns."""
    cells: list[object] = []
    struck: list[int] = []
    formulas = waiting = 0
    for cell in row:
        if cell.tag not in CELLS:
            continue
        times = min(int(cell.get(f"{TABLE}number-columns-repeated", 1)), MOST_COLUMNS + 1)
        value = _value(cell)
        if value == "":
            waiting += times
            continue
        cells += [""] * waiting + [value] * times
        waiting = 0
        formulas += times if cell.get(f"{TABLE}formula") else 0
        if cell.get(f"{TABLE}style-name") in through:
            struck += range(len(cells) - times + 1, len(cells) + 1)
    return cells, formulas, struck


def _value(cell: Element) -> object:
    """Return a cell's displayed text, to all digits."""
    kind = cell.get(f"{OFFICE}value-type")
    shown = "\n".join(_paragraph(part) for part in cell.findall(f"{TEXT}p"))
    if cell.get(f"{CALC_EXTENSION}value-type") == "error":
        return BadCell(shown or "#ERROR", "a value, not a spreadsheet's error", "mend the formula in the list")
    if kind in ("date", "time"):
        return BadCell(shown, "a value, not a date", "give the cell the format Text, and write it again")
    if kind == "boolean":
        return cell.get(f"{OFFICE}boolean-value") == "true"
    if kind in ("float", "percentage", "currency"):
        return _number(cell.get(f"{OFFICE}value", ""), shown, kind, cell.get(f"{OFFICE}currency", ""))
    return shown


def _paragraph(part: Element) -> str:
    texts = [part.text or ""]
    for inner in part:
        spaces = " " * int(inner.get(f"{TEXT}c", 1)) if inner.tag == f"{TEXT}s" else _paragraph(inner)
        texts += [spaces, inner.tail or ""]
    return "".join(texts)


def _number(value: str, shown: str, kind: str, currency: str) -> object:
    """Return a cell's number to all its digits, with the text displayed around it.

    >>> _number("2.375", "2,38 in", "float", ""), _number("2.375", "2 3/8", "float", "")
    ('2.375 in', '2 3/8')
    """
    try:
        number = Decimal(value)
    except InvalidOperation:
        return BadCell(shown or value, "a number", "write the cell again")
    digits = _digits(number)
    if _FRACTION.search(shown):
        return shown.strip()
    found = _NUMBER.search(shown)
    if found is None:
        return shown if shown.strip() else f"{digits} {currency}".strip()
    before, inner, behind = shown[: found.start()], found[1], shown[found.end() :]
    if kind == "percentage":
        digits = _digits(number * 100)
    if not _shows(inner, abs(Decimal(digits))):
        fix = "give the cell the format Text, and write the value with its unit"
        return BadCell(shown, f"the number of its cell, {digits}", fix)
    if inner.isdigit() and len(found[2]) > 1:
        return f"{digits} 0/1{behind}"  # a whole number in a format for fractions
    if inner.isdigit() and inner.startswith("0"):
        digits = digits.zfill(len(inner))
    gap = " " if found[2] else ""
    text = f"{before.replace('-', '') if number < 0 else before}{digits}{gap}{behind}".strip()
    return f"{text} {currency}" if kind == "currency" and text == digits else text


def _digits(number: Decimal) -> str:
    text = f"{number:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) or "0"


def _shows(inner: str, number: Decimal) -> bool:
    """Whether a text is a number rounded, with any decimal mark."""
    for mark in ".,":
        whole, _, rest = inner.rpartition(mark) if mark in inner else (inner, "", "")
        plain = re.sub(r"[^0-9]", "", whole) or "0"
        if rest.isdigit() or not rest:
            shown = Decimal(f"{plain}.{rest or 0}")
            if abs(shown - number) <= Decimal(5).scaleb(-len(rest) - 1):
                return True
    return False
