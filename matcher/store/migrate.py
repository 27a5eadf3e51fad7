"""A store of an older format: asked as it is, brought up to date with the first change, its old file kept.

Every format so far only adds tables. So a question finds the new ones empty, and a change makes them in its own
transaction: whoever is killed on the way leaves the old store, or the new one.
"""

from __future__ import annotations

from pathlib import Path

import duckdb

from matcher.errors import InputError
from matcher.store.durable import copy_held, on_disk
from matcher.store.format import ADDED, FORMAT


def lay_over(con: duckdb.DuckDBPyConnection, found: int) -> None:
    """For one question: the tables that an older store lacks, empty and for this connection alone."""
    for added in _added_since(found):
        con.execute(added.replace("create ", "create temp "))


def bring_up(con: duckdb.DuckDBPyConnection, found: int) -> None:
    """Inside a change: the tables that an older store lacks."""
    for added in _added_since(found):
        con.execute(added)
    con.execute("update meta set format = ?", [FORMAT])


def backup_path(path: Path, found: int) -> Path:
    """Where the file of an older format is kept."""
    return path.with_name(f"{path.name}.format{found}.bak")


def keep_backup(con: duckdb.DuckDBPyConnection, path: Path, found: int) -> Path:
    """Before a change: a whole copy of the older store beside it, in place of an earlier copy.

    Raises
    ------
    InputError
        where the copy cannot be written; the store is as it was.
    """
    kept = backup_path(path, found)
    half = kept.with_name(kept.name + ".part")
    con.execute("checkpoint")  # all of it in the one file
    try:
        copy_held(path, half)
        on_disk(half)
        half.replace(kept)
        on_disk(kept.parent)
    except OSError as error:
        half.unlink(missing_ok=True)
        raise InputError(
            f"{path} is a store of format {found}, and no copy of it can be kept at {kept}: {error.strerror}",
            cure="make room for a copy beside it; the store is as it was",
        ) from None
    return kept


def _added_since(found: int) -> list[str]:
    return [added for format_, added in ADDED.items() if format_ > found]
