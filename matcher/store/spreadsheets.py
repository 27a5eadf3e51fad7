"""Lists in spreadsheets: every cell as it is written, none calculated here."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import chain, islice
from pathlib import Path

from catalog_schema.notation import TWO_READINGS, one_reading
from matcher.errors import FileRefused
from matcher.store.listing import (
    HEADERS_WITHIN,
    PLAIN_LAYOUT,
    BadCell,
    BrokenRow,
    Fault,
    Layout,
    Listing,
    encode_cell,
    find_header,
    refuse_width,
    set_aside_titles,
    show_cell,
    write_clean,
)
from matcher.store.number_formats import format_of, show_number
from matcher.store.open_document import is_open_document, read_open_document
from matcher.store.spreadsheet_check import (
    UNREADABLE,
    SheetNotes,
    check_archive,
    check_sheet,
    has_cells,
    no_spreadsheet,
)

Row = tuple[int, list[object]]


def open_sheet(path: Path, sheet: str | None) -> tuple[str, SheetNotes, list[str], Iterator[Row]]:
    """A sheet by its name, the first with rows where none is named: name, notes, warnings, rows.

    Raises
    ------
    FileRefused
        where the file is no spreadsheet, is not safe to open, or has no such sheet.
    """
    check_archive(path)
    return _open_document(path, sheet) if is_open_document(path) else _open_workbook(path, sheet)


def _open_document(path: Path, sheet: str | None) -> tuple[str, SheetNotes, list[str], Iterator[Row]]:
    try:
        sheets = {one.name: one for one in read_open_document(path)}
    except UNREADABLE:
        raise no_spreadsheet(path) from None
    name, others = _choose(path, list(sheets), sheet, lambda name: bool(sheets[name].rows))
    found = sheets[name]
    notes = SheetNotes(found.lines, formulas=found.formulas)
    by_line = dict(found.rows)
    rows = ((line, by_line.get(line, [])) for line in range(1, found.lines + 1))
    return name, notes, _other_sheets(path, name, others) + _formula_warning(path, notes), rows


def _open_workbook(path: Path, sheet: str | None) -> tuple[str, SheetNotes, list[str], Iterator[Row]]:
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        book = CalamineWorkbook.from_path(str(path))
        name, others = _choose(path, book.sheet_names, sheet, lambda name: has_cells(path, name))
        notes = check_sheet(path, name)
        opened = book.get_sheet_by_name(name)
        values = opened.to_python(skip_empty_area=False)
        for (row, first), (_, last) in opened.merged_cell_ranges or ():
            notes.joined.setdefault(row + 1, []).append((first, last))
        notes.rows = max(notes.rows, len(values))
    except CalamineError as error:
        raise FileRefused(
            f"{path} is no spreadsheet that can be read: {error}", cure="save it again as .xlsx or .csv"
        ) from None
    return name, notes, _other_sheets(path, name, others) + _formula_warning(path, notes), _rows(values, notes)


def _other_sheets(path: Path, name: str, others: list[str]) -> list[str]:
    return [f"{path}: sheet {name!r} was read; it also holds {', '.join(map(repr, others))}"] if others else []


def _choose(path: Path, names: list[str], sheet: str | None, is_filled: Callable[[str], bool]) -> tuple[str, list[str]]:
    """The sheet to read, and the others that hold something; none is opened before it was looked over."""
    if sheet is not None:
        if sheet not in names:
            raise FileRefused(f"{path} has no sheet {sheet!r}", cure=f"its sheets are {', '.join(names)}")
        return sheet, []
    filled = [name for name in names if is_filled(name)]
    if not filled:
        raise FileRefused(f"{path} holds no rows", cure="save the list again")
    return filled[0], filled[1:]


def _formula_warning(path: Path, notes: SheetNotes) -> list[str]:
    good = notes.formulas - sum(bad.shown.startswith("=") for bad in notes.bad.values())
    if good <= 0:
        return []
    return [f"{path}: {good} cells hold formulas; the values they last had were taken"]


def _rows(values: Sequence[Sequence[object]], notes: SheetNotes) -> Iterator[Row]:
    bad_width: dict[int, int] = {}
    for row, column in notes.bad:
        bad_width[row] = max(column, bad_width.get(row, 0))
    for line in range(1, notes.rows + 1):
        cells = values[line - 1] if line <= len(values) else []
        width = max(len(cells), bad_width.get(line, 0))
        yield line, [_cell(cells, line, column, notes) for column in range(1, width + 1)]


def _cell(cells: Sequence[object], line: int, column: int, notes: SheetNotes) -> object:
    if bad := notes.bad.get((line, column)):
        return bad
    value = cells[column - 1] if column <= len(cells) else ""
    if isinstance(value, int | float) and not isinstance(value, bool):
        text = f"{value:.15g}" if abs(value) >= 10**15 or value != int(value) else str(int(value))
        code = notes.formats.get((line, column))
        shown = format_of(code, value) if code else None
        if shown is not None:
            return show_number(value, one_reading(text), shown)
        return Decimal(text) if TWO_READINGS.fullmatch(text) else text
    if isinstance(value, datetime.date | datetime.time | datetime.timedelta):
        return BadCell(str(value), "a value, not a date", "give the cell the format Text, and write it again")
    return value


def read_spreadsheet(path: Path, workdir: Path, layout: Layout = PLAIN_LAYOUT) -> Listing:
    """A list in a spreadsheet.

    Raises
    ------
    FileRefused
        as `open_sheet` does, and where the sheet holds no header.
    """
    name, notes, warnings, rows = open_sheet(path, layout.sheet)
    first = list(islice(rows, max(HEADERS_WITHIN, layout.header_row or 0)))
    texts = [(line, [_header_text(cell) for cell in cells]) for line, cells in first]
    found = find_header(texts, layout, path, notes.joined)
    place, headers = found.place + found.span - 1, found.headers
    refuse_width(path, len(headers))
    listing = Listing(path, headers, "", notes.rows, sheet=name, warnings=warnings)
    listing.skipped["header"] = found.span
    set_aside_titles(texts[: found.place], listing.skipped)
    listing.warnings += format_warnings(path, notes)
    data = _sort_rows(chain(first[place + 1 :], rows), len(headers), listing)
    listing.relation = write_clean(workdir / "clean.csv", data, len(headers))
    return listing


def _sort_rows(rows: Iterable[Row], width: int, listing: Listing) -> Iterator[Row]:
    for line, cells in rows:
        if not _filled(cells):
            listing.skipped["blank"] += 1
        elif _filled(cells[width:]):
            fault = Fault("", f"{len(cells)} cells", f"{width} cells, as the header has", "give every column a header")
            listing.broken.append(BrokenRow(line, [show_cell(encode_cell(cell)) for cell in cells], fault))
        else:
            yield line, cells[:width]


def format_warnings(path: Path, notes: SheetNotes) -> Iterator[str]:
    """What to say of numbers whose leading zeros, unit or currency are in the format only."""
    codes = Counter(notes.formats.values())
    padded = sum(codes[code] for code in codes if set(code) == {"0"})
    if padded:
        yield (
            f"{path}: {padded} cells are numbers shown with leading zeros; they were taken as shown. "
            "A number without such a format has lost its zeros: write part numbers as text"
        )
    if codes.total() > padded:
        shown = ", ".join(code for code in codes if set(code) != {"0"})[:200]
        yield f"{path}: {codes.total() - padded} numbers were taken as their number format shows them: {shown}"


def _header_text(cell: object) -> str:
    return cell if isinstance(cell, str) else getattr(cell, "shown", str(cell))


def _filled(cells: Sequence[object]) -> bool:
    return any(not isinstance(cell, str) or cell.strip() for cell in cells)
