"""The tables of a list's file: each sheet's header, rows, and lines between them."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path

from catalog_schema.money import currency_of
from catalog_schema.units import unit_spelled
from matcher.errors import FileRefused
from matcher.store.database.connection import aside
from matcher.store.lists.encodings import page_name
from matcher.store.lists.files import SHEETS, InspectedFile
from matcher.store.lists.list_words import families_in
from matcher.store.lists.listing import Joined, Layout, distinct_headers, fold, header_at, show_cell
from matcher.store.lists.other_lines import is_header_again, sub_heading, what_line
from matcher.store.lists.reading import read_listing
from matcher.store.lists.spreadsheets import open_book
from matcher.store.mapping.column_roles import power_into, roles_of

FIRST_ROWS = 60
MOST_ROWS = 5_000
"""Most rows to read."""
LEAST_SCORE = 2.5
"""Minimum score of a header row: cells that are known headers or above numbers."""
_FIGURE = re.compile(r"[^\w]*\d[\d.,/ '⁄½¼¾⅛⅜⅝⅞]*\W*\w{0,4}\W*")


@dataclass(slots=True)
class ListTable:
    """One table of a list."""

    name: str
    """Its sheet; empty if the file has none."""
    layout: Layout
    headers: list[str]
    written: str
    """The file's encoding in words."""
    titles: list[str] = field(default_factory=list)
    """Text above the header."""
    rows: list[list[str]] = field(default_factory=list)
    """The first rows of parts, as texts."""
    sections: list[str] = field(default_factory=list)
    """The sub-heading of each row."""
    others: list[list[str]] = field(default_factory=list)
    """Lines that are not parts."""
    is_sure: bool = True
    """Whether the header is certain."""

    def columns(self, places: Sequence[int] | None = None) -> dict[str, list[str]]:
        """Return the cells of each column, for all rows or some."""
        rows = self.rows if places is None else [self.rows[place] for place in places]
        return {header: [row[i].strip() for row in rows] for i, header in enumerate(self.headers)}

    @property
    def title(self) -> str:
        """Name that distinguishes it from the file's other tables."""
        over = f"line {self.layout.header_row}" if self.layout.first_row > 1 else ""
        return " ".join(filter(None, [self.name, over])) or "first"

    @property
    def folded(self) -> list[str]:
        """Its headers, normalized for comparison."""
        return [fold(header) for header in self.headers]

    @property
    def lines(self) -> str:
        """Position of its header in words."""
        first = self.layout.header_row or 1
        return f"line {first}" if self.layout.header_rows == 1 else f"lines {first} and {first + 1}"


def read_tables(look: InspectedFile, encoding: str | None) -> tuple[list[ListTable], list[str]]:
    """Return the tables of a file, and the sheets without one.

    Raises
    ------
    FileRefused
        if the file cannot be read, or has no table.
    """
    if look.format == "csv":
        found = _text_tables(look, encoding)
        none: list[str] = []
    elif look.format in SHEETS:
        book = open_book(look.path)
        every = [(name, _sheet_tables(look, name)) for name in book.filled]
        found = [table for _, tables in every for table in tables if table.is_sure or len(every) == 1]
        none = [name for name, tables in every if not any(table in found for table in tables)]
        if not found and book.filled:
            found = every[0][1]
    else:
        found, none = [ListTable("", Layout(encoding), [], f"{look.format} records")], []
    if not found:
        raise FileRefused(f"{look.path} holds no rows", fix="save the list again")
    for table in found:
        _read_rows(look, table)
    return found, none


def _text_tables(look: InspectedFile, encoding: str | None) -> list[ListTable]:
    from matcher.store.lists.text_lists import open_records

    facts, mark, records = open_records(look.path, encoding, None)
    rows = [(one.line, [cell.strip() for cell in one.cells]) for one in islice(records, MOST_ROWS)]
    tables = _below_each_other(rows, None, Layout(encoding))
    for table in tables:
        table.written = f"written in {page_name(facts.encoding)}, parted by {mark!r}"
    return tables


def _sheet_tables(look: InspectedFile, name: str) -> list[ListTable]:
    notes, rows = open_book(look.path).read(name)
    texts = [
        (line, [cell.strip() if isinstance(cell, str) else "" if cell is None else "0" for cell in cells])
        for line, cells in islice(rows, MOST_ROWS)
    ]
    tables = _below_each_other(texts, notes.joined, Layout(sheet=name))
    for table in tables:
        table.name, table.written = name, f"sheet {name!r}"
    return tables


def _below_each_other(rows: list[tuple[int, list[str]]], joined: Joined | None, layout: Layout) -> list[ListTable]:
    """Split a sheet into tables: a header with other columns begins a new one, with the title lines above it."""
    first = _with_header(rows[:FIRST_ROWS], joined, layout)
    found = [] if first is None else [first]
    while found:
        last = found[-1]
        behind = [place for place, (line, _) in enumerate(rows) if line >= (last.layout.header_row or 0)]
        start = behind[0] + last.layout.header_rows if behind else len(rows)
        place = next((place for place in range(start, len(rows)) if _is_other_header(rows, place, last)), None)
        if place is None:
            break
        over = place
        while over > start and sum(map(bool, rows[over - 1][1])) <= 1:
            over -= 1
        table = _with_header(rows[place : place + 3], joined, layout)
        if table is None:
            break
        line = rows[over][0]
        table.titles = [cell for _, cells in rows[over:place] for cell in cells if cell]
        table.layout = replace(table.layout, first_row=line)
        last.layout = replace(last.layout, last_row=line - 1)
        found.append(table)
    return found


