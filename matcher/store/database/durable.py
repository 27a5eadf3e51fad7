"""Files written whole or not at all: next to the target, flushed, then renamed; replaced on request only."""

from __future__ import annotations

import datetime
import fcntl
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from matcher.errors import InputError
from matcher.store.database.connection import REFUSED, Connection, quoted

PART = re.compile(r"\..+\.(\d+)\.part(\.wal)?")
"""Temporary file next to its target, with the id of the process that writes it."""
MAGIC, MAGIC_AT = b"DUCK", 8
"""First bytes of a database file after its checksum."""


def check_target(target: Path, *, force: bool, reads: Iterable[Path] = (), over_stores: bool = False) -> None:
    """Refuse an output file that would replace something; every command that writes files calls this first.

    Parameters
    ----------
    force
        Whether an ordinary file may be replaced.
    reads
        Files that the command reads, which are never replaced.
    over_stores
        Whether ``force`` may replace a store as well, for copies of stores.

    Raises
    ------
    InputError
        with the file that would be replaced.
    """
    if target.is_dir():
        raise InputError(f"{target} is a folder", fix="name a file in it")
    if not target.is_file():  # no file, or a terminal or pipe
        return
    if any(one.exists() and target.samefile(one) for one in reads):
        raise InputError(f"{target} is what this command reads", fix="name another file")
    is_store = is_database(target)
    if is_store and not over_stores:
        raise InputError(f"{target} is there already: {_told(target)}", fix="name another file: no store is replaced")
    if not force:
        raise InputError(
            f"{target} is there already: {_told(target)}", fix="name another file, or replace it with --force"
        )


def _told(target: Path) -> str:
    status = target.stat()
    changed = datetime.datetime.fromtimestamp(status.st_mtime).strftime("%Y-%m-%d %H:%M")
    return f"{'a store' if is_database(target) else 'a file'} of {status.st_size:,} bytes, changed {changed}"


def is_database(path: Path) -> bool:
    """Whether a file is a database, as every store is."""
    try:
        with path.open("rb") as stream:
            return stream.read(MAGIC_AT + len(MAGIC))[MAGIC_AT:] == MAGIC
    except OSError:
        return False


def put_in_place(target: Path, write: Callable[[Path], object]) -> None:
    """Write a file next to its target, and rename it once it is flushed to disk.

    Raises
    ------
    InputError
        if the disk or the folder refuses; an existing target is unchanged.
    """
    try:
        write_whole(target, write)
    except OSError as error:
        raise not_written(target, error) from None


def write_file(target: Path, data: str | bytes) -> None:
    """Write text or bytes to a file, replacing an existing one; see `put_in_place`."""
    put_in_place(target, lambda half: half.write_bytes(data.encode("utf-8") if isinstance(data, str) else data))


def write_whole(target: Path, write: Callable[[Path], object]) -> None:
    """Like `put_in_place`, for callers with their own error message.

    Raises
    ------
    OSError
        if the disk or the folder refuses; an existing target is unchanged.
    """
    if target.exists() and not target.is_file():  # a terminal, a pipe
        write(target)
        return
    clear_parts(target.parent)
    half = part_of(target)
    try:
        write(half)
        on_disk(half)
        half.replace(target)
        on_disk(target.parent)
    finally:
        half.unlink(missing_ok=True)


def part_of(target: Path) -> Path:
    """Return the temporary file of this process for a target."""
    return target.with_name(f".{target.name}.{os.getpid()}.part")


def clear_parts(folder: Path) -> None:
    """Remove temporary files that killed processes have left in a folder."""
    for left in folder.glob(".*.part*"):
        found = PART.fullmatch(left.name)
        if found and not _runs(int(found[1])):
            left.unlink(missing_ok=True)


def _runs(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):  # another user's process
        return True
    return True


def write_parquet(con: Connection, sql: str, path: Path) -> int:
    """Write a query's rows into a Parquet file; return their number.

    Raises
    ------
    OSError
        if the disk or the folder refuses.
    """
    try:
        ((rows,),) = con.execute(f"COPY ({sql}) TO {quoted(path)} (FORMAT parquet)").fetchall()
    except duckdb.IOException as error:
        refusal = REFUSED.search(str(error))
        if refusal is None:
            raise
        raise OSError(None, refusal[0]) from None
    return int(rows)


@contextmanager
def alone(lock: Path, otherwise: InputError) -> Iterator[None]:
    """Hold a lock file while only one process may work in its folder.

    Raises
    ------
    InputError
        ``otherwise``, if another process holds it.
    """
    with lock.open("w") as held:
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise otherwise from None
        yield


def copy_held(source: Path, target: Path) -> None:
    """Copy a file that this process holds locked, by a child process.

    The system releases a process's lock on a file when the process closes any handle of it: a copy made here would
    unlock the store.

    Raises
    ------
    OSError
        if the copy cannot be written.
    """
    code = "import shutil, sys; shutil.copyfile(*sys.argv[1:])"
    run = subprocess.run([sys.executable, "-I", "-S", "-c", code, source, target], capture_output=True, text=True)
    if run.returncode:
        message = run.stderr.strip().splitlines()[-1:] or ["the copy was ended"]
        raise OSError(None, message[0].rpartition("] ")[2].partition(":")[0])


def on_disk(path: Path) -> None:
    """Flush a file, or the entries of a folder, to disk."""
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def not_written(target: Path, error: OSError) -> InputError:
    """Error for a file that the system refuses."""
    reason = (error.strerror or str(error)).lower()
    return InputError(
        f"{target} cannot be written: {reason}", fix="see to its room and its rights, or name another place"
    )
