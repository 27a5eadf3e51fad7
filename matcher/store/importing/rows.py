"""Convert rows of a list to rows of a family: valid rows, and all faults of the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

import duckdb

from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.doubts import CHECK_BOTH
from catalog_schema.notation import DecimalMark, Notation
from matcher.errors import FileRefused, Problem
from matcher.settings import Tolerances
from matcher.store.database.connection import quoted
from matcher.store.importing.doubtful_rows import doubtful_rows
from matcher.store.importing.list_notation import mark_of
from matcher.store.lists.cells import CellRead, default_sql, fast_cell, read_cells, typed_as
from matcher.store.lists.headers import Target
from matcher.store.lists.listing import CellFault, DirectCsv

FIRST_ROWS = 500

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
    faults: dict[int, list[CellFault]] = field(default_factory=dict)
    noted: dict[int, list[CellFault]] = field(default_factory=dict)
    """Faults within valid rows: figures that stay unknown."""


def understand(
    con: duckdb.DuckDBPyConnection,
    family: str,
    relation: str,
    targets: Sequence[Target],
    *,
    marked: bool,
    direct: DirectCsv | None = None,
    lenient: bool = False,
    tolerances: Tolerances,
    notation: Notation,
    tag: str,
) -> UnderstoodRows:
    """Convert every row of a relation to a family's columns.

    With ``lenient``, an optional figure that cannot be read is unknown and noted, and its row is valid. ``direct`` is
    the file
    behind the relation, to be read at once if it is plain; ``tolerances`` has each basis' default in mm; ``notation``
    names
    the currency of the amounts, while the list's own cells show its decimal mark; ``tag`` separates the temporary
    tables of
    several lists.
    """
    columns = family_columns(family)
    by_name = {target.column.name: target for target in targets}
    line, notation = _read_fast(con, f"fast_{tag}", columns, by_name, relation, direct, notation, marked=marked)
    whole = f"select {line} as line, {_names(columns)}, null as cell_basis from fast_{tag} where clean"
    (odd,) = con.execute(f"select count(*) from fast_{tag} where not clean").fetchall()[0]
    if not odd:
        return UnderstoodRows(whole)
    con.execute(
        f"create temp table odd_{tag} as select * from ({relation}) "
        f"where line in (select {line} from fast_{tag} where not clean)"
    )
    reads = {name: _read_column(con, target, tag, notation, marked=marked) for name, target in by_name.items()}
    faults = _faults(con, by_name, reads, tag)
    noted = {line: found for line, found in faults.items() if lenient and _may_be_unknown(found, by_name)}
    faults = {line: found for line, found in faults.items() if line not in noted}
    _refuse_flood(faults)
    _keep_notes(con, noted, tag)
    con.execute(f"create temp table spoiled_{tag} (line integer)")
    con.execute(f"insert into spoiled_{tag} select unnest($1::integer[])", [list(faults)])
    con.execute(f"create temp table slow_{tag} as {_slow_select(columns, by_name, reads, tolerances, tag)}")
    return UnderstoodRows(f"{whole} union all select * from slow_{tag}", faults, noted)


def _may_be_unknown(faults: Sequence[CellFault], targets: dict[str, Target]) -> bool:
    columns = [targets[fault.field].column for fault in faults]
    if any(fault.fix == CHECK_BOTH for fault in faults):
        return False  # readable, but contradicts another cell
    return all(not column.required and column.default is None and column.name != NOTES for column in columns)


def _keep_notes(con: duckdb.DuckDBPyConnection, noted: dict[int, list[CellFault]], tag: str) -> None:
    con.execute(f"create temp table noted_{tag} (line integer, note varchar)")
    notes = [
        "; ".join(f"{one.field} not known: the list says {one.found}" for one in found) for found in noted.values()
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


def _read_fast(
    con: duckdb.DuckDBPyConnection,
    table: str,
    columns: Sequence[TableColumn],
    targets: dict[str, Target],
    relation: str,
    direct: DirectCsv | None,
    notation: Notation,
    *,
    marked: bool,
) -> tuple[str, Notation]:
    """Make a table of the plain cells; return the SQL for the line, and the list's notation."""
    named = {target.position: typed_as(target) for target in targets.values()}
    types = {place: sql_type for place, sql_type in named.items() if sql_type}
    first = f"select * from ({relation}) limit {FIRST_ROWS}"
    if direct is not None and _begins_plain(con, first, types) and mark_of(con, first, [*targets.values()]) == "point":
        typed = direct.typed(types)
        con.execute(f"create temp table {table} as {_fast_select(typed, columns, targets, marked=False, typed=True)}")
        count, start, last = con.execute(f"select count(*), min(rowid), max(rowid) from {table}").fetchall()[0]
        if count == direct.rows and count and last - start + 1 == count:  # one row per line, in file order
            # Only numbers with a decimal point were read as such, so nothing contradicts that mark.
            return f"(rowid - {start - direct.skip - 1})::integer", replace(notation, mark="point")
        con.execute(f"drop table {table}")
    notation = replace(notation, mark=mark_of(con, relation, [*targets.values()]))
    select = _fast_select(f"({relation})", columns, targets, marked=marked, typed=False, mark=notation.mark)
    con.execute(f"create temp table {table} as {select}")
    return "line", notation


def _begins_plain(con: duckdb.DuckDBPyConnection, first: str, types: dict[int, str]) -> bool:
    """Whether the first rows have plain numbers only: then all may, and reading them at once is worth a try."""
    odd = " or ".join(f"(c{place} <> '' and try_cast(c{place} as {kind}) is null)" for place, kind in types.items())
    query = f"select coalesce(bool_or({odd or 'false'}), false) from ({first})"
    return con.execute(query).fetchone() == (False,)


