"""Problem rows: kept whole with their reasons, and cleared when their parts are loaded after all."""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass

from matcher.errors import NotKnown
from matcher.store.connection import Connection
from matcher.store.listing import Fault
from matcher.store.provenance import record
from matcher.store.report import ProblemRow

COLUMNS = {
    "version": "integer",
    "family": "varchar",
    "file": "varchar",
    "sheet": "varchar",
    "line": "integer",
    "field": "varchar",
    "found": "varchar",
    "expected": "varchar",
    "cure": "varchar",
    "faults": "varchar",
    "headers": "varchar[]",
    "cells": "varchar[]",
    "fields": "varchar",
    "part_id": "varchar",
    "supplier": "varchar",
}
BLOCK = 2_000


@dataclass(frozen=True, slots=True)
class KeptProblem:
    """A problem row as the store keeps it."""

    problem_id: int
    version: int
    loaded_at: datetime.datetime | None
    supplier: str
    row: ProblemRow


def keep_problems(
    con: Connection,
    rows: Sequence[ProblemRow],
    version: int,
    *,
    supplier: str,
    mends: Mapping[tuple[str, int], int],
    files: Collection[str],
    loaded: Mapping[str, str],
) -> tuple[int, int]:
    """Keep the problem rows of a load, and clear those that it settles: how many are fresh, how many cleared.

    A row that was kept already is kept once. A problem is settled where a row of ``mends`` (file, line) was
    written out for it, where one of the ``files`` was loaded again and no longer has it, or where its part
    came in: ``loaded`` gives SQL for the parts of each family that did. A row that was to mend a problem and
    is one still takes its place: that clears nothing.
    """
    kept_before = list_problems(con)
    known = {_key(kept.row): kept.problem_id for kept in kept_before}
    suppliers = {kept.problem_id: kept.supplier for kept in kept_before}
    again = {known[_key(row)] for row in rows if _key(row) in known}
    # A row that was mended by hand, or dropped, and stands in the supplier's next list as before stays settled.
    ever = {_key(kept.row) for kept in list_problems(con, settled=True)}
    fresh = {_key(row): row for row in rows if _key(row) not in ever}
    cleared = _settle(con, version, set(known.values()) - again, mends.values(), files, loaded)
    replaced = {mends[row.file, row.line] for row in fresh.values() if (row.file, row.line) in mends}

    def whose(row: ProblemRow) -> str:
        return suppliers.get(mends.get((row.file, row.line), 0), supplier)

    _insert(con, [_cells(row, version, whose(row)) for row in fresh.values()])
    return len(fresh), cleared - len(replaced & suppliers.keys())


def _insert(con: Connection, rows: Sequence[Sequence[object]]) -> None:
    names = ", ".join(COLUMNS)
    values = ", ".join(f"unnest(${place}::{sql_type}[])" for place, sql_type in enumerate(COLUMNS.values(), start=1))
    for start in range(0, len(rows), BLOCK):
        columns = zip(*rows[start : start + BLOCK], strict=True)
        con.execute(f"insert into problem ({names}) select {values}", [list(column) for column in columns])


def _key(row: ProblemRow) -> tuple[object, ...]:
    return row.file, row.sheet, row.line, row.family, row.cells, row.faults


def _cells(row: ProblemRow, version: int, supplier: str) -> list[object]:
    first = row.faults[0]
    return [
        version,
        row.family,
        row.file,
        row.sheet,
        row.line,
        first.field,
        first.found,
        first.expected,
        first.cure,
        json.dumps([asdict(fault) for fault in row.faults], ensure_ascii=False),
        list(row.headers),
        list(row.cells),
        json.dumps(row.fields, ensure_ascii=False),
        row.part_id,
        supplier,
    ]


def _settle(
    con: Connection,
    version: int,
    candidates: set[int],
    mends: Collection[int],
    files: Collection[str],
    loaded: Mapping[str, str],
) -> int:
    if not candidates:
        return 0
    came_in = " or ".join(f"(family = '{family}' and part_id in ({sql}))" for family, sql in loaded.items())
    (count,) = con.execute(
        "update problem set mended_in = $1 where mended_in is null "
        "and problem_id in (select unnest($2::integer[])) "
        "and (problem_id in (select unnest($3::integer[])) or file in (select unnest($4::varchar[]))"
        f"{' or ' + came_in if came_in else ''})",
        [version, list(candidates), list(mends), list(files)],
    ).fetchall()[0]
    return int(count)


def list_problems(con: Connection, family: str | None = None, *, settled: bool = False) -> list[KeptProblem]:
    """The problem rows that are still open, in the order they were met; with ``settled`` all that ever were."""
    rows = con.execute(
        "select problem_id, p.version, made_at, supplier, file, sheet, line, p.family, part_id, faults, headers, "
        "cells, fields from problem p left join load l on l.version = p.version "
        "where (mended_in is null or $2) and ($1::varchar is null or p.family = $1) order by problem_id",
        [family, settled],
    ).fetchall()
    return [
        KeptProblem(number, version, made_at, supplier or "", _row(*cells))
        for number, version, made_at, supplier, *cells in rows
    ]


def _row(
    file: str,
    sheet: str,
    line: int,
    family: str,
    part_id: str,
    faults: str,
    headers: list[str],
    cells: list[str],
    fields: str,
) -> ProblemRow:
    found = tuple(Fault(**fault) for fault in json.loads(faults))
    return ProblemRow(file, sheet, line, family, part_id, found, tuple(headers), tuple(cells), json.loads(fields))


def drop_problems(con: Connection, numbers: Sequence[int], by: str | None = None) -> None:
    """Clear problem rows that nobody wants to mend; they stay on record.

    Raises
    ------
    NotKnown
        where one is not open.
    """
    from matcher.store.versions import catalog_version

    known = {kept.problem_id for kept in list_problems(con)}
    for number in numbers:
        if number not in known:
            raise NotKnown("open problem", str(number), [str(one) for one in sorted(known)])
    con.execute(
        "update problem set mended_in = $1 where problem_id in (select unnest($2::integer[]))",
        [catalog_version(con), list(numbers)],
    )
    record(con, "problems drop", "catalog", f"rows {', '.join(map(str, numbers))}", by=by)
