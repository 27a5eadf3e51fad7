"""A customer's own parts: they belong to their job only, and are in no list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from catalog_schema.places import OPENING_FAMILIES
from matcher.errors import Problem
from matcher.store.database.connection import Connection

if TYPE_CHECKING:
    from catalog_schema.columns import TableColumn
    from catalog_schema.jobs import Job, OwnedPart

FAMILIES = ("head_unit", "speaker", "amplifier", "subwoofer", "enclosure", "accessory", "cable")
"""Families that a customer may bring parts of."""


class Owned(NamedTuple):
    """A part that a customer has, as the search reads it."""

    part_id: str
    opening_id: str | None
    pieces: int | None
    family: str | None
    """None for a part of the catalog."""
    cells: tuple[tuple[str, object], ...]
    """Its figures by field, if they are typed in."""


def owned_of(job: Job) -> tuple[Owned, ...]:
    """Return the own parts of a job's customer."""
    return tuple(
        Owned(one.part_id, one.opening_id, one.pieces, one.family, tuple(_row(one).items() if one.family else ()))
        for one in job.owned
    )


def typed_parts(con: Connection, part_ids: Iterable[str]) -> dict[str, Owned]:
    """Return customers' parts with these names that are not in the catalog, as their jobs describe them."""
    wanted = set(part_ids)
    if not wanted:
        return {}
    from catalog_schema.documents import build, parse_json  # not needed for parts of the catalog
    from catalog_schema.jobs import Job

    texts = con.execute("select document from job where contains(document, '\"owned\"')").fetchall()
    jobs = [build(Job, parse_json(text.removeprefix("\ufeff"))) for (text,) in texts]
    return {one.part_id: one for job in jobs for one in owned_of(job) if one.family and one.part_id in wanted}


def owned_rows(con: Connection, part_ids: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the figures of such parts by name, with ``family``."""
    return {name: {"family": one.family, **dict(one.cells)} for name, one in typed_parts(con, part_ids).items()}


def _row(one: OwnedPart) -> dict[str, Any]:
    """Return the cells of a typed part, read by the fields of its family; blank ones are left out."""
    from catalog_schema.columns import family_columns

    typed = {**one.figures, "part_id": one.part_id, "maker": one.maker or "", "model": one.model or one.part_id}
    read = {column.name: _read(column, typed) for column in family_columns(str(one.family))}
    return {name: cell for name, cell in read.items() if cell is not None} | {"price": 0}


def _read(column: TableColumn, typed: Mapping[str, object]) -> Any:
    read = column.kind.read(typed.get(column.name))
    return column.default if read is None else read


def owned_faults(con: Connection, job: Job, openings: Mapping[str, str], file: str) -> Iterator[Problem]:
    """Yield the faults of a job's own parts: names, families, openings and figures."""
    for one in job.owned:
        place = f"owned[{one.part_id}]"
        row = con.execute("select family from part where part_id = $1", [one.part_id]).fetchone()
        family = one.family or (row and row[0])
        if family not in FAMILIES:
            expected = f"one of {', '.join(FAMILIES)}, or the name of a part of the catalog"
            yield Problem(expected, file=file, column=f"{place}.family", found=str(family or one.part_id))
            continue
        if one.family and row:
            yield Problem("a name that no part of the catalog has", file=file, column=place, found=one.part_id)
        kinds = [kind for kind, families in OPENING_FAMILIES.items() if family in families]
        fitting = [name for name, kind in openings.items() if kind in kinds]
        if one.opening_id not in (fitting if family == "speaker" or one.opening_id else [None]):
            expected = f"the opening that it goes to: {', '.join(fitting)}"
            yield Problem(expected, file=file, column=f"{place}.opening_id", found=one.opening_id or "")
        yield from _figure_faults(one, family, file, place) if one.family else ()


def _figure_faults(one: OwnedPart, family: str, file: str, place: str) -> Iterator[Problem]:
    from catalog_schema.columns import family_columns
    from catalog_schema.problems import FieldError

    columns = {column.name: column for column in family_columns(family)}
    for name in one.figures.keys() - columns.keys():
        known = ", ".join(sorted(columns))
        yield Problem(f"a field of {family}: {known}", file=file, column=f"{place}.figures", found=name)
    for name, column in columns.items():
        cell, at = one.figures.get(name), f"{place}.figures.{name}"
        try:
            missing = column.kind.read(cell) is None and column.required
        except FieldError as error:
            yield error.at(at, file)
            continue
        if missing and name not in ("part_id", "maker", "model", "price"):
            yield Problem(f"a value: {family} requires it", file=file, column=at)
