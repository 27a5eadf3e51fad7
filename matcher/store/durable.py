"""Files that are whole or absent: written beside their place, on the disk, then renamed."""

from __future__ import annotations

import os
import subprocess
import sys
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


def copy_held(source: Path, target: Path) -> None:
    """Copy a file that this process holds locked, by another process.

    The system lets go of a process's lock on a file as soon as the process closes the file anywhere: a copy made here
    would leave the store open to everyone.

    Raises
    ------
    OSError
        where the copy cannot be written.
    """
    code = "import shutil, sys; shutil.copyfile(*sys.argv[1:])"
    run = subprocess.run([sys.executable, "-I", "-S", "-c", code, source, target], capture_output=True, text=True)
    if run.returncode:
        said = run.stderr.strip().splitlines()[-1:] or ["the copy was ended"]
        raise OSError(None, said[0].rpartition("] ")[2].partition(":")[0])


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
    return InputError(
        f"{target} cannot be written: {said}", cure="see to its room and its rights, or name another place"
    )
