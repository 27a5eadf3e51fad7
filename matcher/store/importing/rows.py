"""Convert rows of a list to rows of a family: valid rows, and all faults of the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

import duckdb

from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.doubts import CHECK_BOTH
from catalog_schema.notation import Notation
from matcher.errors import FileRefused, Problem
from matcher.settings import Tolerances
from matcher.store.database.connection import quoted
from matcher.store.importing.doubtful_rows import doubtful_rows
from matcher.store.importing.list_notation import mark_of
from matcher.store.lists.cells import CellRead, default_sql, read_cells
from matcher.store.lists.headers import Target

MOST_FAULTY = 100_000
"""A list with more faulty rows is refused: it is being misread."""

NOTES = "notes"
"""The field for figures that could not be read."""
MISSING = "a value: the field is required"
MISSING_CURE = "write the value into the cell"


@dataclass(slots=True)
class UnderstoodRows:
    """One converted list: the relation of its valid rows, and the faults of the others by line."""

    relation: str
    """Has ``line``, every column of the family's table and ``cell_basis``."""
    faults: dict[int, list[Problem]] = field(default_factory=dict)
    noted: dict[int, list[Problem]] = field(default_factory=dict)
    """Faults within valid rows: figures that stay unknown."""


def understand(
    con: duckdb.DuckDBPyConnection,
    family: str,
    relation: str,
    targets: Sequence[Target],
    *,
    lenient: bool = False,
    tolerances: Tolerances,
    notation: Notation,
    tag: str,
) -> UnderstoodRows:
    """Convert every row of a relation to a family's columns: each distinct text is read once, by its column's kind.

    Parameters
    ----------
    lenient
        Whether an optional figure that cannot be read is unknown and noted, and its row valid.
    tolerances
        Default tolerance of each basis, mm.
    notation
        The currency of the amounts; the list's own cells show its decimal mark.
    tag
        Separates the temporary tables of several lists.
    """
    columns = family_columns(family)
    by_name = {target.column.name: target for target in targets}
    con.execute(f"create temp table listed_{tag} as {relation}")
    notation = replace(notation, mark=mark_of(con, f"from listed_{tag}", targets))
    reads = {name: _read_column(con, target, tag, notation) for name, target in by_name.items()}
    faults = _faults(con, by_name, reads, tag)
    noted = {line: found for line, found in faults.items() if lenient and _may_be_unknown(found, by_name)}
    faults = {line: found for line, found in faults.items() if line not in noted}
    _refuse_flood(faults)
    _keep_notes(con, noted, tag)
    con.execute(f"create temp table spoiled_{tag} (line integer)")
    con.execute(f"insert into spoiled_{tag} select unnest($1::integer[])", [list(faults)])
    con.execute(f"create temp table rows_{tag} as {_select(columns, by_name, reads, tolerances, tag)}")
    con.execute(f"drop table listed_{tag}")
    return UnderstoodRows(f"select * from rows_{tag}", faults, noted)


def _may_be_unknown(faults: Sequence[Problem], targets: dict[str, Target]) -> bool:
    columns = [targets[fault.column].column for fault in faults]
    if any(fault.fix == CHECK_BOTH for fault in faults):
        return False  # readable, but contradicts another cell
    return all(not column.required and column.default is None and column.name != NOTES for column in columns)


def _keep_notes(con: duckdb.DuckDBPyConnection, noted: dict[int, list[Problem]], tag: str) -> None:
    con.execute(f"create temp table noted_{tag} (line integer, note varchar)")
    notes = [
        "; ".join(f"{one.column} not known: the list says {one.found}" for one in found) for found in noted.values()
    ]
    con.execute(f"insert into noted_{tag} select unnest($1::integer[]), unnest($2::varchar[])", [list(noted), notes])


