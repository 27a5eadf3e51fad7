"""Uploaded lists, kept until they are loaded under their original names."""

from __future__ import annotations

import os
import re
import secrets
import shutil
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from starlette.datastructures import UploadFile

from matcher.errors import InputError, NotKnown

ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xls", ".ods", ".json", ".jsonl", ".parquet")
MOST_KEPT = 12
"""Number of waiting lists; the oldest is removed first."""


class Uploads:
    """Uploaded lists before loading."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="lists-"))
        self._loading = threading.Lock()

    def take(self, upload: UploadFile) -> str:
        """Save an uploaded list, and return an id that nobody can guess.

        Raises
        ------
        InputError
            if it is empty, or its format is not supported.
        """
        name = safe_name(upload.filename or "")
        if not name.lower().endswith(ENDINGS):
            raise InputError(f"{name} is no list that can be read", fix=f"send one of {', '.join(ENDINGS)}")
        key = secrets.token_hex(16)
        place = self.folder / key
        place.mkdir()
        with (place / name).open("wb") as stream:
            shutil.copyfileobj(upload.file, stream)
        if not (place / name).stat().st_size:
            shutil.rmtree(place)
            raise InputError(f"{name} is empty", fix="send the list again")
        self._forget()
        return key

    def path(self, key: str) -> Path:
        """Return the path of a list.

        Raises
        ------
        NotKnown
            if it was loaded already, or expired.
        """
        place = self.folder / key if re.fullmatch(r"[0-9a-f]{32}", key) else None
        if place is None or not place.is_dir():
            raise NotKnown("list that waits", key[:40], [], fix="send it again")
        return next(place.iterdir())

    @contextmanager
    def named(self, key: str) -> Iterator[Path]:
        """Context with a list under its original name, one at a time, as the history and problem rows show it."""
        path = self.path(key)
        with self._loading:
            before = Path.cwd()
            os.chdir(path.parent)
            try:
                yield Path(path.name)
            finally:
                os.chdir(before)

    def drop(self, key: str) -> None:
        """Remove a list."""
        shutil.rmtree(self.path(key).parent, ignore_errors=True)

    def _forget(self) -> None:
        waiting = sorted(self.folder.iterdir(), key=lambda place: place.stat().st_mtime)
        for place in waiting[:-MOST_KEPT]:
            shutil.rmtree(place, ignore_errors=True)


def safe_name(name: str) -> str:
    """Return a file's own name, without any path.

    >>> safe_name("../../etc/passwd.csv"), safe_name("C:\\\\lists\\\\Größen 1.xlsx"), safe_name("..")
    ('passwd.csv', 'Größen 1.xlsx', 'list')
    """
    bare = re.split(r"[/\\]", name)[-1]
    kept = re.sub(r"[^\w .()+-]", "_", bare).strip(" .")
    return kept[-100:] or "list"
