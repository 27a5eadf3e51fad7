"""Files that are whole or absent: written beside their place, on the disk, then renamed."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from matcher.errors import InputError


def put_in_place(target: Path, write: Callable[[Path], None]) -> None:
    """Have a file written beside its place, and renamed to it once all of it is on the disk.

    Raises
    ------
    InputError
        where the disk or the folder refuses; what stood there still stands.
    """
    half = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        write(half)
        on_disk(half)
        half.replace(target)
        on_disk(target.parent)
    except OSError as error:
        raise not_written(target, error) from None
    finally:
        half.unlink(missing_ok=True)


def on_disk(path: Path) -> None:
    """Wait until a file, or the names in a folder, are on the disk."""
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def not_written(target: Path, error: OSError) -> InputError:
    """What to say where the system refuses a file."""
    said = (error.strerror or str(error)).lower()
    return InputError(f"{target} cannot be written: {said}", cure="make room for it, or name another place")
