"""A store's file copied as of one moment, and a copy taken back in its place."""

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
    """A store that was taken back."""

    checked: CheckedStore
    kept: Path | None
    """Where the file that stood there before is kept; None if none stood there."""


def back_up(store: Store, target: Path, *, force: bool = False) -> Path:
    """Copy the store into a file, as of one moment; the copy is whole or absent.

    Parameters
    ----------
    force
        Put it in place of a file that is there.

    Raises
    ------
    InputError
        if the file is there already, is the store itself, or cannot be written.
    """
    check_target(target, force=force, reads=[store.path], over_stores=True)
    with store.still():
        put_in_place(target, lambda half: _copy_asked(store, half))
    return target


def lend(store: Store, target: Path) -> None:
    """Copy the store, as of one moment, to be asked and thrown away: nothing is put on the disk for good.

    Raises
    ------
    InputError
        if the copy cannot be written.
    """
    for left in (target, _log_of(target)):
        left.unlink(missing_ok=True)
    try:
        with store.still():
            _copy_asked(store, target)
    except OSError as error:
        raise not_written(target, error) from None


def _copy_asked(store: Store, target: Path) -> None:
    """Copy the file that answers questions; nobody else can take the lock of one that can only be read."""
    (copy_held if store.file == store.path else shutil.copyfile)(store.file, target)


def restore(store: Store, source: Path, *, by: str | None = None) -> Restored:
    """Put a copy in the place of the store, once it was found sound; what stood there is kept beside it.

    Raises
    ------
    InputError
        if the file cannot be taken, or no copy can be written beside the store.
    StoreBusy
        if another process holds the store.
    StoreFault
        if the copy is at fault, with every fault; the store is as it was.
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
    """A copy of a store beside its place to be, checked, and all of it in one file."""
    shutil.copyfile(source, half)
    if _log_of(source).is_file():  # copied from under a program that had not ended
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
    """The copy in the store's place in one step; the store is held in the meantime, if it can be opened at all."""
    if not store.path.exists():
        half.replace(store.path)
        on_disk(store.path.parent)
        return None
    kept = _free_name(store.path)
    with ExitStack() as held:
        try:
            held.enter_context(store.still())
        except (StoreFault, InputError):  # that it cannot be opened may be why it is replaced
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
