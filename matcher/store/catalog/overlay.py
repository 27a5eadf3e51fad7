"""Readings applied over claims: the latest reading of a field counts everywhere.

A part's claims stay in ``<family>_rows``, an opening's in the vehicle's document, so nothing is lost.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from catalog_schema.columns import TableColumn, columns_of, family_columns
from catalog_schema.parts import FAMILIES
from catalog_schema.vehicles import OPENINGS, Electrical, Runs
from matcher.settings import Settings, Tolerances
from matcher.store.catalog.listed import KEEP_CLEAR, PANES
from matcher.store.database.archived import ARCHIVED
from matcher.store.database.connection import Connection
from matcher.store.database.indexing import write_index
from matcher.store.database.tables import opening_columns, part_columns

LATEST = (
    "(select distinct on (subject, field) subject, field, value, tol, basis from reading "
    "anti join voided_reading using (subject, field, value, read_at) "
    "order by subject, field, read_at desc, reading_id desc)"
)
"""SQL for the reading that counts, for each field of each subject: the latest that was not voided."""


def shop_tolerances(con: Connection) -> Tolerances:
    """Return each basis' default tolerance in mm, or the shop's own."""
    return Settings(dict(con.execute("select name, value from setting").fetchall())).tolerances()


def lay_over_parts(con: Connection, family: str, *, table: str | None = None) -> None:
    """Update a family's measured rows and its index after a load or a reading.

    ``table`` names another table with the family's columns to apply the readings to.
    """
    _lay_readings(con, family, table)
    if table is None:
        write_index(con, [family])


def _lay_readings(con: Connection, family: str, table: str | None) -> None:
    is_any = "select 1 from reading where subject like 'part:%' union all select 1 from event where what = 'archive'"
    if not con.execute(f"{is_any} limit 1").fetchone():
        return
    fields = con.execute(
        f"select distinct field from reading r join {table or f'{family}_rows'} p "
        f"on r.subject = 'part:' || p.part_id{'' if table else ' and p.until is null'}"
    ).fetchall()
    if table is None:
        table = f"{family}_patched"
        _patch_rows(con, family)
    measured = [column for column in family_columns(family) if (column.name,) in fields]
    _lay(con, table, "'part:' || part_id", measured)


def take_off_parts(con: Connection) -> None:
    """Show every part as claimed, without readings."""
    for family in FAMILIES:
        con.execute(f"delete from {family}_patched")
        con.execute(f"update {family}_rows set patched = false where patched")
    write_index(con)


def _patch_rows(con: Connection, family: str) -> None:
    read = f"'part:' || part_id in (select subject from {LATEST} union all from {ARCHIVED})"
    con.execute(f"delete from {family}_patched")
    con.execute(f"update {family}_rows set patched = not patched where until is null and patched <> ({read})")
    names = ", ".join(f'"{name}"' for name, _ in part_columns(family))
    con.execute(
        f"insert into {family}_patched ({names}) select {names} from {family}_rows "
        f"where until is null and patched and 'part:' || part_id not in {ARCHIVED}"
    )


def lay_over_openings(con: Connection, vehicle_id: str | None = None, tables: Collection[str] | None = None) -> None:
    """Apply the readings of a vehicle, or of all, and of its openings, after a load or a reading.

    ``tables`` restricts this to tables with readings; by default all.
    """
    where, values = ("true", []) if vehicle_id is None else ("vehicle_id = $1", [vehicle_id])
    subject = "'opening:' || vehicle_id || '/' || opening_id"
    for kind in OPENINGS:
        if tables is None or f"opening_{kind}" in tables:
            _lay(con, f"opening_{kind}", subject, opening_columns(kind), where, values)
    if tables is None or "vehicle" in tables:
        supply = [*columns_of(Electrical), *columns_of(Runs)]
        _lay(con, "vehicle", "'vehicle:' || vehicle_id", supply, where, values)
    for listed, of in ((KEEP_CLEAR, subject), (PANES, "'vehicle:' || vehicle_id")):
        if tables is None or listed.table in tables:
            _lay(con, listed.table, of, listed.columns, where, values, listed.field_sql)


def _lay(
    con: Connection,
    table: str,
    subject: str,
    columns: Sequence[TableColumn],
    where: str = "true",
    values: Sequence[object] = (),
    field_sql: Callable[[TableColumn], str] = lambda column: f"'{column.name}'",
) -> None:
    """Set each field of a table's rows to its latest reading; `field_sql` is SQL of the field that a column is."""
    tolerances = shop_tolerances(con)
    read = f"(select field from {LATEST} where subject in (select {subject} from {table} where {where}))"
    fields = {field for (field,) in con.execute(f"select distinct field from {read}", list(values)).fetchall()}
    read_of = {field.rpartition(".")[2] for field in fields}
    for column in columns:
        if column.name in read_of:
            con.execute(
                f"update {table} set {_assignments(column, tolerances)} from {LATEST} r "
                f"where {where} and r.subject = {subject} and r.field = {field_sql(column)}",
                list(values),
            )


def _assignments(column: TableColumn, tolerances: Tolerances) -> str:
    sql_type = column.kind.sql_type
    typed = "string_split(r.value, ';')" if sql_type == "VARCHAR[]" else f"r.value::{sql_type}"
    value = f'"{column.name}" = {typed}'
    if not column.is_figure:
        return value
    default = tolerances.sql("r.basis", typed) if column.is_length else "null"
    return f'{value}, "{column.tol_name}" = coalesce(r.tol, {default})'
