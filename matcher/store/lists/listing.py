"""One list from a file in a common form for the database: its headers, its rows, its odd lines.

A cell is text; other values (a JSON object, a spreadsheet's error value) are marked, so that they are never confused
with
a supplier's text.
"""

from __future__ import annotations

import csv
import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

from catalog_schema.kinds import is_printable
from catalog_schema.notation import TWO_READINGS
from catalog_schema.problems import Problem
from matcher.errors import FileRefused
from matcher.store.database.connection import quoted

Joined = Mapping[int, Sequence[tuple[int, int]]]
"""Merged cells by line: first column and last."""

MARK = "\x01"
"""A cell that starts with it has JSON after it."""

LONGEST_ROW = 1_000_000
LAST_LINE = 2**31
MOST_COLUMNS = 2_000


@dataclass(frozen=True, slots=True)
class BadCell:
    """A spreadsheet cell without a value of its own: an error, a formula, a date."""

    shown: str
    expected: str
    fix: str


@dataclass(frozen=True, slots=True)
class BrokenRow:
    """A line without a cell for every header."""

    line: int
    cells: list[str]
    fault: Problem


@dataclass(frozen=True, slots=True)
class Layout:
    """Position of a list's rows in its file, as far as it is known."""

    encoding: str | None = None
    delimiter: str | None = None
    sheet: str | None = None
    header_row: int | None = None
    header_rows: int = 1
    """Number of header rows, if no headers are wanted."""
    first_row: int = 1
    last_row: int = LAST_LINE
    """Last line of the list, if the file has several below each other."""
    wanted: frozenset[str] = frozenset()
    """Headers to find the header row by, as compared by `fold`."""

    def lines(self, count: int) -> int:
        """Number of a file's lines that belong to the list."""
        return min(count, self.last_row) - self.first_row + 1


PLAIN_LAYOUT = Layout()
"""Nothing known: the first row that is not blank has the headers."""

HEADERS_WITHIN = 200
"""The header row is among this many first rows."""


def fold(text: str | None) -> str:
    """Normalize a header or a word for comparison: case and runs of spaces do not matter."""
    return " ".join((text or "").casefold().split())


@dataclass(frozen=True, slots=True)
class HeaderRows:
    """The header of a list: its position among the first rows, its number of rows, its texts."""

    place: int
    span: int
    headers: list[str]


def find_header(
    rows: Sequence[tuple[int, Sequence[str]]], layout: Layout, path: Path, joined: Joined | None = None
) -> HeaderRows:
    """Find the header among the first rows (line, cells) of a file; a map's may have two rows.

    Parameters
    ----------
    joined
        Merged cells by line: first column and last, from 0.

    Raises
    ------
    FileRefused
        if there is none.
    """
    filled = [place for place, (_, cells) in enumerate(rows) if any(cell.strip() for cell in cells)]
    if not filled:
        raise FileRefused(f"{path} holds no rows", fix="save the list again")
    if layout.header_row is not None:
        filled = [place for place in filled if rows[place][0] == layout.header_row]
        if not filled:
            raise FileRefused(f"{path} has no headers in line {layout.header_row}", fix="mend the map's header_row")
    if not layout.wanted:
        return header_at(rows, filled[0], layout.header_rows, joined)
    every = [header_at(rows, place, span, joined) for place in filled for span in (1, 2)]
    best = max(every, key=lambda found: (_hits(found.headers, layout.wanted), -found.span, -found.place))
    if _hits(best.headers, layout.wanted) * 2 < len(layout.wanted):
        raise FileRefused(
            f"{path} has no line with the headers that the map reads; nothing of it was taken",
            fix=f"the map reads {', '.join(sorted(layout.wanted))}: is it the map of this list?",
        )
    return best


def header_at(
    rows: Sequence[tuple[int, Sequence[str]]], place: int, span: int, joined: Joined | None = None
) -> HeaderRows:
    """Return the header in a row, or in it and the next; a cell over several columns counts for each of them."""
    line, upper = rows[place]
    if span == 1 or place + 1 >= len(rows):
        return HeaderRows(place, 1, trim_headers(upper))
    lower = rows[place + 1][1]
    width = max(len(upper), len(lower))
    over = [*upper, *[""] * (width - len(upper))]
    under = [*lower, *[""] * (width - len(lower))]
    for column in range(1, width):
        spans = None if not joined else any(first < column <= last for first, last in joined.get(line, ()))
        if not over[column].strip() and under[column].strip() and spans is not False:
            over[column] = over[column - 1]
    return HeaderRows(place, 2, trim_headers([_tiers(*pair) for pair in zip(over, under, strict=True)]))


_UNIT_LAST = re.compile(
    r"(?P<name>.*?)\s*(?P<unit>[(\[][^()\[\]]*[)\]]|\b(?:mm|cm|inch|zoll|kg|lbs?))\s*", re.IGNORECASE
)


def _tiers(over: str, under: str) -> str:
    """Join two tiers of a header; a unit of the upper one goes to the end.

    >>> _tiers("Mounting (in.)", "Depth"), _tiers("Code", "")
    ('Mounting Depth (in.)', 'Code')
    """
    over, under = over.strip(), under.strip()
    if over == under:
        return over
    found = _UNIT_LAST.fullmatch(over)
    if not over or not under or found is None or _UNIT_LAST.fullmatch(under):
        return f"{over} {under}".strip()
    return " ".join(f"{found['name']} {under} ({found['unit'].strip('()[]')})".split())


def _hits(cells: Sequence[str], wanted: frozenset[str]) -> int:
    return len(wanted & {fold(cell) for cell in cells})


