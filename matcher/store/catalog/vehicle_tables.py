"""Tables of vehicles' figures, filled from their documents."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from catalog_schema.columns import TableColumn, columns_of
from catalog_schema.documents import build, parse_json
from catalog_schema.figures import Figure
from catalog_schema.vehicles import OPENINGS, Electrical, KeepClear, Opening, Pane, Runs, Vehicle, nested_of
from matcher.settings import Tolerances
from matcher.store.catalog.overlay import shop_tolerances
from matcher.store.database.connection import Connection

VEHICLE_TABLES = ("vehicle", *(f"opening_{kind}" for kind in OPENINGS), "keep_clear", "pane", "no_fasten")
"""Tables with a vehicle's figures."""


def clear_vehicle(con: Connection, vehicle_id: str) -> None:
    """Delete a vehicle from its tables."""
    for table in VEHICLE_TABLES:
        con.execute(f"delete from {table} where vehicle_id = ?", [vehicle_id])


def lay_out_vehicle(con: Connection, text: str) -> None:
    """Write a stored vehicle into its tables, without its readings.

    Raises
    ------
    DocumentError
        if the text is not a vehicle.
    """
    write_vehicle(con, build(Vehicle, parse_json(text.removeprefix("\ufeff"))), text)


def write_vehicle(con: Connection, vehicle: Vehicle, text: str) -> None:
    """Write a vehicle into its tables, in place of one with the same name."""
    clear_vehicle(con, vehicle.vehicle_id)
    head = {
        "vehicle_id": vehicle.vehicle_id,
        "label": vehicle.label,
        "year": vehicle.year,
        "body": vehicle.body,
        "keys_on_wheel": vehicle.keys_on_wheel,
    }
    electric = _cells(columns_of(Electrical), vehicle.electrical)
    runs = _cells(columns_of(Runs), vehicle.runs)
    _insert(con, "vehicle", head | {"document": text} | electric | runs)
    for opening in vehicle.openings:
        _save_opening(con, vehicle.vehicle_id, opening)
    for position, pane in enumerate(vehicle.panes):
        own = {"vehicle_id": vehicle.vehicle_id, "position": position}
        _insert(con, "pane", own | _cells(columns_of(Pane), pane))
    for zone in vehicle.no_fasten:
        _insert(con, "no_fasten", {"vehicle_id": vehicle.vehicle_id, "zone": zone.where, "why": zone.why})


def _save_opening(con: Connection, vehicle_id: str, opening: Opening) -> None:
    own = {"vehicle_id": vehicle_id}
    tolerances = shop_tolerances(con)
    row = own | _cells(columns_of(type(opening)), opening, tolerances)
    for field, model in nested_of(opening.kind).items():
        cells = _cells(columns_of(model), getattr(opening, field) or model(), tolerances)
        row |= {f"{field}_{name}": cell for name, cell in cells.items()}
    _insert(con, f"opening_{opening.kind}", row)
    place = own | {"opening_id": opening.opening_id, "basis": row["basis"]}
    for position, thing in enumerate(getattr(opening, "keep_clear", ())):
        _insert(con, "keep_clear", place | {"position": position} | _cells(columns_of(KeepClear), thing, tolerances))


def _cells(columns: Iterable[TableColumn], thing: Any, tolerances: Tolerances | None = None) -> dict[str, Any]:
    """Return a thing's fields as cells of its table, each figure with its tolerance.

    ``tolerances`` has each basis' tolerance in mm, for things with lengths.
    """
    cells: dict[str, Any] = {}
    for column in columns:
        value = getattr(thing, column.name)
        if isinstance(value, Figure):
            cells[column.name] = value.value
            cells[column.tol_name] = _tol(column, value, tolerances)
        else:
            cells[column.name] = list(value) if isinstance(value, tuple) else value
    return cells


def _tol(column: TableColumn, figure: Figure, tolerances: Tolerances | None) -> Decimal | None:
    """Return a figure's own tolerance, or that of its basis; None if the row's basis sets it."""
    if tolerances is None or figure.tol is not None or figure.basis is None or not column.is_length:
        return figure.tol
    return tolerances.of(figure.basis, figure.value)


def _insert(con: Connection, table: str, row: Mapping[str, Any]) -> None:
    filled = {name: cell for name, cell in row.items() if cell is not None}
    names = ", ".join(f'"{name}"' for name in filled)
    con.execute(f"insert into {table} ({names}) values ({', '.join('?' * len(filled))})", list(filled.values()))
