"""A temporary copy of a store on read-only media."""

from __future__ import annotations

import fcntl
import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from matcher.errors import StoreBusy

LOG_SUFFIX = ".wal"
"""Suffix of the database's write-ahead log."""


@dataclass(frozen=True, slots=True)
class ReadingCopy:
    """A copy that lasts as long as the process that reads it.

    Questions write assumed figures and temporary relations, which the database refuses in a file opened for reading
    only.
    """

    file: Path
    _folder: tempfile.TemporaryDirectory[str]

    @classmethod
    def of(cls, path: Path) -> ReadingCopy | None:
        """Copy a store that can be read but not written; return None for any other.

        Raises
        ------
        StoreBusy
            if a process is changing the store.
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
