"""A store on media that cannot be written: copied where it can, and asked there."""

from __future__ import annotations

import fcntl
import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from matcher.errors import StoreBusy

LOG_SUFFIX = ".wal"
"""Suffix of the database's file for changes that are not in the main file yet."""


@dataclass(frozen=True, slots=True)
class ReadingCopy:
    """A copy that lasts as long as the process that asks it.

    Questions suppose figures, and lay relations beside the store: the database does neither on a file opened only to
    be read.
    """

    file: Path
    _folder: tempfile.TemporaryDirectory[str]

    @classmethod
    def of(cls, path: Path) -> ReadingCopy | None:
        """A copy of a store that may be read but not written; None if it may be written, or not even be read.

        Raises
        ------
        StoreBusy
            if a process changes the store at this moment.
        """
        if not _only_read(path):
            return None
        folder = tempfile.TemporaryDirectory(prefix="boltback-read-")
        copy = Path(folder.name) / path.name
        with path.open("rb") as source:
            try:
                fcntl.lockf(source, fcntl.LOCK_SH | fcntl.LOCK_NB)
            except BlockingIOError:
                raise StoreBusy(f"the store {path} is being changed", fix="try again in a moment") from None
            with copy.open("wb") as target:
                shutil.copyfileobj(source, target)
            log = path.with_name(path.name + LOG_SUFFIX)
            if log.is_file():
                shutil.copyfile(log, copy.with_name(copy.name + LOG_SUFFIX))
        return cls(copy, folder)


def _only_read(path: Path) -> bool:
    if not os.access(path, os.R_OK):
        return False
    return not os.access(path, os.W_OK) or not os.access(path.parent, os.W_OK)
