"""The tables of a store, generated from the models.

A family has three relations. ``speaker_rows`` has every row ever loaded, as the supplier claimed it, with the versions
it
came in (``since``) and went out (``until``). ``speaker_patched`` has, for the few parts that were measured since, the
row
with its readings applied. The view ``speaker``, which everything else reads, has current rows, measured if possible.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import duckdb

from catalog_schema.columns import TableColumn, columns_of, family_columns
from catalog_schema.parts import FAMILIES
from catalog_schema.vehicles import OPENINGS, Electrical, KeepClear, Pane, Runs, nested_of
from matcher.store.database.format import ADDED
from matcher.store.database.format import FORMAT as FORMAT

ROW_KEEPING = (
    ("cell_basis", "VARCHAR"),  # {"depth_mm": "caliper"}: bases of cells that differ from the row's
    ("supplier", "VARCHAR"),
    ("since", "INTEGER"),
    ("until", "INTEGER"),
    ("patched", "BOOLEAN"),
)

COMMON = """
create table meta (format integer not null, currency varchar not null);
create sequence reading_number;
create sequence problem_number;
create table load (
    version integer primary key, made_at timestamptz not null, what varchar not null, by_whom varchar,
    family varchar, files varchar[], new integer, changed integer, unchanged integer, withdrawn integer,
    duplicates integer, problems integer, skipped integer, lines integer);
create table problem (
    problem_id integer primary key default nextval('problem_number'),
    version integer not null, family varchar, file varchar, sheet varchar, line integer,
    field varchar, found varchar, expected varchar, cure varchar, faults varchar,
    headers varchar[], cells varchar[], fields varchar, part_id varchar, supplier varchar, mended_in integer);
create table list_map (name varchar primary key, document varchar not null);
create table reading (
    reading_id integer primary key default nextval('reading_number'),
    subject varchar not null, field varchar not null, value varchar not null, tol decimal(15,6),
    basis varchar, by_whom varchar, read_at timestamptz not null, note varchar);
create table setting (name varchar primary key, value decimal(15,6) not null);
create table job (job_id varchar primary key, vehicle_id varchar not null, document varchar not null,
    answered_on integer, loaded_at timestamptz);
"""

VEHICLE_OWN = (
    ("vehicle_id", "VARCHAR"),
    ("label", "VARCHAR"),
    ("year", "INTEGER"),
    ("body", "VARCHAR"),
    ("keys_on_wheel", "BOOLEAN"),
    ("document", "VARCHAR"),
)


def create_tables(con: duckdb.DuckDBPyConnection) -> None:
    """Create every table and view of a new store."""
    con.execute(COMMON)
    for added in ADDED.values():
        con.execute(added)
    con.execute("insert into meta values (?, '')", [FORMAT])
    for family in FAMILIES:
        create_family(con, family)
    con.execute(f"create {part_view()}")
    _create(con, "vehicle", vehicle_sql_columns())
    for kind in OPENINGS:
        _create(con, f"opening_{kind}", opening_sql_columns(kind))
    place = [("vehicle_id", "VARCHAR"), ("opening_id", "VARCHAR"), ("basis", "VARCHAR")]
    _create(con, "keep_clear", [*place, ("position", "INTEGER"), *_sql_columns(columns_of(KeepClear))])
    _create(con, "pane", [("vehicle_id", "VARCHAR"), ("position", "INTEGER"), *_sql_columns(columns_of(Pane))])
    _create(con, "no_fasten", [("vehicle_id", "VARCHAR"), ("zone", "VARCHAR"), ("why", "VARCHAR")])


def opening_columns(kind: str) -> tuple[TableColumn, ...]:
    """Return the columns of an opening's table; nested models are flat, as ``cut_w_mm`` and ``original_amp_w``."""
    return columns_of(OPENINGS[kind]) + tuple(
        TableColumn(f"{field}_{column.name}", column.kind, False, None)
        for field, model in nested_of(kind).items()
        for column in columns_of(model)
    )


def opening_sql_columns(kind: str) -> list[tuple[str, str]]:
    """Return name and SQL type of the columns of an opening's table."""
    return [("vehicle_id", "VARCHAR"), *_sql_columns(opening_columns(kind))]


def vehicle_sql_columns() -> list[tuple[str, str]]:
    """Return name and SQL type of the columns of a vehicle's table."""
    return [*VEHICLE_OWN, *_sql_columns([*columns_of(Electrical), *columns_of(Runs)])]


def part_columns(family: str) -> list[tuple[str, str]]:
    """Return name and SQL type of the columns of a family's row, with tolerances."""
    return _sql_columns(family_columns(family))


def create_family(con: duckdb.DuckDBPyConnection, family: str, *, temp: str = "") -> None:
    """Create the tables and the view of a family; with ``temp`` for this connection only."""
    own = part_columns(family)
    _create(con, f"{family}_rows", [*own, *ROW_KEEPING], temp)
    _create(con, f"{family}_patched", own, temp)
    con.execute(f"create or replace {temp} {family_view(family)}")


def part_view() -> str:
    """SQL of the view of every part, after ``create``."""
    return f"view part as {' union all '.join(map(_as_part, FAMILIES))}"


def family_view(family: str) -> str:
    """SQL of the view of a family's current rows, after ``create``."""
    names = ", ".join(f'"{name}"' for name, _ in part_columns(family))
    return (
        f"view {family} as select {names} from {family}_rows where until is null and not patched "
        f"union all select {names} from {family}_patched"
    )


def _as_part(family: str) -> str:
    return f"select part_id, '{family}' as family, maker, model, price, pack_of, stock, lead_days from {family}"


def _sql_columns(columns: Iterable[TableColumn]) -> list[tuple[str, str]]:
    found = []
    for column in columns:
        found.append((column.name, column.kind.sql_type))
        if column.is_figure:
            found.append((column.tol_name, column.kind.sql_type))
    return found


def _create(con: duckdb.DuckDBPyConnection, table: str, columns: Sequence[tuple[str, str]], temp: str = "") -> None:
    body = ", ".join(f'"{name}" {sql_type}' for name, sql_type in columns)
    con.execute(f"create {temp} table if not exists {table} ({body})")
