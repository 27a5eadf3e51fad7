"""Connections to a database's file, and what the system or the database refuses, in our words."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import duckdb

from matcher.errors import BoltbackError, InputError, StoreBusy, StoreFault

Connection = duckdb.DuckDBPyConnection

CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "storage_compatibility_version": "v1.2.0",  # a store of today opens in the DuckDB of last year
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}
PATIENCE_S = 5.0
"""So long a question or a change waits for another process to let go of the store: most commands take less."""
TURN_S = 20.0
"""So long a change waits for another one of the same process: a long list takes about that."""


@contextmanager
def aside(**settings: str | int) -> Iterator[Connection]:
    """A database of its own in memory, for what is worked out beside a store.

    What it cannot hold it spills where the system keeps such things, never into the folder that one works in.
    """
    from tempfile import gettempdir  # a question to a store needs neither
    from uuid import uuid4

    spill = Path(gettempdir()) / f"boltback-{uuid4().hex}"  # made by the database once it needs it, and taken away
    with duckdb.connect(":memory:", config={**CONFIG, **settings, "temp_directory": str(spill)}) as con:
        con.execute("set enable_progress_bar = false")
        yield con


DENIED = re.compile("Permission denied|Read-only file system|Operation not permitted")
REFUSED = re.compile("No space left on device|File too large|Disk quota exceeded|Input/output error|" + DENIED.pattern)
"""The system's errors when it refuses a write."""


class NotWritable(InputError):
    """A file that the system does not let us write, or not even read."""


def open_file(file: Path, opening: threading.Lock, confined_to: Path | None) -> Connection:
    """A connection to a database's file, once no other process holds it.

    Parameters
    ----------
    opening
        Taken while the database is opened: two that confine it at once would each find it confined by the other.
    confined_to
        The only other folder that the database may reach, if any.

    Raises
    ------
    NotWritable
        if the system refuses the file.
    StoreBusy
        if another process holds it for longer than it is waited for.
    StoreFault
        if it is no database that can be opened.
    """
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            with opening:
                con = duckdb.connect(str(file), config=CONFIG)
                con.execute("set enable_progress_bar = false")  # stdout is for answers
                if confined_to is not None:
                    confine(con, confined_to)
                return con
        except duckdb.IOException as error:
            if "lock" not in str(error) or DENIED.search(str(error)) or time.monotonic() > deadline:
                raise _not_opened(file, str(error)) from None
            time.sleep(0.05)
        except (duckdb.Error, RuntimeError) as error:
            raise StoreFault(
                f"{file} cannot be opened: {str(error).splitlines()[0]}",
                fix="name another file with --store, or take back a backup: boltback store restore FILE",
            ) from None


def _not_opened(file: Path, text: str) -> BoltbackError:
    if said := DENIED.search(text):
        return NotWritable(
            f"{file} cannot be opened: {said[0].lower()}",
            fix="it has to be readable and writable for you, and its folder too",
        )
    if "lock" not in text:
        return StoreFault(
            f"{file} is not a store that can be opened",
            fix="name another file with --store, or take back a backup: boltback store restore FILE",
        )
    holder = re.search(r"PID (\d+)", text)
    who = f"process {holder[1]}" if holder else "another process"
    return StoreBusy(
        f"the store {file} is held by {who}, still after {PATIENCE_S:g} seconds",
        fix="it lets go once it is done: try again in a moment",
    )


@contextmanager
def refusals_told(path: Path, what: str) -> Iterator[None]:
    """The database's refusal in the midst of a statement, with a cause and a fix in our words."""
    try:
        yield
    except (duckdb.IOException, duckdb.FatalException, duckdb.TransactionException, duckdb.InternalException) as error:
        said = REFUSED.search(str(error))
        if said is not None:
            raise InputError(
                f"{path} {what}: {said[0].lower()}", fix="make room on the disk, or see to its rights; then try again"
            ) from None
        if isinstance(error, duckdb.TransactionException):
            # A question that supposes figures writes them for as long as it takes, and takes them back.
            raise StoreBusy("the same figures are being worked with", fix="try again in a minute") from None
        raise StoreFault(
            f"{path} {what}: {str(error).splitlines()[0][:300]}",
            fix="`boltback store check` tells what is at fault, `boltback store restore FILE` takes back a backup",
        ) from None


def confine(con: Connection, folder: Path) -> None:
    """Close the database to every file but its own and those in a folder; it cannot be opened again while it runs."""
    bound = con.execute("select not current_setting('enable_external_access')").fetchone()
    if bound == (False,):
        quoted = str(folder).replace("'", "''")
        con.execute(f"set allowed_directories = ['{quoted}']")
        con.execute("set enable_external_access = false")


def is_empty(con: Connection) -> bool:
    """Whether the file is a database that nothing was ever kept in."""
    return con.execute("select count(*) from duckdb_tables() where database_name = current_database()").fetchone() == (
        0,
    )


def in_chain(con: Connection) -> bool:
    """Whether the store is part of a chain."""
    try:
        return con.execute("select 1 from chain").fetchone() is not None
    except duckdb.CatalogException:  # of a format that knew none
        return False


def records(con: Connection, sql: str, *params: object) -> list[dict[str, Any]]:
    """Rows as dicts."""
    cursor = con.execute(sql, list(params))
    names = [column[0] for column in cursor.description or ()]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def roll_back(con: Connection) -> None:
    try:
        con.execute("rollback")
    except duckdb.Error:
        return  # the transaction ended with the error that brought us here


@contextmanager
def within_memory(con: Connection, memory_mb: int | None) -> Iterator[None]:
    """Hold a connection to half of some memory, the other half being the asker's.

    Raises
    ------
    InputError
        if that is not enough to read what is asked.
    """
    if memory_mb is not None:
        con.execute(f"SET memory_limit = '{memory_mb // 2}MB'")
    try:
        yield
    except duckdb.OutOfMemoryException:
        raise InputError(
            f"{memory_mb} MB is not enough memory to read what fits", fix="allow more with --memory-mb, or none"
        ) from None
    finally:
        if memory_mb is not None:
            con.execute("RESET memory_limit")


def quoted(text: object) -> str:
    """A text as an SQL literal, for the few places that take no parameter."""
    return "'" + str(text).replace("'", "''") + "'"
