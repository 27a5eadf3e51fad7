"""A catalog with assumptions: some columns are changed, everything else is shared."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from decimal import Decimal
from typing import Any

import numpy as np

from catalog_schema.places import KINDS
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts
from matcher.search.catalog.vehicle import OWN, WHOLE, Row
from matcher.store.catalog.listed import KEEP_CLEAR, PANES
from matcher.store.readings.subjects import split_figure

Value = Decimal | int | str | bool


def only_part(catalog: Catalog, family: str, part_id: str, spared: Collection[str] = ()) -> Catalog:
    """Return the catalog with only one part in its family; at some openings, nothing changes."""
    every = catalog.parts(family)
    one = every.take(np.flatnonzero(every.part_ids == part_id))
    return catalog.changed([family], parts={family: one}, spared=spared)


def without_things(catalog: Catalog, vehicle_id: str, opening_id: str, names: Collection[str]) -> Catalog:
    """Return the catalog without some things that would have to stay reachable at a dash opening."""
    catalog.vehicle(vehicle_id).thing_rows(opening_id)
    kept = dict(catalog.kept.vehicles[vehicle_id])
    table = KEEP_CLEAR.table
    kept[table] = [row for row in kept[table] if row["opening_id"] != opening_id or row["name"] not in names]
    return catalog.changed([opening_id, WHOLE], vehicles={vehicle_id: kept})


def supposing(
    catalog: Catalog, figures: Mapping[str, Value], family_of: Callable[[str], str], spared: Collection[str] = ()
) -> Catalog:
    """Return the catalog with some figures, as ``subject.field``, assumed exactly.

    Parameters
    ----------
    family_of
        Returns the family of a part.
    spared
        Openings that the assumptions do not affect.
    """
    parts: dict[str, Parts] = {}
    vehicles: dict[str, dict[str, Any]] = {}
    gone: set[str] = set()
    for name, value in figures.items():
        subject, field = split_figure(name)
        kind, _, where = subject.partition(":")
        if kind == "part":
            family = family_of(where)
            some = parts.get(family) or catalog.parts(family)
            row = some.row(where)
            parts[family] = some if row is None else some.supposing(row, field, value)
            gone.add(family)
        else:
            vehicle_id, _, opening_id = where.partition("/")
            kept = vehicles.setdefault(vehicle_id, _all_read(catalog, vehicle_id))
            _suppose(kept, opening_id, field, value)
            gone |= {opening_id, WHOLE} if opening_id else {OWN}
    return catalog.changed(gone, parts=parts, vehicles=vehicles, spared=spared)


def _all_read(catalog: Catalog, vehicle_id: str) -> dict[str, Any]:
    """All rows of a vehicle, without computed results."""
    vehicle = catalog.vehicle(vehicle_id)
    for kind in KINDS:
        vehicle.openings(kind)
    tables = {"vehicle": [vehicle.row], PANES.table: vehicle.panes, KEEP_CLEAR.table: vehicle.every_thing}
    kept = catalog.kept.vehicles[vehicle_id]
    return tables | {name: rows for name, rows in kept.items() if name.startswith(("opening_", "no_fasten"))}


def _suppose(kept: dict[str, Any], opening_id: str, field: str, value: Value) -> None:
    """Change a cell of a vehicle, of one of its openings, or of its named lists."""
    meant = {"opening_id": opening_id} if opening_id else {}
    listed, _, rest = field.partition(".")
    if rest:
        thing, _, field = rest.rpartition(".")
        one = KEEP_CLEAR if listed == KEEP_CLEAR.stem else PANES
        kept[one.table] = _with_figure(kept[one.table], {**meant, one.key: thing}, field, value)
        return
    for table in [f"opening_{kind}" for kind in KINDS] if opening_id else ["vehicle"]:
        kept[table] = _with_figure(kept[table], meant, field, value)


def _with_figure(rows: Iterable[Row], meant: Mapping[str, str], field: str, value: Value) -> list[Row]:
    """Rows with one field changed, without tolerance, in the rows that match."""
    assumed = {field: value, f"{field}_tol": Decimal(0)}
    return [
        {**row, **{name: assumed[name] for name in assumed.keys() & row.keys()}}
        if all(row[name] == cell for name, cell in meant.items())
        else row
        for row in rows
    ]
