"""Problem rows: kept whole with their reasons, and cleared once their parts are loaded."""

from __future__ import annotations

import datetime
import json
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from catalog_schema.problems import Problem
from matcher.errors import NotKnown
from matcher.store.catalog.suppliers import ListSupplier
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import record
from matcher.store.importing.report import ProblemRow

COLUMNS = {
    "version": "integer",
    "family": "varchar",
    "file": "varchar",
    "sheet": "varchar",
    "line": "integer",
    "field": "varchar",
    "found": "varchar",
    "expected": "varchar",
    "cure": "varchar",  # the old name of `Fault.fix`
    "faults": "varchar",
    "headers": "varchar[]",
    "cells": "varchar[]",
    "fields": "varchar",
    "part_id": "varchar",
    "supplier": "varchar",
}
FIXED = ("version", "supplier")
"""Columns that a problem row keeps from the load in which it first failed, like its cells."""
BLOCK = 2_000


@dataclass(frozen=True, slots=True)
class KeptProblem:
    """A problem row in the store."""

    problem_id: int
    version: int
    loaded_at: datetime.datetime | None
    supplier: str
    row: ProblemRow


@dataclass(frozen=True, slots=True)
class Outcome:
    """Effect of a load on problem rows."""

    fresh: int
    """Rows that fail for the first time, or again after being settled."""
    mended: int
    """Open rows whose mended row was loaded."""
    outdated: int
    """Open rows that their list no longer has, or has corrected."""
    settled: int
    """Rows that fail as before, and were mended or dropped by hand: they stay settled."""


@dataclass(slots=True)
class Load:
    """Facts of a load that `keep_problems` needs."""

    version: int
    suppliers: Mapping[str, ListSupplier]
    """The supplier of each file."""
    mends: Mapping[tuple[str, int], int]
    """Rows (file, line) that were written out for a problem, with its number."""
    loaded: Mapping[str, str]
    """SQL for the loaded parts (part_id, supplier), by family."""
    mended: Sequence[str]
    """SQL for the problems whose mended rows are in the catalog."""
    complete: bool


Key = tuple[object, ...]


def keep_problems(con: Connection, rows: Sequence[ProblemRow], load: Load) -> Outcome:
    """Store the problem rows of a load, and settle earlier ones that it resolves.

    A row that failed before is kept once, at its current place. It is open unless it was dropped by hand, or its mended
    row
    still counts. If a row written to mend a problem fails, the problem stays open with the new reasons. An open row is
    mended
    if a row written for it was loaded; it is outdated if its list was loaded again without it, or its part was loaded.
    """
    kept = list_problems(con, settled=True)
    current = {number for sql in load.mended for (number,) in con.execute(sql).fetchall()}
    dropped = _stay_settled(con, current)
    by_number = {one.problem_id: one for one in kept}
    is_open = {number for (number,) in con.execute("select problem_id from problem where mended_in is null").fetchall()}
    known = dict(zip(_keys((one.row, one.supplier) for one in kept), by_number, strict=True))
    failing: dict[int, ProblemRow] = {}
    fresh: list[tuple[ProblemRow, str]] = []
    own = [(row, load.suppliers[row.file].name) for row in rows if not _tries(row, load, is_open)]
    for (row, supplier), key in zip(own, _keys(own), strict=True):
        if key in known:
            failing[known[key]] = row
        else:
            fresh.append((row, supplier))
    again = {number: row for number, row in failing.items() if number not in dropped}
    tried = {
        number: replace(by_number[number].row, faults=row.faults, fields=row.fields)
        for row in rows
        if (number := _tries(row, load, is_open))
    }
    both = again | tried
    _update(con, {n: row for n, row in both.items() if n not in is_open or row != by_number[n].row})
    _insert(con, [_cells(row, load.version, supplier) for row, supplier in fresh])
    mended = (is_open - tried.keys()) & current & set(load.mends.values())
    outdated = _outdated(con, is_open - failing.keys() - tried.keys() - mended, load)
    _settle(con, load.version, dict.fromkeys(mended, "mended") | dict.fromkeys(outdated, "outdated"))
    reopened = sum(number not in is_open for number in again)
    return Outcome(len(fresh) + reopened, len(mended), len(outdated), len(failing) - len(again))


def _tries(row: ProblemRow, load: Load, is_open: Collection[int]) -> int | None:
    """Return the open problem that a row was written out for."""
    number = load.mends.get((row.file, row.line))
    return number if number in is_open else None


def _keys(rows: Iterable[tuple[ProblemRow, str]]) -> Iterator[Key]:
    """Yield the identity of rows between loads: supplier, family, cells, and their number among equal ones."""
    met: Counter[Key] = Counter()
    for row, supplier in rows:
        key = (supplier, row.family, row.sheet, row.cells)
        yield (*key, met[key])
        met[key] += 1


def _stay_settled(con: Connection, current: Collection[int]) -> set[int]:
    """Return settled problems that stay so although their row fails again: dropped by hand, or mended and current."""
    rows = con.execute(
        "select problem_id, coalesce(outcome, 'dropped') from problem left join problem_outcome using (problem_id) "
        "where mended_in is not null"
    ).fetchall()
    return {number for number, outcome in rows if outcome == "dropped" or (outcome == "mended" and number in current)}


