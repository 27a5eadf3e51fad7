"""Copy a store's file as it is at one moment, and restore a copy in its place."""

from __future__ import annotations

import datetime
import os
import shutil
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from matcher.errors import FileRefused, InputError, StoreFault
from matcher.store.database.durable import (
    check_target,
    clear_parts,
    copy_held,
    not_written,
    on_disk,
    part_of,
    put_in_place,
)
from matcher.store.database.opening import Store
from matcher.store.database.provenance import record
from matcher.store.database.reading_copy import LOG_SUFFIX
from matcher.store.maintenance.check import CheckedStore, check_store


@dataclass(frozen=True, slots=True)
class Restored:
    """Result of restoring a store."""

    checked: CheckedStore
    kept: Path | None
    """Path of the replaced file; None if there was none."""


def back_up(store: Store, target: Path, *, force: bool = False) -> Path:
    """Copy the store into a file, as it is at one moment; the copy is whole or absent.

    Parameters
    ----------
    force
        Replace an existing file.

    Raises
    ------
    InputError
        if the file exists already, is the store itself, or cannot be written.
    """
    check_target(target, force=force, reads=[store.path], over_stores=True)
    with store.still():
        put_in_place(target, lambda half: _copy(store, half))
    return target


def lend(store: Store, target: Path) -> None:
    """Copy the store, as it is at one moment, for temporary reading, without flushing it to disk.

    Raises
    ------
    InputError
        if the copy cannot be written.
    """
    for left in (target, _log_of(target)):
        left.unlink(missing_ok=True)
    try:
        with store.still():
            _copy(store, target)
    except OSError as error:
        raise not_written(target, error) from None


def _copy(store: Store, target: Path) -> None:
    """Copy the file that is read; a read-only file needs no lock."""
    (copy_held if store.file == store.path else shutil.copyfile)(store.file, target)


def restore(store: Store, source: Path, *, by: str | None = None) -> Restored:
    """Replace the store with a copy that was checked first; the replaced file is kept next to it.

    Raises
    ------
    InputError
        if the file cannot be read, or no copy can be written next to the store.
    StoreBusy
        if another process holds the store.
    StoreFault
        if the copy is at fault, with every fault; the store is unchanged.
    """
    if not source.is_file():
        raise FileRefused(f"there is no file {source}", fix="name a file that `boltback store backup` wrote")
    _refuse_itself(store, source)
    clear_parts(store.path.parent)
    half = part_of(store.path)
    try:
        checked = _copied(source, half)
        kept = _swap(store, half)
    except OSError as error:
        raise not_written(store.path, error) from None
    finally:
        for left in (half, _log_of(half)):
            left.unlink(missing_ok=True)
    with store.changing(own=True) as con:
        record(con, "store restore", "store", f"from {source}", by=by)
    return Restored(checked, kept)


def _refuse_itself(store: Store, other: Path) -> None:
    if other.exists() and store.path.exists() and other.samefile(store.path):
        raise InputError(f"{other} is the store itself", fix="name another file")


def _copied(source: Path, half: Path) -> CheckedStore:
    """Copy a store next to its target, in one file, and check it."""
    shutil.copyfile(source, half)
    if _log_of(source).is_file():  # copied while a program was using it
        shutil.copyfile(_log_of(source), _log_of(half))
    copy = Store(half)
    try:
        checked = check_store(copy)
        with copy.still():
            pass
    except (StoreFault, InputError) as error:
        raise StoreFault(f"{source} is no sound store: {error.what}".replace(str(half), str(source))) from None
    if not checked.sound:
        raise StoreFault(f"{source} is at fault; the store is as it was", problems=checked.problems)
    on_disk(half)
    return checked


def _swap(store: Store, half: Path) -> Path | None:
    """Put the copy in the store's place in one step, holding the store in the meantime if it can be opened at all."""
    if not store.path.exists():
        half.replace(store.path)
        on_disk(store.path.parent)
        return None
    kept = _free_name(store.path)
    with ExitStack() as held:
        try:
            held.enter_context(store.still())
        except (StoreFault, InputError):  # an unreadable store may be the reason for restoring
            if _log_of(store.path).exists():
                _log_of(store.path).rename(_log_of(kept))
        os.link(store.path, kept)
        half.replace(store.path)
        on_disk(store.path.parent)
    return kept


def _free_name(path: Path) -> Path:
    moment = datetime.datetime.now().strftime("%Y%m%d-%H%M%S")
    names = (path.with_name(f"{path.name}.before-{moment}{'' if not again else f'-{again}'}") for again in range(1000))
    return next(name for name in names if not name.exists())


def _log_of(path: Path) -> Path:
    return path.with_name(path.name + LOG_SUFFIX)