def set_aside_titles(rows: Sequence[tuple[int, Sequence[str]]], skipped: Counter[str]) -> None:
    """Count the lines above the headers."""
    for _, cells in rows:
        skipped["title" if any(cell.strip() for cell in cells) else "blank"] += 1


def text_relation(path: Path, width: int, delimiter: str, skip: int) -> str:
    """Return SQL for the rows of a text file as they are, one per line after ``skip`` lines, each with its line."""
    columns = ", ".join(f"'c{place}': 'VARCHAR'" for place in range(width))
    return (
        f"select (row_number() over () + {skip})::integer as line, * from read_csv({quoted(path)}, "
        f"auto_detect=false, header=false, skip={skip}, delim={quoted(delimiter)}, quote='\"', escape='\"', "
        f"strict_mode=true, null_padding=false, max_line_size={2 * LONGEST_ROW}, columns={{{columns}}})"
    )


@dataclass(slots=True)
class Listing:
    """One list: its relation for the database, and the lines that were set aside."""

    path: Path
    headers: list[str]
    relation: str
    """SQL for ``line`` and a text column ``c0``, ``c1``, ... for each header."""
    lines: int
    sheet: str = ""
    skipped: Counter[str] = field(default_factory=Counter)
    broken: list[BrokenRow] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


def encode_cell(cell: object) -> str:
    """Return a cell as text for the database, marked if text alone would not restore it."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        plain = is_printable(cell) and not cell.startswith(MARK)
        return cell if plain else MARK + json.dumps(cell)
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int | float | Decimal):
        return f"{MARK}{cell}" if TWO_READINGS.fullmatch(str(cell)) else str(cell)  # as text it may be thousands
    if isinstance(cell, BadCell):
        return MARK + json.dumps({"shown": cell.shown, "bad": cell.expected, "fix": cell.fix})
    return MARK + json.dumps(cell, default=str)


def decode_cell(text: str | None) -> object:
    """Restore a cell from `encode_cell`, as far as reading a field requires."""
    if text is None or not text.startswith(MARK):
        return text
    cell = json.loads(text[1:], parse_float=Decimal)
    if isinstance(cell, dict) and cell.keys() == {"shown", "bad", "fix"}:
        return BadCell(cell["shown"], cell["bad"], cell["fix"])
    return cell


def show_cell(text: str | None) -> str:
    """Return the cell as a person would see it."""
    cell = decode_cell(text)
    if isinstance(cell, BadCell):
        return cell.shown
    if isinstance(cell, str):
        return cell.replace("\x00", "\\0").encode("utf-8", "backslashreplace").decode("utf-8")
    return "" if cell is None else json.dumps(cell, ensure_ascii=False, default=str)


class CleanFile:
    """A private file of rows that the database reads back exactly."""

    def __init__(self, path: Path, width: int) -> None:
        self.path, self.width = path, width
        self._stream = path.open("w", encoding="utf-8", newline="")
        self._writer = csv.writer(self._stream, quoting=csv.QUOTE_ALL, lineterminator="\n")

    def write(self, line: int, cells: Sequence[Any]) -> None:
        """Write one row; missing cells are blank.

        Raises
        ------
        FileRefused
            if the row is longer than any row of a list.
        """
        texts = [encode_cell(cell) for cell in cells]
        if sum(map(len, texts)) > LONGEST_ROW:
            raise FileRefused(f"row {line} is longer than {LONGEST_ROW:,} characters", fix="is it a list of parts?")
        self._writer.writerow([line, *texts, *[""] * (self.width - len(texts))])

    def close(self) -> str:
        """Close the file; return the SQL that reads it."""
        self._stream.close()
        return clean_relation(self.path, self.width)


def write_clean(target: Path, rows: Iterable[tuple[int, Sequence[Any]]], width: int) -> str:
    """Write rows to a private file; return the SQL that reads it."""
    file = CleanFile(target, width)
    try:
        for line, cells in rows:
            file.write(line, cells)
    finally:
        relation = file.close()
    return relation


def clean_relation(path: Path, width: int) -> str:
    """Return SQL for a file that `write_clean` made."""
    columns = ", ".join(["'line': 'INTEGER'", *(f"'c{i}': 'VARCHAR'" for i in range(width))])
    return (
        f"select * from read_csv({quoted(path)}, auto_detect=false, header=false, delim=',', quote='\"', "
        f"escape='\"', new_line='\\n', parallel=false, max_line_size={8 * LONGEST_ROW}, "
        f"columns={{{columns}}})"
    )


def trim_headers(headers: Sequence[str]) -> list[str]:
    """Remove the empty headers at the end."""
    found = [header.strip() for header in headers]
    while found and not found[-1]:
        found.pop()
    return found


def distinct_headers(headers: Sequence[str]) -> list[str]:
    """Make headers unique: number those that are repeated or empty.

    >>> distinct_headers(["Power", "power", ""])
    ['Power', 'power (2)', '(column 3)']
    """
    met: Counter[str] = Counter()
    found = []
    for place, header in enumerate(headers, start=1):
        name = header or f"(column {place})"
        met[fold(name)] += 1
        found.append(name if met[fold(name)] == 1 else f"{name} ({met[fold(name)]})")
    return found


def refuse_width(path: Path, count: int, line: int | None = None) -> None:
    """Refuse a list with too many columns, in all or in one line."""
    if count > MOST_COLUMNS:
        where = "" if line is None else f" in line {line}"
        raise FileRefused(
            f"{path} has {count:,} columns{where}",
            fix=f"a list has at most {MOST_COLUMNS:,}: is the delimiter right?",
        )