def _update(con: Connection, rows: Mapping[int, ProblemRow]) -> None:
    """Reopen problems or keep them open, with the current place and reasons of their rows."""
    names = [name for name, sql_type in COLUMNS.items() if name not in FIXED and sql_type != "varchar[]"]
    picked = [
        [cell for name, cell in zip(COLUMNS, _cells(row, 0, ""), strict=True) if name in names] for row in rows.values()
    ]
    values = ", ".join(f"unnest(${at}::{COLUMNS[name]}[]) as {name}" for at, name in enumerate(names, start=2))
    sets = ", ".join(f"{name} = u.{name}" for name in names)
    if rows:
        columns = [list(column) for column in zip(*picked, strict=True)]
        con.execute(
            f"update problem set mended_in = null, {sets} from (select unnest($1::integer[]) as number, {values}) u "
            "where problem_id = u.number",
            [list(rows), *columns],
        )
        con.execute("delete from problem_outcome where problem_id in (select unnest($1::integer[]))", [list(rows)])


def _insert(con: Connection, rows: Sequence[Sequence[object]]) -> None:
    names = ", ".join(COLUMNS)
    values = ", ".join(f"unnest(${place}::{sql_type}[])" for place, sql_type in enumerate(COLUMNS.values(), start=1))
    for start in range(0, len(rows), BLOCK):
        columns = zip(*rows[start : start + BLOCK], strict=True)
        con.execute(f"insert into problem ({names}) select {values}", [list(column) for column in columns])


def _cells(row: ProblemRow, version: int, supplier: str) -> list[object]:
    first = row.faults[0]
    return [
        version,
        row.family,
        row.file,
        row.sheet,
        row.line,
        first.column,
        first.found,
        first.expected,
        first.fix,
        json.dumps([_as_json(fault) for fault in row.faults], ensure_ascii=False),
        list(row.headers),
        list(row.cells),
        json.dumps(row.fields, ensure_ascii=False),
        row.part_id,
        supplier,
    ]


def _as_json(fault: Problem) -> dict[str, str]:
    return {"field": fault.column, "found": fault.found, "expected": fault.expected, "fix": fault.fix}


def _outdated(con: Connection, candidates: Collection[int], load: Load) -> set[int]:
    """Return open problems whose list was loaded without them, or whose part was loaded from their supplier."""
    mending = {file for file, _ in load.mends}
    lists = {(Path(file).name, one.name) for file, one in load.suppliers.items() if file not in mending}
    whole = {supplier for _, supplier in lists} if load.complete else set()
    found = set()
    rows = con.execute(
        "select problem_id, file, coalesce(supplier, '') from problem where mended_in is null"
    ).fetchall()
    for number, file, supplier in rows:
        if number in candidates and ((Path(file).name, supplier) in lists or supplier in whole):
            found.add(number)
    for family, sql in load.loaded.items():
        came_in = (
            f"select p.problem_id from problem p left join supplier s on s.name = p.supplier join ({sql}) k "
            "on k.supplier = coalesce(p.supplier, '') and k.part_id in (p.part_id, s.id_prefix || p.part_id) "
            f"where p.family = '{family}' and p.part_id <> '' and p.mended_in is null"
        )
        found |= {number for (number,) in con.execute(came_in).fetchall() if number in candidates}
    return found


def _settle(con: Connection, version: int, outcomes: Mapping[int, str]) -> None:
    con.execute(
        "update problem set mended_in = $1 where problem_id in (select unnest($2::integer[]))",
        [version, list(outcomes)],
    )
    con.execute(
        "insert or replace into problem_outcome select unnest($1::integer[]), unnest($2::varchar[])",
        [list(outcomes), list(outcomes.values())],
    )


def open_count(con: Connection) -> int:
    """Return the number of problem rows still to be mended."""
    ((count,),) = con.execute("select count(*) from problem where mended_in is null").fetchall()
    return int(count)


def list_problems(con: Connection, family: str | None = None, *, settled: bool = False) -> list[KeptProblem]:
    """Return the open problem rows, in the order they occurred; with ``settled``, all."""
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
    found = (
        Problem(one["expected"], column=one["field"], found=one["found"], fix=one.get("fix", one.get("cure", "")))
        for one in json.loads(faults)
    )
    return ProblemRow(
        file, sheet, line, family, part_id, tuple(found), tuple(headers), tuple(cells), json.loads(fields)
    )


def drop_problems(con: Connection, numbers: Sequence[int], by: str | None = None) -> None:
    """Drop problem rows without mending them; they stay on record.

    Raises
    ------
    NotKnown
        if one is not open.
    """
    from matcher.store.database.stamps import catalog_version

    known = {kept.problem_id for kept in list_problems(con)}
    for number in numbers:
        if number not in known:
            raise NotKnown("open problem", str(number), [str(one) for one in sorted(known)])
    _settle(con, catalog_version(con), dict.fromkeys(numbers, "dropped"))
    record(con, "problems drop", "catalog", f"rows {', '.join(map(str, numbers))}", by=by)
