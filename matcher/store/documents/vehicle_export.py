"""Export a measured vehicle as one document, and import it in another store, until it is checked there."""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from catalog_schema.documents import DocumentError, parse_json
from matcher.errors import FileRefused, Problem
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import record
from matcher.store.database.shop_settings import shop_settings
from matcher.store.documents.job_export import plain_reading
from matcher.store.documents.job_import import SHAPES, loose
from matcher.store.documents.like_vehicle import MeasuredVehicle, measured_vehicle, take_over
from matcher.store.lists.files import read_document
from matcher.store.readings.readings import Reading

KIND = "boltback vehicle"
EDITION = 1
SECTIONS = ("vehicle", "readings")


def vehicle_document(con: Connection, vehicle_id: str) -> dict[str, Any]:
    """Return a vehicle with its current readings, their authors and times, and the shop's name, as plain data.

    Raises
    ------
    NotKnown
        if the store holds no such vehicle.
    """
    measured = measured_vehicle(con, vehicle_id)
    return {
        "kind": KIND,
        "edition": EDITION,
        "shop": shop_settings(con).word("shop_name"),
        "vehicle": loose(measured.document),
        "readings": [plain_reading(one) for one in measured.readings],
    }


def read_vehicle(text: str, file: str) -> MeasuredVehicle:
    """Read a measured vehicle from the text of its document.

    Raises
    ------
    FileRefused
        if it is not one, or another program wrote it.
    """
    refused = FileRefused(f"{file} is no measured vehicle", fix="boltback vehicle export VEHICLE --out FILE writes one")
    try:
        data = parse_json(text)
        if not isinstance(data, dict) or (data.get("kind"), data.get("edition")) != (KIND, EDITION):
            raise refused
        faults = [name for name in SECTIONS if not _is_one(name, data.get(name))]
        if faults:
            problems = [Problem(SHAPES[name][2], file=file, column=name) for name in faults]
            raise FileRefused(refused.what, fix=refused.fix, problems=problems)
        readings = [_reading(number, one) for number, one in enumerate(data["readings"], 1)]
    except (DocumentError, ValueError, ArithmeticError):
        raise refused from None
    return MeasuredVehicle(loose(data["vehicle"]), readings, str(data.get("shop") or "another shop"))


def _is_one(name: str, section: Any) -> bool:
    kind, is_one, _ = SHAPES[name]
    return isinstance(section, kind) and is_one(section)


def _reading(number: int, one: dict[str, Any]) -> Reading:
    tol = None if one["tol"] is None else Decimal(str(one["tol"]))
    at, note = datetime.datetime.fromisoformat(one["at"]), one["note"]
    return Reading(number, one["subject"], one["field"], one["value"], tol, one["basis"], one["by"], at, note, True)


def import_vehicle(con: Connection, path: Path, name: str | None = None, *, by: str | None = None) -> tuple[str, int]:
    """Import a vehicle that another shop measured; return its name here, and the number of lengths to check.

    Parameters
    ----------
    name
        Its name here; by default unchanged.

    Raises
    ------
    FileRefused
        if the file is not a measured vehicle.
    InputError
        if the name is taken: nothing is imported.
    """
    return keep_vehicle(con, read_vehicle(read_document(path, "vehicle"), str(path)), name, str(path), by)


def keep_vehicle(
    con: Connection, measured: MeasuredVehicle, name: str | None, source: str, by: str | None
) -> tuple[str, int]:
    """Import a measured vehicle, with an entry in the log that names its source."""
    vehicle_id = name or str(measured.document["vehicle_id"]).strip()
    lengths = take_over(con, measured, vehicle_id, {}, [], by)
    record(con, "vehicle import", f"vehicle:{vehicle_id}", f"{measured.name}, {source}", by=by)
    return vehicle_id, lengths
