"""Measured vehicles that another shop published: taken over until they are checked here, later with what is newer."""

from __future__ import annotations

from pathlib import Path

from matcher.store.database.connection import Connection, quoted
from matcher.store.documents.like_vehicle import take_newer
from matcher.store.documents.vehicle_export import keep_vehicle, read_vehicle
from matcher.store.sharing.publish import MEASURED
from matcher.store.sharing.snapshots import current_snapshot


def attach_vehicles(con: Connection, folder: Path, by: str | None) -> dict[str, int]:
    """Take over what is new in the version that is published now; how many lengths of each vehicle are to be checked.

    Raises
    ------
    FileRefused
        if nothing whole was published there.
    """
    snapshot = current_snapshot(folder)
    snapshot.check([MEASURED])
    path = snapshot.path(MEASURED)
    rows = con.execute(
        "select vehicle_id, document, vehicle_id in (select vehicle_id from vehicle) "
        f"from read_parquet({quoted(path)}) order by vehicle_id"
    ).fetchall()
    taken = {}
    for name, text, is_here in rows:
        measured = read_vehicle(text, str(path))
        if not is_here:
            taken[name] = keep_vehicle(con, measured, None, str(path.parent), by)[1]
        elif newer := take_newer(con, measured, by):
            taken[name] = newer
    return taken
