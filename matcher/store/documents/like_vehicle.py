"""A car like one measured before: its document and its readings, each length marked as taken over."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from catalog_schema.figures import read_figure
from matcher.errors import InputError
from matcher.store.catalog.overlay import LATEST, lay_over_openings
from matcher.store.database.connection import Connection
from matcher.store.database.kept_documents import kept_document
from matcher.store.documents.saving import change_document
from matcher.store.readings.readings import write_reading
from matcher.store.readings.subjects import find_subject

TAKEN_OVER = "taken_over"


def take_over(
    con: Connection,
    source: str,
    vehicle_id: str,
    changes: Mapping[str, Any],
    added: Sequence[Mapping[str, Any]],
    by: str | None = None,
) -> int:
    """Make a vehicle with the openings, figures and readings of another; how many lengths are still to be checked.

    Lengths have the basis `taken_over` and its tolerance, until one is read on this car. All else is the same for
    every car of a model.

    Parameters
    ----------
    changes
        Fields of the new vehicle that differ: ``label``, ``year``.
    added
        Openings that the other has not.

    Raises
    ------
    NotKnown
        if there is no such vehicle to begin with.
    """
    made = taken_over(kept_document(con, "vehicle", source).document)
    lengths = sum(1 for _ in _lengths(made["openings"]))
    own = {"vehicle_id": vehicle_id, "like": source, "openings": [*made["openings"], *added]}
    change_document(con, "vehicle", made | own | dict(changes), None, by, sure=True)
    for subject, field, value, tol, basis in _readings(con, source):
        here = find_subject(con, subject.replace(f":{source}", f":{vehicle_id}", 1))
        is_length = field.endswith("_mm")
        write_reading(
            con,
            here,
            field,
            value,
            tol=None if is_length else tol,
            basis=TAKEN_OVER if is_length else basis,
            by=by,
            note=f"taken over from {source}",
            sure=True,
        )
    lay_over_openings(con, vehicle_id)
    return lengths


def refuse_taken(con: Connection, vehicle_id: str) -> None:
    """Refuse a name that a vehicle has.

    Raises
    ------
    InputError
        if there is such a vehicle.
    """
    if con.execute("select 1 from vehicle where vehicle_id = $1", [vehicle_id]).fetchone():
        raise InputError(f"there is a vehicle {vehicle_id} already", cure="give the new one another name")


def taken_over(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a vehicle's document whose openings' lengths have no tolerance of their own, and the basis `taken_over`.

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


def _readings(con: Connection, source: str) -> list[tuple[Any, ...]]:
    query = f"select subject, field, value, tol, basis from {LATEST} where subject = $1 or starts_with(subject, $2)"
    return con.execute(f"{query} order by subject, field", [f"vehicle:{source}", f"opening:{source}/"]).fetchall()
