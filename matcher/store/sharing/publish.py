"""Publish a catalog into a folder, one version at a time, complete before it becomes current.

`matcher.store.sharing.snapshots` describes the layout. A version is written into a folder with a temporary name,
flushed
to disk and renamed; the pointer ``CURRENT`` is swapped last. A killed process leaves the previous version current, and
a
folder that the next publication removes.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import tempfile
from dataclasses import asdict
from pathlib import Path
from typing import Any

from catalog_schema.parts import FAMILIES
from catalog_schema.vehicles import OPENINGS
from matcher.errors import InputError
from matcher.store.database.archived import ARCHIVED
from matcher.store.database.connection import Connection
from matcher.store.database.durable import alone, not_written, on_disk, put_in_place, write_parquet
from matcher.store.database.format import FORMAT
from matcher.store.database.opening import Store
from matcher.store.database.provenance import now, who
from matcher.store.database.stamps import catalog_version
from matcher.store.database.tables import part_columns
from matcher.store.documents.vehicle_export import vehicle_document
from matcher.store.sharing.snapshots import CURRENT, EDITION, MANIFEST, VERSION_NAME, Snapshot, TableFile, read_snapshot

LOCK = ".publishing"
HALF = ".half-"
MEASURED = "measured_vehicle"
"""The table of vehicles with their readings, each a document as `vehicle export` writes it."""
VEHICLES_IN_USE = f"'vehicle:' || vehicle_id not in {ARCHIVED}"
"""SQL of the vehicles that are published."""
KEPT = 10
"""Number of versions that stay: a slow reader still finds its version."""


def published_tables() -> dict[str, str]:
    """Return every table of a snapshot, with its SQL; archived vehicles and openings are left out."""
    openings = {
        name: f"select * from {name} where {VEHICLES_IN_USE} "
        f"and 'opening:' || vehicle_id || '/' || opening_id not in {ARCHIVED} order by all"
        for name in (f"opening_{kind}" for kind in OPENINGS)
    }
    vehicles = {"vehicle": f"select * from vehicle where {VEHICLES_IN_USE} order by all"} | openings
    others = {
        name: f"select * from {name} order by all" for name in ("keep_clear", "pane", "no_fasten", "supplier_terms")
    }
    return {family: _family_sql(family) for family in FAMILIES} | vehicles | others


def _family_sql(family: str) -> str:
    names = ", ".join(f'f."{name}"' for name, _ in part_columns(family))
    return (
        f"select {names}, r.cell_basis, r.supplier from {family} f "
        f"join {family}_rows r on r.part_id = f.part_id and r.until is null order by f.part_id"
    )


def publish(store: Store, folder: Path, *, by: str | None = None, kept: int = KEPT) -> Snapshot:
    """Publish the catalog and the vehicles as the next version in a folder, created if needed.

    Parameters
    ----------
    kept
        Number of versions that stay there, including this one; at least two.

    Raises
    ------
    InputError
        if the folder cannot be written, or another process publishes into it.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        busy = InputError(f"another process publishes into {folder}", fix="try again in a minute")
        with alone(folder / LOCK, busy), store.reading() as con:
            for half in folder.glob(f"{HALF}*"):  # left by a killed process
                shutil.rmtree(half, ignore_errors=True)
            made = _publish(con, folder, by)
            _clear_away(folder, max(kept, 2))
    except OSError as error:
        raise not_written(folder, error) from None
    return made


def _publish(con: Connection, folder: Path, by: str | None) -> Snapshot:
    half = Path(tempfile.mkdtemp(prefix=HALF, dir=folder))
    try:
        half.chmod(0o755)  # others have to read it
        number = max(_versions(folder), default=0) + 1
        manifest = _write_tables(con, half) | {"edition": EDITION, "version": number, "by": who(by)}
        (half / MANIFEST).write_text(json.dumps(manifest, ensure_ascii=False, indent=1), encoding="utf-8")
        for path in (*half.iterdir(), half):
            on_disk(path)
        whole = folder / f"v{number}"
        half.rename(whole)
    except BaseException:
        shutil.rmtree(half, ignore_errors=True)
        raise
    on_disk(folder)
    put_in_place(folder / CURRENT, lambda path: path.write_text(f"v{number}\n", encoding="ascii"))
    return read_snapshot(whole)


def _write_tables(con: Connection, half: Path) -> dict[str, Any]:
    con.execute("begin transaction")  # a consistent state of all tables
    try:
        _lay_measured(con)
        wanted = published_tables() | {MEASURED: f"from {MEASURED}"}
        tables = {name: asdict(_write_table(con, half, name, sql)) for name, sql in wanted.items()}
        numbers = con.execute("select name, value::varchar from setting order by 1").fetchall()
        words = con.execute("from word_setting order by 1").fetchall()
        ((currency,),) = con.execute("select currency from meta").fetchall()
        return {
            "made_at": now(con),
            "catalog_version": catalog_version(con),
            "store_format": FORMAT,
            "currency": currency,
            "settings": {"numbers": dict(numbers), "words": dict(words)},
            "tables": tables,
        }
    finally:
        con.execute("rollback")


def _lay_measured(con: Connection) -> None:
    """Create a temporary table with every vehicle and its readings."""
    con.execute(f"create temp table {MEASURED} (vehicle_id varchar, document varchar)")
    for (name,) in con.execute(f"select vehicle_id from vehicle where {VEHICLES_IN_USE} order by all").fetchall():
        document = json.dumps(vehicle_document(con, name), ensure_ascii=False)
        con.execute(f"insert into {MEASURED} values ($1, $2)", [name, document])


def _write_table(con: Connection, half: Path, name: str, sql: str) -> TableFile:
    path = half / f"{name}.parquet"
    rows = write_parquet(con, sql, path)
    with path.open("rb") as stream:
        found = hashlib.file_digest(stream, "sha256").hexdigest()
    return TableFile(path.name, rows, path.stat().st_size, found)


def _versions(folder: Path) -> list[int]:
    return [int(match[1]) for path in folder.iterdir() if (match := VERSION_NAME.fullmatch(path.name))]


def _clear_away(folder: Path, kept: int) -> None:
    for number in sorted(_versions(folder))[:-kept]:
        gone = folder / f"{HALF}v{number}"  # hide it in one step, then delete it
        (folder / f"v{number}").rename(gone)
        shutil.rmtree(gone, ignore_errors=True)
