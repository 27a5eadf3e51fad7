"""A published catalog as a reader finds it: the version that counts, whole, each file as it was written.

    DIR/CURRENT              the name of the version that counts: v7
    DIR/v7/manifest.json     its tables with rows, bytes and SHA-256, the settings, who published it and when
    DIR/v7/speaker.parquet   a family as it counts, readings laid over, by part_id; one file for each family
    DIR/v7/vehicle.parquet   and opening_dash.parquet, ..., keep_clear, pane, no_fasten: vehicles as they count
    DIR/v7/supplier_terms.parquet   what the prices of each supplier mean
    DIR/v7/measured_vehicle.parquet   vehicles with their readings, each a document as `vehicle export` writes it

A version is never written to again. Columns are those of the store's tables, `<figure>_tol` beside each figure.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from matcher.errors import FileRefused
from matcher.settings import Settings

EDITION = 2
CURRENT = "CURRENT"
MANIFEST = "manifest.json"
VERSION_NAME = re.compile(r"v([1-9][0-9]{0,8})")
_AGAIN = "publish it again: `boltback catalog publish`"


@dataclass(frozen=True, slots=True)
class TableFile:
    """One table of a snapshot."""

    file: str
    rows: int
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Snapshot:
    """One published version of a catalog and its vehicles."""

    folder: Path
    """Folder of its files."""
    version: int
    made_at: str
    by: str
    catalog_version: int
    """The published version of the catalog."""
    store_format: int
    currency: str
    settings: Settings
    """The publisher's settings: its own values over the defaults."""
    tables: dict[str, TableFile]

    def path(self, table: str) -> Path:
        """Return the Parquet file of a family, or of a table of vehicles."""
        return self.folder / self.tables[table].file

    def check(self, tables: Sequence[str] | None = None) -> None:
        """Check tables, or all, against the manifest.

        Raises
        ------
        FileRefused
            if a file is missing, cut short or altered.
        """
        for name in self.tables if tables is None else tables:
            self._check(self.path(name), self.tables[name])

    def _check(self, path: Path, kept: TableFile) -> None:
        try:
            with path.open("rb") as stream:
                found = hashlib.file_digest(stream, "sha256").hexdigest()
        except OSError as error:
            raise FileRefused(f"{path} cannot be read: {error.strerror}", fix=_AGAIN) from None
        if found != kept.sha256:
            raise FileRefused(
                f"{path} is not the file that was published", fix=f"wait until all of it was copied, or {_AGAIN}"
            )


def current_snapshot(folder: Path) -> Snapshot:
    """Return the current version in a folder of published catalogs.

    Raises
    ------
    FileRefused
        if nothing was published there, or it cannot be read.
    """
    try:
        name = (folder / CURRENT).read_text(encoding="ascii").strip()
    except OSError:
        raise FileRefused(
            f"there is no published catalog in {folder}", fix="`boltback catalog publish DIR` makes one"
        ) from None
    except UnicodeDecodeError:
        name = ""
    if VERSION_NAME.fullmatch(name) is None:  # must not be a path
        raise FileRefused(f"{folder / CURRENT} names no version", fix=_AGAIN)
    return read_snapshot(folder / name)


def read_snapshot(folder: Path) -> Snapshot:
    """Return one version, by its own folder.

    Raises
    ------
    FileRefused
        if its manifest cannot be read, or has another edition.
    """
    path = folder / MANIFEST
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        if found["edition"] != EDITION:
            raise FileRefused(
                f"{path} is of edition {found['edition']}, this program reads edition {EDITION}",
                fix="publish and attach with the same program",
            )
        return _snapshot(folder, found)
    except OSError as error:
        raise FileRefused(f"{path} cannot be read: {error.strerror}", fix=_AGAIN) from None
    except (ValueError, KeyError, TypeError, AttributeError, ArithmeticError):
        raise FileRefused(f"{path} is no manifest of a catalog", fix=_AGAIN) from None


def _snapshot(folder: Path, found: dict[str, Any]) -> Snapshot:
    tables = {str(name): TableFile(**kept) for name, kept in found["tables"].items()}
    strange = [kept.file for kept in tables.values() if not re.fullmatch(r"\w+\.parquet", kept.file)]
    if strange:
        raise ValueError(strange)
    return Snapshot(
        folder=folder,
        version=int(found["version"]),
        made_at=str(found["made_at"]),
        by=str(found["by"]),
        catalog_version=int(found["catalog_version"]),
        store_format=int(found["store_format"]),
        currency=str(found["currency"]),
        settings=Settings(
            {str(name): Decimal(value) for name, value in found["settings"]["numbers"].items()},
            {str(name): str(word) for name, word in found["settings"]["words"].items()},
        ),
        tables=tables,
    )
