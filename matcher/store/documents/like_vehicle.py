"""A copy of a measured car: its document and readings, each length marked as taken over."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from catalog_schema.figures import read_figure
from catalog_schema.notation import KEPT
from matcher.errors import InputError
from matcher.store.catalog.overlay import lay_over_openings
from matcher.store.database.connection import Connection
from matcher.store.database.kept_documents import kept_document
from matcher.store.documents.saving import change_document
from matcher.store.readings.readings import Reading, list_readings, write_reading
from matcher.store.readings.subjects import find_subject

TAKEN_OVER = "taken_over"
TAKEN_FROM = "taken over from"
"""Beginning of the note of a copied reading."""


@dataclass(frozen=True, slots=True)
class MeasuredVehicle:
    """A vehicle as measured, here or by another shop."""

    document: Mapping[str, Any]
    readings: Sequence[Reading]
    """Current readings of the vehicle and its openings."""
    shop: str = ""
    """Name of the shop that measured it; empty: this shop."""

    @property
    def name(self) -> str:
        """Its own name, and its shop's."""
        name = str(self.document["vehicle_id"]).strip()
        return f"{name} of {self.shop}" if self.shop else name


def measured_vehicle(con: Connection, vehicle_id: str, shop: str = "") -> MeasuredVehicle:
    """Return a vehicle of this store with its current readings.

    Raises
    ------
    NotKnown
        if there is no such vehicle.
    """
    document = kept_document(con, "vehicle", vehicle_id).document
    own = f"opening:{vehicle_id}/"
    read = [one for one in list_readings(con) if one.subject == f"vehicle:{vehicle_id}" or one.subject.startswith(own)]
    return MeasuredVehicle(document, [one for one in read if one.counts], shop)


def take_over(
    con: Connection,
    measured: MeasuredVehicle,
    vehicle_id: str,
    changes: Mapping[str, Any],
    added: Sequence[Mapping[str, Any]],
    by: str | None = None,
) -> int:
    """Make a vehicle with another one's openings, figures and readings; return the number of lengths to check.

    Lengths have the basis `taken_over` and its tolerance until they are measured on this car. Everything else is equal
    for
    all cars of a model. Readings keep their author and time.

    Parameters
    ----------
    changes
        Fields of the new vehicle that differ: ``label``, ``year``.
    added
        Additional openings.

    Raises
    ------
    InputError
        if the name is taken, or a reading cannot be read.
    """
    if con.execute("select 1 from vehicle where vehicle_id = $1", [vehicle_id]).fetchone():
        raise InputError(f"there is a vehicle {vehicle_id} already", fix="give the new one another name")
    made = taken_over(measured.document)
    lengths = sum(1 for _ in _lengths(made["openings"]))
    own = {"vehicle_id": vehicle_id, "like": measured.name, "openings": [*made["openings"], *added]}
    change_document(con, "vehicle", made | own | dict(changes), None, by, sure=True)
    _write_readings(con, measured, measured.readings, vehicle_id)
    lay_over_openings(con, vehicle_id)
    return lengths


def take_newer(con: Connection, measured: MeasuredVehicle, by: str | None = None) -> int:
    """Take over openings and readings that were added since to a vehicle that was taken over; how many lengths of it.

    A figure that was read here stays as it is; a vehicle that was not taken over from there does, too.
    """
    name = str(measured.document["vehicle_id"]).strip()
    kept = kept_document(con, "vehicle", name)
    if kept.document.get("like") != measured.name:
        return 0
    theirs = taken_over(measured.document)["openings"]
    here = [one["opening_id"] for one in kept.document["openings"]]
    new = [one for one in theirs if one["opening_id"] not in here]
    if new:
        openings = [*kept.document["openings"], *new]
        change_document(con, "vehicle", {**kept.document, "openings": openings}, kept.mark, by, sure=True)
    known = list_readings(con)
    taken = {(one.subject, one.field, one.read_at) for one in known}
    own = {(one.subject, one.field) for one in known if one.counts and not (one.note or "").startswith(TAKEN_FROM)}
    newer = [
        one
        for one in measured.readings
        if (one.subject, one.field, one.read_at) not in taken and (one.subject, one.field) not in own
    ]
    _write_readings(con, measured, newer, name)
    lay_over_openings(con, name)
    return sum(1 for _ in _lengths(new)) + sum(one.field.endswith("_mm") for one in newer)


def _write_readings(con: Connection, measured: MeasuredVehicle, readings: Sequence[Reading], vehicle_id: str) -> None:
    source = str(measured.document["vehicle_id"]).strip()
    for one in readings:
        is_length = one.field.endswith("_mm")
        write_reading(
            con,
            find_subject(con, one.subject.replace(f":{source}", f":{vehicle_id}", 1)),
            one.field,
            one.value,
            tol=None if is_length else one.tol,
            basis=TAKEN_OVER if is_length else one.basis,
            by=one.by,
            at=one.read_at,
            note="; ".join(filter(None, (f"{TAKEN_FROM} {measured.name}", one.note))),
            notation=KEPT,
            sure=True,
        )


def taken_over(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a vehicle's document with lengths of the basis `taken_over`, without tolerances of their own.

    >>> door = {"opening_id": "door", "kind": "speaker", "depth_mm": "61 ± 0.5", "basis": "caliper"}
    >>> taken_over({"vehicle_id": "a", "openings": [door]})["openings"]
    [{'opening_id': 'door', 'kind': 'speaker', 'depth_mm': 61, 'basis': 'taken_over'}]
    """
    made: dict[str, Any] = copy.deepcopy(dict(document))
    made["openings"] = [_bare(opening) | {"basis": TAKEN_OVER} for opening in made.get("openings") or ()]
    return made


def _bare(thing: Any, name: str = "") -> Any:
    if name.endswith("_mm"):
        figure = read_figure(thing, "mm")
        return None if figure is None else _plain(figure.value)
    if isinstance(thing, Mapping):
        return {key: _bare(cell, key) for key, cell in thing.items()}
    return [_bare(one) for one in thing] if isinstance(thing, list) else thing


def _plain(value: Any) -> Any:
    return int(value) if value == int(value) else value


def _lengths(thing: Any) -> Iterator[str]:
    if isinstance(thing, Mapping):
        for key, cell in thing.items():
            if key.endswith("_mm") and cell is not None:
                yield key
            yield from _lengths(cell)
    elif isinstance(thing, list):
        for one in thing:
            yield from _lengths(one)