def _is_other_header(rows: Sequence[tuple[int, Sequence[str]]], place: int, table: ListTable) -> bool:
    """Whether a row is a header with other columns than the table above it."""
    cells = rows[place][1]
    filled = [cell for cell in cells if cell]
    if len(filled) < 4 or any(_FIGURE.fullmatch(cell) for cell in filled) or is_header_again(cells, table.folded):
        return False
    return _score(cells, rows[place + 1 :]) >= 0.7 * len(filled)


def _with_header(rows: list[tuple[int, list[str]]], joined: Joined | None, layout: Layout) -> ListTable | None:
    """Return the table with the likeliest header: known words above figures."""
    filled = [place for place, (_, cells) in enumerate(rows) if any(cells)]
    spans = [(place, span) for place in filled for span in (1, 2) if span == 1 or _has_tiers(rows, place)]
    every = [header_at(rows, place, span, joined) for place, span in spans]
    if not every:
        return None
    units = [2 if one.span == 2 and _are_units(rows[one.place + 1][1]) else 0 for one in every]
    scores = [
        (_score(one.headers, rows[one.place + one.span :]) - one.span / 2 + more, -one.place)
        for one, more in zip(every, units, strict=True)
    ]
    best = every[scores.index(max(scores))]
    titles = [cell for _, cells in rows[: best.place] for cell in cells if cell]
    layout = Layout(layout.encoding, sheet=layout.sheet, header_row=rows[best.place][0], header_rows=best.span)
    return ListTable("", layout, best.headers, "", titles, is_sure=max(scores)[0] >= LEAST_SCORE)


def _has_tiers(rows: Sequence[tuple[int, Sequence[str]]], place: int) -> bool:
    """Whether a row and the next may be two tiers: cells below blank ones, or units, and few numbers."""
    upper, lower = rows[place][1], rows[place + 1][1] if place + 1 < len(rows) else []
    filled = [cell for cell in lower if cell]
    below = [cell for column, cell in enumerate(lower) if cell and not (column < len(upper) and upper[column])]
    numbers = sum(bool(re.fullmatch(r"\W*\d[\d.,/ ]*", cell)) for cell in filled)
    is_below = bool(below) and numbers * 4 < len(filled)
    return len([cell for cell in upper if cell]) > 1 and (is_below or _are_units(lower))


def _are_units(cells: Sequence[str]) -> bool:
    """Whether a row has the units of the columns below it."""
    filled = [cell for cell in cells if cell]
    units = [
        cell for cell in filled if unit_spelled(cell.strip("()[]")) or cell[:1] in "([" or currency_of(f"1 {cell}")
    ]
    return len(units) > 1 and len(units) * 5 > len(filled) * 3


def _score(headers: Sequence[str], below: Sequence[tuple[int, Sequence[str]]]) -> float:
    """Score a row as a header: known words, words above figures; one that repeats itself is not a header."""
    known = sum(bool(roles_of(cell) or power_into(cell)) for cell in headers if cell)
    words = [column for column, cell in enumerate(headers) if re.search(r"[^\W\d]", cell)]
    over = sum(not _FIGURE.fullmatch(headers[column]) and _are_figures(column, below) for column in words)
    lone = 0 if len(words) > 2 else -3
    return known + over / 3 + len({headers[column] for column in words}) / 100 + lone


def _are_figures(column: int, below: Sequence[tuple[int, Sequence[str]]]) -> bool:
    cells = [cells[column] for _, cells in below[:8] if column < len(cells) and cells[column]]
    return bool(cells) and sum(bool(_FIGURE.fullmatch(cell)) for cell in cells) * 2 > len(cells)


def _read_rows(look: InspectedFile, table: ListTable) -> None:
    with tempfile.TemporaryDirectory(prefix="boltback-") as folder, aside() as con:
        listing = read_listing(con, look, Path(folder), table.layout)
        found = con.execute(f"{listing.relation} limit {MOST_ROWS}").fetchall()
    table.headers = distinct_headers(listing.headers)
    rows = [[show_cell(cell) for cell in row[1:]] for row in found]
    section = ""
    for row, heading in zip(rows, _headings(rows), strict=True):
        if heading is not None or is_header_again(row, table.folded):
            section = heading or section
        elif sum(bool(cell.strip()) for cell in row) > 1 and what_line(row) is None:
            table.rows.append(row)
            table.sections.append(section)
        else:
            table.others.append(row)
    table.others += [row.cells for row in listing.broken]


def _headings(rows: Sequence[Sequence[str]]) -> Iterator[str | None]:
    """Yield the sub-heading in each row: a single cell, with a part below."""
    for place, row in enumerate(rows):
        behind = next((one for one in rows[place + 1 :] if any(cell.strip() for cell in one)), None)
        text = sub_heading(row)
        is_over = behind is not None and (sub_heading(behind) or sum(bool(cell.strip()) for cell in behind) > 1)
        is_note = what_line(row) is not None and not (text and families_in(text))
        yield text if text and is_over and not is_note else None
