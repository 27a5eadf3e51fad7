"""Lists in text files: read by the database if every line is one row, else line by line."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice
from pathlib import Path

import duckdb

from catalog_schema.problems import Problem, shorten
from matcher.store.database.connection import Connection
from matcher.store.lists.encodings import (
    BAD_BYTES,
    LONGEST_LINE,
    TextFacts,
    examine_text,
    find_delimiter,
    first_bad_line,
    is_whole,
    known_delimiter,
    page_name,
    sample_text,
)
from matcher.store.lists.listing import (
    HEADERS_WITHIN,
    PLAIN_LAYOUT,
    BadCell,
    BrokenRow,
    Layout,
    Listing,
    find_header,
    refuse_width,
    set_aside_titles,
    text_relation,
    write_clean,
)

LONGEST_CELL_LINES = 100
"""A quoted cell that spans more lines was never closed."""


@dataclass(frozen=True, slots=True)
class Record:
    """One row of a text file: its cells, and its number of lines."""

    line: int
    span: int
    cells: list[str]
    fault: Problem | None = None

    @property
    def is_blank(self) -> bool:
        """Whether it has no content."""
        return not any(cell.strip() for cell in self.cells)


def open_records(path: Path, encoding: str | None, delimiter: str | None) -> tuple[TextFacts, str, Iterator[Record]]:
    """Open a text file as records; return its encoding facts, delimiter and records."""
    facts = examine_text(path, encoding)
    mark = known_delimiter(delimiter) if delimiter else find_delimiter(sample_text(path, facts))
    return facts, mark, read_records(path, facts, mark)


def read_records(path: Path, facts: TextFacts, delimiter: str) -> Iterator[Record]:
    """Yield every record of a text file; an unclosed quote affects its own line only."""
    lines = _LineReader(path, facts)
    while (line := lines.take()) is not None:
        yield _record(lines, line, delimiter)


class _LineReader:
    """The lines of a text file, with the lookahead that quoted cells need."""

    def __init__(self, path: Path, facts: TextFacts) -> None:
        self._source = _text_lines(path, facts)
        self._ahead: list[str] = []
        self.number = 0

    def take(self) -> str | None:
        self.number += 1
        return self._ahead.pop(0) if self._ahead else next(self._source, None)

    def peek(self, count: int) -> list[str]:
        while len(self._ahead) < count and (line := next(self._source, None)) is not None:
            self._ahead.append(line)
        return self._ahead[:count]

    def drop(self, count: int) -> None:
        del self._ahead[:count]
        self.number += count


def _text_lines(path: Path, facts: TextFacts) -> Iterator[str]:
    with path.open(encoding=facts.encoding, errors=facts.errors, newline=None) as stream:
        for line in stream:
            yield line.removesuffix("\n")


def _record(lines: _LineReader, first: str, delimiter: str) -> Record:
    number, ending = lines.number, _ending(first, delimiter)
    if ending == "whole":
        return Record(number, 1, _cells(first, delimiter))
    text = first
    for extra, line in enumerate(lines.peek(LONGEST_CELL_LINES) if ending == "open" else [], start=1):
        text += "\n" + line
        if len(text) > LONGEST_LINE:
            break
        if '"' in line and _ending(text, delimiter) == "whole":
            lines.drop(extra)
            return Record(number, extra + 1, _cells(text, delimiter))
    fault = Problem("closed quotes", found=shorten(first), fix='write a quote within a cell twice: "6.5"" coaxial"')
    return Record(number, 1, first.split(delimiter), fault)


def _ending(text: str, delimiter: str) -> str:
    """Return whether a text ends a row (whole), leaves a quoted cell open, or has text after one (torn)."""
    if '"' not in text:
        return "whole"
    try:
        for _ in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True):
            pass
    except csv.Error as error:
        return "open" if "unexpected end" in str(error) else "torn"
    return "whole"


def _cells(text: str, delimiter: str) -> list[str]:
    return next(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), [])


def read_text_list(con: Connection, path: Path, workdir: Path, layout: Layout = PLAIN_LAYOUT) -> Listing:
    """Read a list in a text file.

    Raises
    ------
    FileRefused
        if the file is not text, has no header, or has more columns than any list.
    """
    facts, mark, every = open_records(path, layout.encoding, layout.delimiter)
    records = (one for one in every if layout.first_row <= one.line <= layout.last_row)
    first = list(islice(records, max(HEADERS_WITHIN, layout.header_row or 0)))
    found = find_header([(record.line, record.cells) for record in first], layout, path)
    place, headers, header = found.place + found.span - 1, found.headers, first[found.place]
    refuse_width(path, len(headers))
    listing = Listing(path, headers, "", layout.lines(facts.lines), warnings=encoding_warnings(path, facts))
    listing.skipped["header"] = sum(record.span for record in first[found.place : place + 1])
    set_aside_titles(
        [(line, before.cells) for before in first[: found.place] for line in range(before.span)], listing.skipped
    )
    if (
        facts.plain
        and listing.lines == facts.lines
        and place == header.line - 1
        and header.span == 1
        and found.span == 1
        and len(headers) == len(header.cells) > 1
    ):
        relation = text_relation(path, len(headers), mark, header.line)
        if _has_rows(con, relation, facts.lines - header.line):
            listing.relation = relation
            return listing
    rows = sort_records(chain(first[place + 1 :], records), len(headers), path, listing.skipped, listing.broken)
    listing.relation = write_clean(workdir / "clean.csv", rows, len(headers))
    return listing


def encoding_warnings(path: Path, facts: TextFacts) -> list[str]:
    """Warn about a detected encoding, and about invalid bytes."""
    if facts.errors == BAD_BYTES:
        line = first_bad_line(path)
        return [f"{path} is UTF-8 but for some bytes, the first in line {line}: cells with such bytes are problems"]
    if facts.found and not facts.encoding.startswith("utf"):
        return [f"{path} is not UTF-8: it was read as {page_name(facts.encoding)}; --encoding names another"]
    return []


def _has_rows(con: Connection, relation: str, count: int) -> bool:
    """Whether the database finds as many rows as lines, so that rows match lines."""
    with con.cursor() as own:  # a failed query would abort the load's transaction
        try:
            return own.execute(f"select count(*) from ({relation})").fetchone() == (count,)
        except duckdb.InvalidInputException:
            return False


def sort_records(
    records: Iterable[Record], width: int, path: Path, skipped: Counter[str], broken: list[BrokenRow]
) -> Iterator[tuple[int, Sequence[str | BadCell]]]:
    """Yield the rows with a cell for every header; set the others aside with their reason."""
    for record in records:
        skipped["cell over several lines"] += record.span - 1
        if record.fault is not None:
            broken.append(BrokenRow(record.line, record.cells, record.fault))
        elif record.is_blank:
            skipped["blank"] += 1
        elif 1 < len(record.cells) < width or any(cell.strip() for cell in record.cells[width:]):
            refuse_width(path, len(record.cells), record.line)
            broken.append(BrokenRow(record.line, record.cells, _ragged(record, width)))
        else:
            cells = [*record.cells[:width], *[""] * (width - len(record.cells))]  # a sub-heading is alone
            yield record.line, [cell if is_whole(cell) else _lost(cell) for cell in cells]


def _lost(cell: str) -> BadCell:
    shown = cell.encode("utf-8", BAD_BYTES).decode("utf-8", "replace")
    return BadCell(shown, "text in UTF-8", "write the cell again, or name the list's encoding with --encoding")


def _ragged(record: Record, width: int) -> Problem:
    fix = "quote a cell that holds the delimiter, and give every column its cell"
    return Problem(f"{width} cells, as the header has", found=f"{len(record.cells)} cells", fix=fix)
