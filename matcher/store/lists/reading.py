"""Read a list, or only its first row, by its file's format."""

from __future__ import annotations

import csv
import json
from itertools import islice
from pathlib import Path

from matcher.store.database.connection import Connection
from matcher.store.lists.encodings import find_delimiter, wide_encoding
from matcher.store.lists.files import SHEETS, InspectedFile
from matcher.store.lists.listing import PLAIN_LAYOUT, Layout, Listing
from matcher.store.lists.record_files import read_json_lines, read_json_list, read_parquet_list
from matcher.store.lists.spreadsheets import open_book, read_spreadsheet
from matcher.store.lists.text_lists import read_text_list

BYTES = 1 << 16


def peek_headers(look: InspectedFile) -> list[str]:
    """Return the cells of a list's first row, or the names in its first record; empty if they are not quickly found."""
    if look.format in SHEETS:
        book = open_book(look.path)
        rows = book.read(book.filled[0])[1] if book.filled else iter(())
        first = next((cells for _, cells in islice(rows, 200) if any(cells)), [])
        return [str(cell) for cell in first if cell]
    with look.path.open("rb") as stream:
        head = stream.read(BYTES)
    text = head.decode(wide_encoding(head) or "utf-8", "replace").lstrip("\ufeff")
    lines = [line for line in text.splitlines() if line.strip()][:200]
    if look.format == "csv":
        return next(csv.reader(lines[:1], delimiter=find_delimiter(lines)), []) if lines else []
    return _first_record(text)


def _first_record(text: str) -> list[str]:
    """Return the names in the first record of a JSON text, which may be nested."""
    starts = [place for place, letter in enumerate(text[:2_000]) if letter == "{"]
    for start in starts[:4]:
        try:
            record, _ = json.JSONDecoder().raw_decode(text[start:])
        except ValueError:
            continue
        inner = [value for value in record.values() if isinstance(value, list) and value and isinstance(value[0], dict)]
        return list(inner[0][0] if inner else record)
    return []


def read_listing(con: Connection, look: InspectedFile, workdir: Path, layout: Layout = PLAIN_LAYOUT) -> Listing:
    """Read a list by its file's format.

    Raises
    ------
    FileRefused
        if it cannot be read.
    """
    match look.format:
        case "csv":
            return read_text_list(con, look.path, workdir, layout)
        case "xlsx" | "xls":
            return read_spreadsheet(look.path, workdir, layout)
        case "json":
            return read_json_list(look.path, workdir)
        case "jsonl":
            return read_json_lines(look.path, workdir, layout.encoding)
        case _:
            return read_parquet_list(con, look.path)
