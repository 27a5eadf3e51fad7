"""Lists in spreadsheets: every cell as written, without calculation."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain, islice
from pathlib import Path

from catalog_schema.notation import TWO_READINGS, one_reading
from catalog_schema.problems import Problem
from matcher.errors import FileRefused
from matcher.store.lists.files import look_at
from matcher.store.lists.listing import (
    HEADERS_WITHIN,
    PLAIN_LAYOUT,
    BadCell,
    BrokenRow,
    Layout,
    Listing,
    encode_cell,
    find_header,
    refuse_width,
    set_aside_titles,
    show_cell,
    write_clean,
)
from matcher.store.lists.number_formats import format_of, show_number
from matcher.store.lists.old_sheets import open_old_book, read_old_sheet
from matcher.store.lists.open_document import is_open_document, read_open_document
from matcher.store.lists.spreadsheet_check import (
    UNREADABLE,
    SheetNotes,
    check_archive,
    check_sheet,
    has_cells,
    no_spreadsheet,
)

Row = tuple[int, list[object]]


@dataclass(frozen=True, slots=True)
class Book:
    """An inspected workbook: its sheets with content, and how to read one."""

    path: Path
    names: list[str]
    """Every sheet."""
    filled: list[str]
    read: Callable[[str], tuple[SheetNotes, Iterator[Row]]]


def open_book(path: Path) -> Book:
    """Open a workbook of any format.

    Raises
    ------
    FileRefused
        if the file is not a spreadsheet, or not safe to open.
    """
    if look_at(path).format == "xls":
        return _old_book(path)
    check_archive(path)
    return _open_document(path) if is_open_document(path) else _workbook(path)


def open_sheet(path: Path, sheet: str | None) -> tuple[str, SheetNotes, list[str], Iterator[Row]]:
    """Open a sheet by name, by default the first with rows; return name, notes, warnings, rows.

    Raises
    ------
    FileRefused
        if `open_book` refuses the file, or it has no such sheet.
    """
    book = open_book(path)
    name, others = _choose(book, sheet)
    notes, rows = book.read(name)
    return name, notes, _other_sheets(path, name, others) + _formula_warning(path, notes), rows


def _open_document(path: Path) -> Book:
    try:
        sheets = {one.name: one for one in read_open_document(path)}
    except UNREADABLE:
        raise no_spreadsheet(path) from None

    def read(name: str) -> tuple[SheetNotes, Iterator[Row]]:
        found = sheets[name]
        by_line = dict(found.rows)
        notes = SheetNotes(found.lines, formulas=found.formulas, struck=found.struck)
        return notes, ((line, by_line.get(line, [])) for line in range(1, found.lines + 1))

    return Book(path, list(sheets), [name for name, one in sheets.items() if one.rows], read)


def _workbook(path: Path) -> Book:
    from python_calamine import CalamineError, CalamineWorkbook

    def read(name: str) -> tuple[SheetNotes, Iterator[Row]]:
        try:
            notes = check_sheet(path, name)
            opened = book.get_sheet_by_name(name)
            values = opened.to_python(skip_empty_area=False)
            merged = opened.merged_cell_ranges or ()
        except CalamineError as error:
            raise _unreadable(path, error) from None
        for (row, first), (last_row, last) in merged:
            notes.join(row + 1, last_row + 1, first, last)
        notes.rows = max(notes.rows, len(values))
        return notes, _rows(values, notes)

    try:
        book = CalamineWorkbook.from_path(str(path))
    except CalamineError as error:
        raise _unreadable(path, error) from None
    return Book(path, book.sheet_names, [name for name in book.sheet_names if has_cells(path, name)], read)


def _unreadable(path: Path, error: Exception) -> FileRefused:
    return FileRefused(f"{path} is no spreadsheet that can be read: {error}", fix="save it again as .xlsx or .csv")


def _old_book(path: Path) -> Book:
    book = open_old_book(path)

    def read(name: str) -> tuple[SheetNotes, Iterator[Row]]:
        notes, values = read_old_sheet(path, book, name)
        return notes, _rows(values, notes)

    names = book.sheet_names()
    return Book(path, names, [name for name in names if book.sheet_by_name(name).nrows], read)


def _other_sheets(path: Path, name: str, others: list[str]) -> list[str]:
    return [f"{path}: sheet {name!r} was read; it also holds {', '.join(map(repr, others))}"] if others else []


def _choose(book: Book, sheet: str | None) -> tuple[str, list[str]]:
    """Return the sheet to read, and the others with content; none is read before it was checked."""
    if sheet is not None:
        if sheet not in book.names:
            raise FileRefused(f"{book.path} has no sheet {sheet!r}", fix=f"its sheets are {', '.join(book.names)}")
        return sheet, []
    if not book.filled:
        raise FileRefused(f"{book.path} holds no rows", fix="save the list again")
    return book.filled[0], book.filled[1:]


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
    """Read a list in a spreadsheet.

    Raises
    ------
    FileRefused
        as `open_sheet` does, and if the sheet has no header.
    """
    name, notes, warnings, every = open_sheet(path, layout.sheet)
    rows = (one for one in every if layout.first_row <= one[0] <= layout.last_row)
    first = list(islice(rows, max(HEADERS_WITHIN, layout.header_row or 0)))
    texts = [(line, [_header_text(cell) for cell in cells]) for line, cells in first]
    found = find_header(texts, layout, path, notes.joined)
    place, headers = found.place + found.span - 1, found.headers
    refuse_width(path, len(headers))
    listing = Listing(path, headers, "", layout.lines(notes.rows), sheet=name, warnings=warnings)
    listing.skipped["header"] = found.span
    set_aside_titles(texts[: found.place], listing.skipped)
    listing.warnings += format_warnings(path, notes)
    behind = _joined_down(chain(first[place + 1 :], rows), notes)
    data = _sort_rows(behind, len(headers), listing, notes.struck)
    listing.relation = write_clean(workdir / "clean.csv", data, len(headers))
    return listing


def _joined_down(rows: Iterable[Row], notes: SheetNotes) -> Iterator[Row]:
    """Yield the rows, with vertically merged cells filled from the one above."""
    above: dict[tuple[int, int], object] = {}
    origins = set(notes.under.values())
    for line, cells in rows:
        above |= {place: cells[place[1]] for place in origins if place[0] == line and place[1] < len(cells)}
        for column in range(len(cells)) if origins else ():
            origin = notes.under.get((line, column))
            if origin and not cells[column]:
                cells[column] = above.get(origin, "")
        yield line, cells


_STRUCK = Problem(
    "a part that is sold", found="a row with a line through it", fix="drop the row, or mend it to keep the part"
)


def _sort_rows(
    rows: Iterable[Row], width: int, listing: Listing, struck: set[tuple[int, int]]
) -> Iterator[tuple[int, Sequence[object]]]:
    lines = {line for line, _ in struck}
    for line, cells in rows:
        filled = [column for column, cell in enumerate(cells, start=1) if _filled([cell])]
        through = [column for column in filled if (line, column) in struck] if line in lines else []
        if not filled:
            listing.skipped["blank"] += 1
        elif filled[-1] > width:
            fault = Problem(
                f"{width} cells, as the header has", found=f"{len(cells)} cells", fix="give every column a header"
            )
            listing.broken.append(BrokenRow(line, _texts(cells), fault))
        elif len(through) * 2 > len(filled):
            listing.broken.append(BrokenRow(line, _texts(cells), _STRUCK))
        else:
            for column in through:
                cells[column - 1] = BadCell(
                    str(cells[column - 1]), "a value without a line through it", "write it anew"
                )
            yield line, cells[:width]


def _texts(cells: Sequence[object]) -> list[str]:
    return [show_cell(encode_cell(cell)) for cell in cells]


def format_warnings(path: Path, notes: SheetNotes) -> Iterator[str]:
    """Warn about numbers whose leading zeros, unit or currency are only in the format."""
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