def _fast_select(
    source: str,
    columns: Sequence[TableColumn],
    targets: dict[str, Target],
    *,
    marked: bool,
    typed: bool,
    mark: DecimalMark = "point",
) -> str:
    values, taken = [] if typed else ["line"], []
    for column in columns:
        target = targets.get(column.name)
        if target is None:
            values.append(f'{default_sql(column)} as "{column.name}"')
            continue
        fast = fast_cell(target, f"c{target.position}", marked=marked, typed=typed, mark=mark)
        taken.append(fast.taken)
        value = fast.value if column.default is None else f"coalesce({fast.value}, {default_sql(column)})"
        values.append(f'{value} as "{column.name}"')
    return f"select {', '.join(values)}, coalesce({' and '.join(taken)}, false) as clean from {source}"


def _names(columns: Sequence[TableColumn]) -> str:
    found = []
    for column in columns:
        found.append(f'"{column.name}"')
        if column.is_figure:
            found.append(f'null::{column.kind.sql_type} as "{column.tol_name}"')
    return ", ".join(found)


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of odd rows: its value as SQL, and the table of the texts read by its kind.

    ``alias`` is the table's name in the query, empty if no text had to be read.
    """

    value: str
    table: str
    alias: str
    has_basis: bool
    faults: list[CellRead]


def _read_column(
    con: duckdb.DuckDBPyConnection, target: Target, tag: str, notation: Notation, *, marked: bool
) -> _Column:
    """Read each distinct odd text of a column once, into a table to join with."""
    cell, table, alias = f"c{target.position}", f"read_{tag}_{target.position}", f"r{target.position}"
    fast = fast_cell(target, cell, marked=marked, typed=False, mark=notation.mark)
    plain = f"coalesce({fast.taken}, false)"
    query = f"select distinct {cell} from odd_{tag} where {cell} <> '' and not {plain}"
    reads = read_cells(target, [text for (text,) in con.execute(query).fetchall()], notation)
    sql_type = target.column.kind.sql_type
    con.execute(f"create temp table {table} (text varchar, value {sql_type}, tol decimal(15,6), basis varchar)")
    good = [read for read in reads if read.fault is None]
    if good:
        con.execute(
            f"insert into {table} select unnest($1::varchar[]), "
            f"unnest($2::{_carrier(sql_type)}[])::{sql_type}, "
            "unnest($3::varchar[])::decimal(15,6), unnest($4::varchar[])",
            [
                [read.text for read in good],
                [read.value if sql_type == "VARCHAR[]" else _as_sql(read.value) for read in good],
                [_as_sql(read.tol) for read in good],
                [read.basis for read in good],
            ],
        )
    value = f"case when {plain} then {fast.value} else {alias}.value end"
    if not good:
        value, alias = f"case when {plain} then {fast.value} end", ""
    return _Column(value, table, alias, any(read.basis for read in good), [read for read in reads if read.fault])


def _carrier(sql_type: str) -> str:
    return "varchar[]" if sql_type == "VARCHAR[]" else "varchar"


def _as_sql(value: object) -> str | None:
    return None if value is None else f"{value:f}" if isinstance(value, Decimal) else str(value)


def _faults(
    con: duckdb.DuckDBPyConnection, targets: dict[str, Target], reads: dict[str, _Column], tag: str
) -> dict[int, list[CellFault]]:
    found: dict[int, list[CellFault]] = {}
    for name, target in targets.items():
        cell, by_text = f"c{target.position}", {read.text: read.fault for read in reads[name].faults}
        if by_text:
            query = f"select line, {cell} from odd_{tag} where {cell} in (select unnest($1::varchar[]))"
            for line, text in con.execute(query, [list(by_text)]).fetchall():
                found.setdefault(line, []).append(by_text[text])  # type: ignore[arg-type]
        if target.column.required:
            read = reads[name]
            blank = (
                f"select line from odd_{tag} {_join(read, cell)} "
                f"where {read.value} is null and not coalesce({cell} in (select unnest($1::varchar[])), false)"
            )
            for (line,) in con.execute(blank, [list(by_text)]).fetchall():
                found.setdefault(line, []).append(CellFault(name, "", MISSING, MISSING_CURE))
    return dict(sorted(found.items()))


def _refuse_flood(faults: dict[int, list[CellFault]]) -> None:
    if len(faults) <= MOST_FAULTY:
        return
    first = [fault for line in sorted(faults)[:100] for fault in faults[line]]
    shown = {fault.field: fault for fault in reversed(first)}
    raise FileRefused(
        f"{len(faults):,} rows cannot be read; nothing of the list was taken",
        fix="is it the right family, the right map, the right unit?",
        problems=[Problem(fault.expected, "", None, fault.field, fault.found, fault.fix) for fault in shown.values()],
    )


def _slow_select(
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
                values.append(f"null::{column.kind.sql_type}")
            continue
        read = reads[column.name]
        joins.append(_join(read, f"o.c{target.position}"))
        value = f"coalesce({read.value}, {default_sql(column)})"
        if column.name == NOTES:
            value = f"nullif(concat_ws('; ', {value}, n.note), '')"
        values.append(f'{value} as "{column.name}"')
        if column.is_figure:
            values.append(_tolerance(column, read.alias, row_basis, tolerances))
    based = [(name, f"{read.alias}.basis") for name, read in reads.items() if read.has_basis]
    values.append(_cell_basis(based, row_basis))
    return (
        f"select {', '.join(values)} from odd_{tag} o {' '.join(joins)} "
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
