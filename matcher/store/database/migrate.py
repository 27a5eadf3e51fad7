"""A store of an older format: asked as it is, brought up to date with the first change, its old file kept.

Every format so far only adds: tables, and columns of families and openings. So a question finds the new ones empty, and
a change makes them in its own transaction: anyone who is killed on the way leaves the old store, or the new one.
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
    """For one question: the tables and figures that an older store lacks, empty and for this connection alone."""
    for added in _added_since(found):
        con.execute(added.replace("create ", "create temp "))
    _add_families(con, found, temp="temp")
    _lay_figures(con, found)


def lay_again(con: duckdb.DuckDBPyConnection) -> None:
    """The figures that an older store lacks, where another catalog lay over its families for a while."""
    row = con.execute("select format from meta").fetchone()
    if row is not None and row[0] < FORMAT:
        _add_families(con, row[0], temp="temp")
        _lay_figures(con, row[0])


def _lay_figures(con: duckdb.DuckDBPyConnection, found: int) -> None:
    # The store's own index, if it has one, lacks these figures: without one, families are coded from their rows.
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
    """The families of parts that an older store lacks, empty."""
    for family in (one for since, some in ADDED_FAMILIES.items() if since > found for one in some):
        create_family(con, family, temp=temp)
    con.execute(f"create or replace {temp} {part_view()}")


def bring_up(con: duckdb.DuckDBPyConnection, found: int) -> None:
    """Inside a change: the tables and figures that an older store lacks."""
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
    """Where the file of an older format is kept."""
    return path.with_name(f"{path.name}.format{found}.bak")


def keep_backup(con: duckdb.DuckDBPyConnection, path: Path, found: int) -> Path:
    """Before a change: a whole copy of the older store beside it, in place of an earlier copy.

    Raises
    ------
    InputError
        if the copy cannot be written; the store is as it was.
    """
    kept = backup_path(path, found)
    con.execute("checkpoint")  # all of it in the one file
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
    """By family or table of openings: name and SQL type of the columns it has gained, tolerances included."""
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
    """The tables that hold the columns of a family, or of a kind of openings."""
    return (f"{thing}_rows", f"{thing}_patched") if thing in FAMILIES else (thing,)
