"""Check a spreadsheet before it is opened: its safety, and cells without a value of their own.

A library that reads values returns an empty cell for an error and for a formula that was never calculated, and ignores
number formats. This pass over the sheet's XML finds them, with their places.
"""

from __future__ import annotations

import lzma
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO
from xml.etree.ElementTree import Element, ParseError, iterparse

from matcher.errors import FileRefused
from matcher.store.lists.listing import MOST_COLUMNS, BadCell
from matcher.store.lists.number_formats import BUILT_IN, shows_digits_alone

MOST_BYTES = 1_000_000_000
MOST_RATIO = 150
SMALL = 20_000_000
MOST_CELLS = 30_000_000
NS = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


UNREADABLE = (
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, ParseError),
    *(KeyError, ValueError, RuntimeError, EOFError, OSError, StopIteration),
)
"""Errors from a file that is not a spreadsheet, or is damaged."""


@dataclass(slots=True)
class SheetNotes:
    """Facts about a sheet that its values do not show."""

    rows: int = 0
    bad: dict[tuple[int, int], BadCell] = field(default_factory=dict)
    formats: dict[tuple[int, int], str] = field(default_factory=dict)
    """Format codes of numbers that show more than digits, such as 00000 or 0.00" in"."""
    formulas: int = 0
    joined: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    """Merged cells by line: first column and last, from 0."""
    under: dict[tuple[int, int], tuple[int, int]] = field(default_factory=dict)
    """Cells (line, column from 0) merged with the one above them, and its place."""
    struck: set[tuple[int, int]] = field(default_factory=set)
    """Struck-out cells (line, column from 1)."""

    def join(self, first: int, last: int, left: int, right: int) -> None:
        """Record merged cells: lines from 1, columns from 0."""
        self.joined.setdefault(first, []).append((left, right))
        self.under |= {(line, left): (first, left) for line in range(first + 1, min(last, first + 1000) + 1)}


def check_archive(path: Path) -> None:
    """Refuse a spreadsheet that unpacks to far more than its size, or that declares entities.

    Raises
    ------
    FileRefused
        with the reason.
    """
    with _archive(path) as archive:
        total = sum(part.file_size for part in archive.infolist())
        packed = max(path.stat().st_size, 1)
        if total > MOST_BYTES or (total > SMALL and total > packed * MOST_RATIO):
            raise FileRefused(
                f"{path} unpacks to {total:,} bytes, {total // packed} times its size: it was not opened",
                fix="save the list again, as CSV",
            )
        for part in archive.infolist():
            if part.filename.endswith((".xml", ".rels")):
                _refuse_entities(path, archive, part)


def _archive(path: Path) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(path)
    except UNREADABLE:
        raise no_spreadsheet(path) from None


def no_spreadsheet(path: Path) -> FileRefused:
    """Error for a file that is not a spreadsheet."""
    return FileRefused(f"{path} is no spreadsheet that can be read", fix="save it again as .xlsx or .csv")


