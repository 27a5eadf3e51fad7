"""Lists of records: JSON, JSON Lines, Parquet. A record's line is its number, from 1."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import duckdb

from catalog_schema.documents import DocumentError, parse_json
from catalog_schema.notation import TWO_READINGS, one_reading
from catalog_schema.problems import Problem, shorten
from matcher.errors import FileRefused
from matcher.store.database.connection import quoted
from matcher.store.lists.encodings import examine_text
from matcher.store.lists.listing import BadCell, BrokenRow, Listing, refuse_width, write_clean

MOST_JSON_BYTES = 500_000_000
FIGURE_KEYS = frozenset({"value", "tol", "basis"})
"""An object with only these keys is one figure."""
SPEC_NAMES = dict.fromkeys(("name", "label", "key", "attribute", "title", "code", "spec", "property"))
SPEC_VALUES = dict.fromkeys(("value", "val", "amount", "v"))
GROUP_NAMES = frozenset({"name", "title", "label", "category", "group", "family"})
PLAIN_GROUPS = frozenset(
    {"items", "products", "parts", "articles", "data", "rows", "list", "results", "entries", "records"}
)
"""Keys of feeds for a group's name, and groups whose name has no meaning."""
UNIT_KEYS = dict.fromkeys(("unit", "uom", "currency", "u", "units"))
"""Keys of feeds for a figure's name, value and unit, likeliest first."""


def read_json_list(path: Path, workdir: Path) -> Listing:
    """Read a JSON list of objects, or an object with one such list.

    Raises
    ------
    FileRefused
        if the file has no such JSON.
    """
    if path.stat().st_size > MOST_JSON_BYTES:
        raise FileRefused(f"{path} is too large for one JSON document", fix="save it as JSON Lines or Parquet")
    try:
        data = parse_json(path.read_bytes().decode("utf-8-sig"))
    except (UnicodeDecodeError, DocumentError) as error:
        raise FileRefused(f"{path} is no JSON that can be read: {error}", fix="save the list again") from None
    records = list(_records(data))
    if not records:
        raise FileRefused(f"{path} holds no list of parts", fix='write [{"part_id": ...}, ...]')
    return _as_listing(path, workdir, list(enumerate(records, start=1)), len(records))


def _records(data: object, shared: dict[str, Any] | None = None) -> Iterator[Any]:
    """Yield the records of a feed; values of a group apply to each of its parts."""
    shared = shared or {}
    if isinstance(data, list):
        are_parts = any(isinstance(one, dict) and _has_specs(one) for one in data)
        for one in data:
            yield from [{**shared, **one}] if are_parts and isinstance(one, dict) else _records(one, shared)
        return
    if not isinstance(data, dict):
        yield data
        return
    groups = {name: value for name, value in data.items() if _holds_records(value)}
    if not groups:
        yield {**shared, **data}
        return
    plain = {name: value for name, value in data.items() if not isinstance(value, dict | list)}
    own = {"group" if name.casefold() in GROUP_NAMES else name: value for name, value in plain.items()}
    for name, value in groups.items():
        named = {} if "group" in own or name.casefold() in PLAIN_GROUPS else {"group": name}
        yield from _records(value, {**shared, **own, **named})


def _has_specs(record: dict[str, Any]) -> bool:
    return any(value and _are_specs(value) for value in record.values())


def _holds_records(value: object) -> bool:
    """Whether a value has a list of records or groups, not one part's specs."""
    if isinstance(value, dict):
        return any(map(_holds_records, value.values()))
    is_list = isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)
    return is_list and not _are_specs(value)


def _are_specs(value: object) -> bool:
    """Whether a list has named figures: objects of a name and a value, perhaps with a unit."""
    return isinstance(value, list) and all(
        isinstance(one, dict) and one.keys() & SPEC_NAMES and one.keys() & SPEC_VALUES and len(one) <= 5
        for one in value
    )


def read_json_lines(path: Path, workdir: Path, encoding: str | None = None) -> Listing:
    """Read a file with one JSON object per line.

    Raises
    ------
    FileRefused
        if no line has an object.
    """
    facts = examine_text(path, encoding)
    rows: list[tuple[int, Any]] = []
    blank = 0
    with path.open(encoding=facts.encoding, errors=facts.errors, newline=None) as stream:
        for line, text in enumerate(stream, start=1):
            if not text.strip():
                blank += 1
                continue
            try:
                rows.append((line, parse_json(text)))
            except DocumentError as error:
                rows.append((line, _unread(text, error)))
    listing = _as_listing(path, workdir, rows, facts.lines)
    listing.skipped["blank"] += blank
    return listing


def _by_name(record: dict[str, Any]) -> dict[str, Any]:
    """Return the cells of a record by name; one with two values is bad."""
    found: dict[str, Any] = {}
    for name, value in _flat(record):
        if name in found and found[name] != value:
            value = BadCell(f"{found[name]} and {value}", f"one value for {name}", "leave one of them out")
        found[name] = value
    return found


