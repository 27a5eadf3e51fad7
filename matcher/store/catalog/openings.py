"""A vehicle's openings, with few imports."""

from __future__ import annotations

from catalog_schema.places import KINDS
from catalog_schema.printable import is_printable
from matcher.errors import NotKnown
from matcher.store.database.connection import Connection


def opening_kinds(con: Connection, vehicle_id: str) -> dict[str, str]:
    """Return the kind of each of a vehicle's openings.

    Raises
    ------
    NotKnown
        if the store holds no such vehicle.
    """
    kinds = " union all ".join(
        f"select opening_id, '{kind}' from opening_{kind} where vehicle_id = $1" for kind in KINDS
    )
    found = con.execute(kinds, [vehicle_id]).fetchall() if is_printable(vehicle_id) else []
    if not found:
        vehicles = [name for (name,) in con.execute("select vehicle_id from vehicle order by 1").fetchall()]
        if vehicle_id not in vehicles:
            raise NotKnown("vehicle", vehicle_id, vehicles, fix="`boltback vehicle load FILE` takes one in")
    return {str(name): str(kind) for name, kind in found}
