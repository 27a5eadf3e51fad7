"""The store with something assumed: a view lies over a table for as long as a question is asked."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import contextmanager

from matcher.store.connection import Connection
from matcher.store.listing import quoted


@contextmanager
def laid_over(con: Connection, table: str, body: str) -> Iterator[None]:
    """Within it a table reads as ``body``, SQL in which ``under`` stands for the table itself."""
    row = con.execute("SELECT current_database()").fetchone()
    assert row is not None
    con.execute(f'CREATE TEMP VIEW "{table}" AS WITH under AS (SELECT * FROM "{row[0]}".main."{table}") {body}')
    try:
        yield
    finally:
        con.execute(f'DROP VIEW temp."{table}"')


@contextmanager
def only_part(con: Connection, family: str, part_id: str) -> Iterator[None]:
    """Within it a family holds this part alone."""
    with (
        laid_over(con, "part_index", f"SELECT * FROM under WHERE family <> {quoted(family)}"),
        laid_over(con, family, f"SELECT * FROM under WHERE part_id = {quoted(part_id)}"),
    ):
        yield


@contextmanager
def without_things(con: Connection, vehicle_id: str, opening_id: str, names: Collection[str]) -> Iterator[None]:
    """Within it some things beside a dash opening need not stay reachable."""
    named = ", ".join(map(quoted, sorted(names)))
    there = f"vehicle_id = {quoted(vehicle_id)} AND opening_id = {quoted(opening_id)} AND name IN ({named})"
    with laid_over(con, "keep_clear", f"SELECT * FROM under WHERE NOT ({there})"):
        yield
