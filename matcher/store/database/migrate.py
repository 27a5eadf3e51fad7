"""A store of an older format: readable as it is, migrated with the first change, its old file kept.

Every format so far only adds tables, and columns of families and openings. A question sees the new ones empty, and a
change creates them in its own transaction: a killed process leaves either the old store or the new one.
"""

from __future__ import annotations

from pathlib import Path

import duckdb

from catalog_schema.parts import FAMILIES
from matcher.errors import InputError
from matcher.store.database.durable import copy_held, write_whole
from matcher.store.database.format import ADDED, ADDED_FAMILIES, ADDED_FIGURES, FORMAT, PART_INDEX
from matcher.store.database.indexing import write_index
from matcher.store.database.tables import (
    create_family,
    family_view,
    opening_sql_columns,
    part_columns,
    part_view,
    vehicle_sql_columns,
)


def lay_over(con: duckdb.DuckDBPyConnection, found: int) -> None:
    """Create the tables and figures that an older store lacks, empty, for this connection only."""
    for added in _added_since(found):
        con.execute(added.replace("create ", "create temp "))
    _add_families(con, found, temp="temp")
    _lay_figures(con, found)


def lay_again(con: duckdb.DuckDBPyConnection) -> None:
    """Add the figures that an older store lacks again, after a temporary catalog has replaced its families."""
    row = con.execute("select format from meta").fetchone()
    if row is not None and row[0] < FORMAT:
        _add_families(con, row[0], temp="temp")
        _lay_figures(con, row[0])


def _lay_figures(con: duckdb.DuckDBPyConnection, found: int) -> None:
    # The store's own index lacks these figures, so hide it: families are then coded from their rows.
    con.execute(PART_INDEX.replace("create ", "create or replace temp "))
    row = con.execute("select current_database()").fetchone()
    stored = f'"{row[0]}".main' if row else "main"
    for thing, columns in _columns_since(found).items():
        unknown = ", ".join(f'null::{sql_type} as "{name}"' for name, sql_type in columns)
        for table in _tables_of(thing):
            con.execute(f"create or replace temp view {table} as select *, {unknown} from {stored}.{table}")
        if thing in FAMILIES:
            con.execute(f"create or replace temp {family_view(thing)}")


def _add_families(con: duckdb.DuckDBPyConnection, found: int, *, temp: str = "") -> None:
    """Create the families of parts that an older store lacks, empty."""
    for family in (one for since, some in ADDED_FAMILIES.items() if since > found for one in some):
        create_family(con, family, temp=temp)
    con.execute(f"create or replace {temp} {part_view()}")


def bring_up(con: duckdb.DuckDBPyConnection, found: int) -> None:
    """Create the tables and figures that an older store lacks, within a change."""
    for added in _added_since(found):
        con.execute(added)
    _add_families(con, found)
    for thing, columns in _columns_since(found).items():
        for name, sql_type in columns:
            for table in _tables_of(thing):
                con.execute(f'alter table {table} add column "{name}" {sql_type}')
        if thing in FAMILIES:
            con.execute(f"create or replace {family_view(thing)}")
    con.execute("update meta set format = ?", [FORMAT])
    write_index(con)


def backup_path(path: Path, found: int) -> Path:
    """Return the path of the copy of an older format."""
    return path.with_name(f"{path.name}.format{found}.bak")


def keep_backup(con: duckdb.DuckDBPyConnection, path: Path, found: int) -> Path:
    """Copy the older store to a file next to it before a change, replacing an earlier copy.

    Raises
    ------
    InputError
        if the copy cannot be written; the store is unchanged.
    """
    kept = backup_path(path, found)
    con.execute("checkpoint")  # so that the one file is complete
    try:
        write_whole(kept, lambda half: copy_held(path, half))
    except OSError as error:
        raise InputError(
            f"{path} is a store of format {found}, and no copy of it can be kept at {kept}: {error.strerror}",
            fix="make room for a copy beside it; the store is as it was",
        ) from None
    return kept


def _added_since(found: int) -> list[str]:
    return [added for format_, added in ADDED.items() if format_ > found]


def _columns_since(found: int) -> dict[str, list[tuple[str, str]]]:
    """Return name and SQL type of added columns, with tolerances, by family or table of openings."""
    gained: dict[str, list[tuple[str, str]]] = {}
    for format_, things in ADDED_FIGURES.items():
        for thing, fields in things.items() if format_ > found else ():
            names = {name for field in fields for name in (field, f"{field}_tol")}
            gained.setdefault(thing, []).extend(column for column in _columns_of(thing) if column[0] in names)
    return gained


def _columns_of(thing: str) -> list[tuple[str, str]]:
    if thing in FAMILIES:
        return part_columns(thing)
    return vehicle_sql_columns() if thing == "vehicle" else opening_sql_columns(thing.removeprefix("opening_"))


def _tables_of(thing: str) -> tuple[str, ...]:
    return (f"{thing}_rows", f"{thing}_patched") if thing in FAMILIES else (thing,)
