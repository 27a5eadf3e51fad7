"""Openings and parts as models, read from the store with readings applied."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from catalog_schema.columns import TableColumn, columns_of, family_columns
from catalog_schema.figures import Figure
from catalog_schema.parts import FAMILIES, Part
from catalog_schema.vehicles import OPENINGS, KeepClear, Opening, nested_of
from matcher.errors import NotKnown
from matcher.store.catalog.openings import opening_kinds
from matcher.store.catalog.owned import owned_rows
from matcher.store.database.connection import Connection, records


def stored_opening(con: Connection, vehicle_id: str, opening_id: str) -> Opening:
    """Return an opening with its current figures.

    Raises
    ------
    NotKnown
        if the store holds no such vehicle or opening.
    """
    kinds = opening_kinds(con, vehicle_id)
    if opening_id not in kinds:
        raise NotKnown(f"opening of {vehicle_id}", opening_id, list(kinds))
    kind = kinds[opening_id]
    place = "vehicle_id = ? and opening_id = ?"
    (row,) = records(con, f"select * from opening_{kind} where {place}", vehicle_id, opening_id)
    fields = _fields(columns_of(OPENINGS[kind]), row)
    for field, model in nested_of(kind).items():
        inner = {name.removeprefix(f"{field}_"): cell for name, cell in row.items() if name.startswith(f"{field}_")}
        held = _fields(columns_of(model), inner)
        fields[field] = model(**held) if any(cell is not None for cell in held.values()) else None
    if kind == "dash":
        around = records(con, f"select * from keep_clear where {place} order by position", vehicle_id, opening_id)
        fields["keep_clear"] = tuple(KeepClear(**_fields(columns_of(KeepClear), thing)) for thing in around)
    return OPENINGS[kind](**fields)


def stored_part(con: Connection, part_id: str, family: str) -> Part:
    """Return a part of a family with its current figures.

    Raises
    ------
    NotKnown
        if the family has no such part.
    """
    found = records(con, f'select * from "{family}" where part_id = ?', part_id)
    if not found and (own := owned_rows(con, [part_id]).get(part_id)):
        fields: dict[str, Any] = {f"{name}_" if name in RESERVED else name: cell for name, cell in own.items()}
        return FAMILIES[fields.pop("family")](**fields)
    if not found:
        raise NotKnown(family, part_id, [], fix="`boltback catalog show` lists the parts")
    return FAMILIES[family](**_fields(family_columns(family), found[0]))


RESERVED = frozenset({"class", "for"})
"""Columns that are reserved words in Python: their fields end in an underscore."""


def _fields(columns: Iterable[TableColumn], row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        f"{column.name}_" if column.name in RESERVED else column.name: _cell(column, row)
        for column in columns
        if column.name in row
    }


def _cell(column: TableColumn, row: Mapping[str, Any]) -> Any:
    cell = row[column.name]
    if cell is None:
        return None
    if column.is_figure:
        return Figure(cell, row.get(column.tol_name))
    return tuple(cell) if isinstance(cell, list) else cell