def _flat(record: dict[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Yield the cells of a record and its nested ones by name; specs by the names they state."""
    for name, value in record.items():
        if isinstance(value, list) and len(value) == 1 and isinstance(value[0], dict) and not _are_specs(value):
            value = value[0]
        if isinstance(value, dict) and (measure := _measure(value)) is not None:
            yield f"{before}{name}", measure
        elif isinstance(value, dict) and not value.keys() <= FIGURE_KEYS:
            yield from _flat(value, f"{before}{name} ")
        elif value and _are_specs(value):
            for one in value:
                name_given = next(str(one[key]) for key in SPEC_NAMES if key in one)
                yield name_given, _measure({key: cell for key, cell in one.items() if key not in SPEC_NAMES})
        else:
            yield f"{before}{name}", value


def _measure(cell: dict[str, Any]) -> object:
    """Return an object of a value and its unit or currency as one cell; None if it is not one."""
    keys = {key.casefold(): key for key in cell}
    value = next((keys[key] for key in SPEC_VALUES if key in keys), None)
    unit = next((keys[key] for key in UNIT_KEYS if key in keys), None)
    if value is None or len(cell) > 1 + (unit is not None) or isinstance(cell[value], dict | list):
        return None
    unit_text = "" if unit is None or cell[unit] is None else str(cell[unit])
    number = cell[value] if isinstance(cell[value], str) else one_reading(str(cell[value]))
    return f"{number} {unit_text}" if unit_text and cell[value] not in (None, "") else cell[value]


def _unread(text: str, error: DocumentError) -> BrokenRow:
    fault = Problem("one JSON object", found=shorten(text), fix=f"{error.faults[0].column}: {error.faults[0].expected}")
    return BrokenRow(0, [text.rstrip("\n")], fault)


def _as_listing(path: Path, workdir: Path, records: Sequence[tuple[int, Any]], lines: int) -> Listing:
    rows = [(line, _by_name(row) if isinstance(row, dict) else row) for line, row in records]
    headers = list(dict.fromkeys(key for _, row in rows if isinstance(row, dict) for key in row))
    if not headers:
        raise FileRefused(f"{path} holds no parts", fix='write {"part_id": ...} for each')
    refuse_width(path, len(headers))
    listing = Listing(path, headers, "", lines)
    cells = _cells(rows, headers, listing)
    listing.relation = write_clean(workdir / "clean.csv", cells, len(headers))
    return listing


def _cells(rows: Sequence[tuple[int, Any]], headers: list[str], listing: Listing) -> Iterator[tuple[int, list[Any]]]:
    for line, row in rows:
        if isinstance(row, dict):
            yield line, [row.get(header) for header in headers]
        elif isinstance(row, BrokenRow):
            listing.broken.append(BrokenRow(line, row.cells, row.fault))
        else:
            fault = Problem("a JSON object", found=shorten(row), fix='write {"part_id": ...}')
            listing.broken.append(BrokenRow(line, [shorten(row, 2000)], fault))


def read_parquet_list(con: duckdb.DuckDBPyConnection, path: Path) -> Listing:
    """Read a Parquet table.

    Raises
    ------
    FileRefused
        if the database cannot read it.
    """
    table = f"read_parquet({quoted(path)}, file_row_number=true)"
    try:
        columns = con.execute(f"describe select * exclude (file_row_number) from {table}").fetchall()
        (lines,) = con.execute(f"select count(*) from {table}").fetchall()[0]
    except duckdb.Error as error:
        raise FileRefused(
            f"{path} is no Parquet that can be read: {str(error).splitlines()[0]}", fix="save it again"
        ) from None
    headers = [str(column[0]) for column in columns]
    refuse_width(path, len(headers))
    cells = ", ".join(
        _as_text(name, sql_type, i) for i, (name, sql_type) in enumerate(column[:2] for column in columns)
    )
    relation = f"select (file_row_number + 1)::integer as line, {cells} from {table}"
    return Listing(path, headers, relation, int(lines))


def _as_text(name: str, sql_type: str, position: int) -> str:
    column = '"' + name.replace('"', '""') + '"'
    if sql_type == "VARCHAR":
        plain = f"{column} is null or not (starts_with({column}, chr(1)) or contains({column}, chr(0)))"
        text = f"case when {plain} then {column} else chr(1) || to_json({column})::varchar end"
    elif sql_type.endswith("]") or sql_type.startswith(("STRUCT", "MAP")):
        text = f"chr(1) || to_json({column})::varchar"
    else:
        as_text = f"{column}::varchar"
        two_readings = f"regexp_full_match({as_text}, {quoted(TWO_READINGS.pattern)})"
        text = f"case when {two_readings} then chr(1) || {as_text} else {as_text} end"
    return f"{text} as c{position}"
