"""Measured vehicles that another shop published: those not here yet are taken over, until they are checked here."""

from __future__ import annotations

from pathlib import Path

from matcher.store.database.connection import Connection, quoted
from matcher.store.documents.vehicle_export import keep_vehicle, read_vehicle
from matcher.store.sharing.publish import MEASURED
from matcher.store.sharing.snapshots import current_snapshot


def attach_vehicles(con: Connection, folder: Path, by: str | None) -> dict[str, int]:
    """Take over the vehicles of the version that is published now; how many lengths of each are to be checked.

    Raises
    ------
    FileRefused
        if nothing whole was published there.
    """
    snapshot = current_snapshot(folder)
    snapshot.check([MEASURED])
    path = snapshot.path(MEASURED)
    rows = con.execute(
        f"select document from read_parquet({quoted(path)}) "
        "where vehicle_id not in (select vehicle_id from vehicle) order by vehicle_id"
    ).fetchall()
    found = (read_vehicle(text, str(path)) for (text,) in rows)
    return dict(keep_vehicle(con, one, None, str(path.parent), by) for one in found)
