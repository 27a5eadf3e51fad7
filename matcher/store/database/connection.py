"""Connections to a database file, and errors of the system or the database in our words."""

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
    "storage_compatibility_version": "v1.2.0",  # so that an older DuckDB can open a new store
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}
PATIENCE_S = 5.0
"""Seconds that a question or a change waits for another process to release the store: most commands take less."""
TURN_S = 20.0
"""Seconds that a change waits for another one of the same process: a long list takes about that."""


@contextmanager
def aside(**settings: str | int) -> Iterator[Connection]:
    """Open a temporary database in memory, for work outside a store.

    Data that do not fit are spilled to the system's temporary folder, never to the working folder.
    """
    from tempfile import gettempdir  # not needed to read a store
    from uuid import uuid4

    spill = Path(gettempdir()) / f"boltback-{uuid4().hex}"  # made and removed by the database on demand
    with duckdb.connect(":memory:", config={**CONFIG, **settings, "temp_directory": str(spill)}) as con:
        con.execute("set enable_progress_bar = false")
        yield con


DENIED = re.compile("Permission denied|Read-only file system|Operation not permitted")
REFUSED = re.compile("No space left on device|File too large|Disk quota exceeded|Input/output error|" + DENIED.pattern)
"""System errors for a refused write."""


class NotWritable(InputError):
    """A file that the system does not let us write, or even read."""


def open_file(file: Path, opening: threading.Lock, confined_to: Path | None) -> Connection:
    """Connect to a database file, once no other process holds it.

    Parameters
    ----------
    opening
        Lock held while the database is opened: two threads that confine it at once would each see the other's limits.
    confined_to
        The only other folder that the database may access, if any.

    Raises
    ------
    NotWritable
        if the system refuses the file.
    StoreBusy
        if another process holds it too long.
    StoreFault
        if it is not a database that can be opened.
    """
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            with opening:
                con = duckdb.connect(str(file), config=CONFIG)
                con.execute("set enable_progress_bar = false")  # stdout is reserved for answers
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
    if denial := DENIED.search(text):
        return NotWritable(
            f"{file} cannot be opened: {denial[0].lower()}",
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
def file_errors(path: Path, what: str) -> Iterator[None]:
    """Turn a database error within a statement into one with a cause and a fix."""
    try:
        yield
    except (duckdb.IOException, duckdb.FatalException, duckdb.TransactionException, duckdb.InternalException) as error:
        denied = REFUSED.search(str(error))
        if denied is not None:
            raise InputError(
                f"{path} {what}: {denied[0].lower()}",
                fix="make room on the disk, or see to its rights; then try again",
            ) from None
        if isinstance(error, duckdb.TransactionException):
            # A question with assumed figures writes them temporarily.
            raise StoreBusy("the same figures are being worked with", fix="try again in a minute") from None
        raise StoreFault(
            f"{path} {what}: {str(error).splitlines()[0][:300]}",
            fix="`boltback store check` tells what is at fault, `boltback store restore FILE` takes back a backup",
        ) from None


def confine(con: Connection, folder: Path) -> None:
    """Restrict the database to its own file and those in a folder; it cannot be lifted while it is open."""
    bound = con.execute("select not current_setting('enable_external_access')").fetchone()
    if bound == (False,):
        quoted = str(folder).replace("'", "''")
        con.execute(f"set allowed_directories = ['{quoted}']")
        con.execute("set enable_external_access = false")


def is_empty(con: Connection) -> bool:
    """Whether the file is a database in which nothing was ever stored."""
    return con.execute("select count(*) from duckdb_tables() where database_name = current_database()").fetchone() == (
        0,
    )


def in_chain(con: Connection) -> bool:
    """Whether the store is in a chain."""
    try:
        return con.execute("select 1 from chain").fetchone() is not None
    except duckdb.CatalogException:  # a format older than chains
        return False


def records(con: Connection, sql: str, *params: object) -> list[dict[str, Any]]:
    """Return rows as dicts."""
    cursor = con.execute(sql, list(params))
    names = [column[0] for column in cursor.description or ()]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def roll_back(con: Connection) -> None:
    try:
        con.execute("rollback")
    except duckdb.Error:
        return  # the error has already ended the transaction


@contextmanager
def within_memory(con: Connection, memory_mb: int | None) -> Iterator[None]:
    """Limit a connection to half of some memory; the other half is the caller's.

    Raises
    ------
    InputError
        if that is not enough to read the data.
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
    """Return a text as an SQL literal, for the few places without parameters."""
    return "'" + str(text).replace("'", "''") + "'"