def without_doubtful(con: duckdb.DuckDBPyConnection, family: str, whole: UnderstoodRows, tag: str) -> UnderstoodRows:
    """Turn rows with unusual or contradictory figures into faults."""
    doubts = doubtful_rows(con, f"({whole.relation})", "line", family)
    if not doubts:
        return whole
    _refuse_flood(doubts)
    con.execute(f"create temp table doubtful_{tag} as select unnest($1::integer[]) as line", [list(doubts)])
    kept = f"select * from ({whole.relation}) where line not in (select line from doubtful_{tag})"
    noted = {line: found for line, found in whole.noted.items() if line not in doubts}
    return UnderstoodRows(kept, dict(sorted((whole.faults | doubts).items())), noted)


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of a list: its value as SQL, and the table of the texts that its kind read as something else.

    ``alias`` is the table's name in the query, empty if every text is its own value.
    """

    value: str
    table: str
    alias: str
    has_basis: bool
    faults: list[CellRead]


def _read_column(con: duckdb.DuckDBPyConnection, target: Target, tag: str, notation: Notation) -> _Column:
    """Read each distinct text of a column once, into a table to join with."""
    cell, table, alias = f"c{target.position}", f"read_{tag}_{target.position}", f"r{target.position}"
    query = f"select distinct {cell} from listed_{tag} where {cell} <> ''"
    reads = read_cells(target, [text for (text,) in con.execute(query).fetchall()], notation)
    sql_type, itself = target.column.kind.sql_type, f"nullif({cell}, '')"
    is_text = sql_type == "VARCHAR"
    good = [read for read in reads if read.fault is None and not (is_text and read.value == read.text)]
    faults, has_basis = [read for read in reads if read.fault], any(read.basis for read in good)
    if not good:
        return _Column(itself if is_text else f"null::{sql_type}", table, "", has_basis, faults)
    con.execute(
        f"create temp table {table} as select unnest($1::varchar[]) as text, "
        f"unnest($2::{_carrier(sql_type)}[])::{sql_type} as value, "
        "unnest($3::varchar[])::decimal(15,6) as tol, unnest($4::varchar[]) as basis",
        [
            [read.text for read in good],
            [read.value if sql_type == "VARCHAR[]" else _as_sql(read.value) for read in good],
            [_as_sql(read.tol) for read in good],
            [read.basis for read in good],
        ],
    )
    value = f"case when {alias}.text is null then {itself} else {alias}.value end" if is_text else f"{alias}.value"
    return _Column(value, table, alias, has_basis, faults)


def _carrier(sql_type: str) -> str:
    return "varchar[]" if sql_type == "VARCHAR[]" else "varchar"


def _as_sql(value: object) -> str | None:
    return None if value is None else f"{value:f}" if isinstance(value, Decimal) else str(value)


def _faults(
    con: duckdb.DuckDBPyConnection, targets: dict[str, Target], reads: dict[str, _Column], tag: str
) -> dict[int, list[Problem]]:
    found: dict[int, list[Problem]] = {}
    for name, target in targets.items():
        cell, by_text = f"c{target.position}", {read.text: read.fault for read in reads[name].faults}
        if by_text:
            query = f"select line, {cell} from listed_{tag} where {cell} in (select unnest($1::varchar[]))"
            for line, text in con.execute(query, [list(by_text)]).fetchall():
                found.setdefault(line, []).append(by_text[text])  # type: ignore[arg-type]
        if target.column.required:
            read = reads[name]
            blank = (
                f"select line from listed_{tag} {_join(read, cell)} "
                f"where {read.value} is null and not coalesce({cell} in (select unnest($1::varchar[])), false)"
            )
            for (line,) in con.execute(blank, [list(by_text)]).fetchall():
                found.setdefault(line, []).append(Problem(MISSING, column=name, fix=MISSING_CURE))
    return dict(sorted(found.items()))


def _refuse_flood(faults: dict[int, list[Problem]]) -> None:
    if len(faults) <= MOST_FAULTY:
        return
    first = [fault for line in sorted(faults)[:100] for fault in faults[line]]
    shown = {fault.column: fault for fault in reversed(first)}
    raise FileRefused(
        f"{len(faults):,} rows cannot be read; nothing of the list was taken",
        fix="is it the right family, the right map, the right unit?",
        problems=shown.values(),
    )


def _select(
    columns: Sequence[TableColumn],
    targets: dict[str, Target],
    reads: dict[str, _Column],
    tolerances: Tolerances,
    tag: str,
) -> str:
    values, joins = ["o.line"], [f"left join noted_{tag} n on n.line = o.line"]
    row_basis = f"coalesce({reads['basis'].value}, 'maker')" if "basis" in targets else "'maker'"
    for column in columns:
        target = targets.get(column.name)
        if target is None:
            value = "n.note" if column.name == NOTES else default_sql(column)
            values.append(f'{value} as "{column.name}"')
            if column.is_figure:
                values.append(f'null::{column.kind.sql_type} as "{column.tol_name}"')
            continue
        read = reads[column.name]
        joins.append(_join(read, f"o.c{target.position}"))
        value = f"coalesce({read.value}, {default_sql(column)})"
        if column.name == NOTES:
            value = f"nullif(concat_ws('; ', {value}, n.note), '')"
        values.append(f'{value} as "{column.name}"')
        if column.is_figure:
            values.append(f'{_tolerance(column, read.alias, row_basis, tolerances)} as "{column.tol_name}"')
    based = [(name, f"{read.alias}.basis") for name, read in reads.items() if read.has_basis]
    values.append(_cell_basis(based, row_basis))
    return (
        f"select {', '.join(values)} from listed_{tag} o {' '.join(joins)} "
        f"where o.line not in (select line from spoiled_{tag})"
    )


def _join(read: _Column, cell: str) -> str:
    return f"left join {read.table} {read.alias} on {read.alias}.text = {cell}" if read.alias else ""


def _tolerance(column: TableColumn, alias: str, row_basis: str, tolerances: Tolerances) -> str:
    if not alias:
        return f"null::{column.kind.sql_type}"
    if not column.is_length:
        return f"{alias}.tol"
    own = tolerances.sql(f"nullif({alias}.basis, {row_basis})", f"{alias}.value")
    return f"coalesce({alias}.tol, {own})"


def _cell_basis(bases: list[tuple[str, str]], row_basis: str) -> str:
    if not bases:
        return "null::varchar as cell_basis"
    pairs = ", ".join(f"{quoted(name)}, nullif({basis}, {row_basis})" for name, basis in bases)
    merged = f"json_merge_patch('{{}}', json_object({pairs}))"
    return f"nullif({merged}::varchar, '{{}}') as cell_basis"