def _refuse_entities(path: Path, archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> None:
    try:
        with archive.open(part) as stream:
            head = stream.read(4096)
    except UNREADABLE:
        raise no_spreadsheet(path) from None
    if b"<!DOCTYPE" in head or b"<!ENTITY" in head or b"<\x00!\x00" in head:
        raise FileRefused(f"{path} declares entities: it was not opened", fix="save the list again, as CSV")


def check_sheet(path: Path, sheet: str) -> SheetNotes:
    """Return the notes on one sheet.

    Raises
    ------
    FileRefused
        if the sheet cannot be read, or has more cells than any list.
    """
    try:
        with _archive(path) as archive:
            part, stale = _sheet_part(archive, sheet)
            formats, struck = _telling_styles(archive)
            with archive.open(part) as stream:
                return _walk(path, stream, formats, struck, stale)
    except UNREADABLE:
        raise no_spreadsheet(path) from None


def has_cells(path: Path, sheet: str) -> bool:
    """Whether a sheet has content; reads no further than its first cell."""
    try:
        with _archive(path) as archive, archive.open(_sheet_part(archive, sheet)[0]) as stream:
            return any(_is_filled(cell) for _, _, cell in _cells(stream))
    except UNREADABLE:
        return False


def _is_filled(cell: Element) -> bool:
    return any(cell.find(f"{NS}{part}") is not None for part in ("v", "is", "f"))


def _sheet_part(archive: zipfile.ZipFile, sheet: str) -> tuple[str, bool]:
    """Return a sheet's name in the archive, and whether its formulas are calculated only on opening."""
    book = _tree(archive, "xl/workbook.xml")
    wanted = next(found for found in book.iter(f"{NS}sheet") if found.get("name") == sheet)
    links = _tree(archive, "xl/_rels/workbook.xml.rels")
    target = next(link.get("Target", "") for link in links if link.get("Id") == wanted.get(REL))
    calc = book.find(f"{NS}calcPr")
    stale = calc is not None and calc.get("fullCalcOnLoad") in ("1", "true")
    return target.lstrip("/") if target.startswith("/") else f"xl/{target}", stale


def _tree(archive: zipfile.ZipFile, part: str) -> Element:
    from xml.etree.ElementTree import fromstring

    return fromstring(archive.read(part))


def _telling_styles(archive: zipfile.ZipFile) -> tuple[dict[str, str], set[str]]:
    """Return style numbers whose format shows more than digits, with the code; and those that strike text out."""
    if "xl/styles.xml" not in archive.namelist():
        return {}, set()
    styles = _tree(archive, "xl/styles.xml")
    codes = BUILT_IN | {found.get("numFmtId", ""): found.get("formatCode", "") for found in styles.iter(f"{NS}numFmt")}
    used = styles.find(f"{NS}cellXfs")
    styles_used = list(enumerate(used if used is not None else ()))
    by_style = {str(number): codes.get(style.get("numFmtId", ""), "") for number, style in styles_used}
    fonts = [one.find(f"{NS}strike") for one in styles.iterfind(f"{NS}fonts/{NS}font")]
    through = {
        str(place) for place, one in enumerate(fonts) if one is not None and one.get("val", "1") in ("1", "true")
    }
    struck = {str(number) for number, style in styles_used if style.get("fontId") in through}
    return {number: code for number, code in by_style.items() if not shows_digits_alone(code)}, struck


def _walk(path: Path, stream: IO[bytes], formats: dict[str, str], struck: set[str], stale: bool) -> SheetNotes:
    notes, width = SheetNotes(), 0
    for row, column, cell in _cells(stream):
        if not _is_filled(cell):
            continue
        notes.rows, width = max(notes.rows, row), max(width, column)
        if width > MOST_COLUMNS or notes.rows * width > MOST_CELLS:
            raise FileRefused(f"{path} spreads over too many cells", fix="save the list alone, as CSV")
        if bad := _bad_cell(cell, stale):
            notes.bad[row, column] = bad
        if cell.find(f"{NS}f") is not None:
            notes.formulas += 1
        if cell.get("s") in struck:
            notes.struck.add((row, column))
        if cell.get("t") in (None, "n") and cell.get("s") in formats:
            notes.formats[row, column] = formats[cell.get("s", "")]
    return notes


def _cells(stream: IO[bytes]) -> Iterator[tuple[int, int, Element]]:
    row = column = 0
    for event, element in iterparse(stream, events=("start", "end")):
        if event == "start" and element.tag == f"{NS}row":
            row, column = int(element.get("r") or row + 1), 0
        elif event == "end" and element.tag == f"{NS}c":
            column = _column_number(element.get("r")) or column + 1
            yield row, column, element
        elif event == "end" and element.tag == f"{NS}row":
            element.clear()


def _column_number(reference: str | None) -> int:
    number = 0
    for letter in (reference or "").rstrip("0123456789"):
        number = number * 26 + ord(letter) - 64
    return number


def _bad_cell(cell: Element, stale: bool) -> BadCell | None:
    value, formula = cell.findtext(f"{NS}v"), cell.find(f"{NS}f")
    if cell.get("t") == "e":
        return BadCell(value or "#ERROR", "a value, not a spreadsheet's error", "mend the formula in the list")
    if formula is None or not (value in (None, "") or (stale and value == "0")):
        return None
    text = formula.text or ""
    return BadCell(
        f"={text}"[:60],
        "a value: the formula was never calculated",
        "open and save the list, or write the value",
    )
