"""Detect a file's format before reading it, and check that it stays unchanged."""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from matcher.errors import FileRefused

LARGEST_BYTES = 20_000_000
FORMATS = {
    ".csv": "csv",
    ".tsv": "csv",
    ".txt": "csv",
    ".xlsx": "xlsx",
    ".xlsm": "xlsx",
    ".xls": "xls",
    ".ods": "xlsx",
    ".json": "json",
    ".jsonl": "jsonl",
    ".ndjson": "jsonl",
    ".parquet": "parquet",
}
MAGIC = {b"PK\x03\x04": "xlsx", b"PAR1": "parquet", b"\xd0\xcf\x11\xe0": "xls"}
SHEETS = ("xlsx", "xls")
"""Formats whose files hold sheets."""


@dataclass(frozen=True, slots=True)
class InspectedFile:
    """A file when it was inspected."""

    path: Path
    format: str
    size: int
    mark: tuple[int, int, int, int]
    warnings: tuple[str, ...] = ()

    def check_same(self) -> None:
        """Refuse a file that has changed since."""
        try:
            now = _mark(self.path.stat())
        except OSError:
            now = (0, 0, 0, 0)
        if now != self.mark:
            raise FileRefused(
                f"{self.path} changed while it was read; nothing of it was taken",
                fix="wait until it is complete, then load it again",
            )


def look_at(path: Path) -> InspectedFile:
    """Inspect a file.

    Raises
    ------
    FileRefused
        if there is no such file, or it is a directory, empty, unreadable, or of no known format.
    """
    try:
        status = path.stat()
    except OSError as error:
        raise FileRefused(f"there is no file {path}: {_reason(error)}", fix="check the name") from None
    if stat.S_ISDIR(status.st_mode):
        raise FileRefused(f"{path} is a directory", fix="name the lists in it, one by one")
    if not stat.S_ISREG(status.st_mode):
        raise FileRefused(f"{path} is no ordinary file", fix="save the list as a file first")
    if status.st_size == 0:
        raise FileRefused(f"{path} is empty", fix="save the list again")
    try:
        with path.open("rb") as stream:
            head = stream.read(4)
    except OSError as error:
        raise FileRefused(f"{path} cannot be read: {_reason(error)}", fix="check its permissions") from None
    return InspectedFile(path, _format(path, head), status.st_size, _mark(status), _warnings(path))


def _format(path: Path, head: bytes) -> str:
    named = FORMATS.get(path.suffix.lower())
    if head in MAGIC:
        return MAGIC[head]
    if named in ("xlsx", "xls", "parquet"):
        raise FileRefused(f"{path} is named {path.suffix} but is none", fix="save it again, or rename it")
    if named is None:
        raise FileRefused(f"{path} is of no format known here", fix=f"use one of {', '.join(sorted(FORMATS))}")
    return named


def _mark(status: os.stat_result) -> tuple[int, int, int, int]:
    return status.st_dev, status.st_ino, status.st_size, status.st_mtime_ns


def _warnings(path: Path) -> tuple[str, ...]:
    return (f"{path} is a link: {path.resolve()} was read",) if path.is_symlink() else ()


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()


def read_document(path: Path, kind: str) -> str:
    """Return the text of a vehicle's or a job's file.

    Raises
    ------
    FileRefused
        if it is not a readable text file.
    """
    if path.is_dir():
        raise FileRefused(f"{path} is a folder", fix=f"name the {kind}'s file")
    if not path.is_file():
        raise FileRefused(f"there is no file {path}", fix=f"name a {kind}'s file (JSON)")
    if path.stat().st_size > LARGEST_BYTES:
        raise FileRefused(f"{path} is too large for a {kind}", fix=f"a {kind} is a JSON file of a few kilobytes")
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileRefused(f"{path} is not text in UTF-8 (byte {error.start})", fix="save it as UTF-8") from None
    if not text.strip():
        raise FileRefused(f"{path} is empty", fix=f"write a {kind} in JSON; the schema is {kind}.schema.json")
    return text
