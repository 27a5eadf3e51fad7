"""Claims and readings side by side."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from catalog_schema.checks import Fit
from catalog_schema.columns import TableColumn
from catalog_schema.documents import parse_json
from catalog_schema.figures import Figure
from catalog_schema.notation import KEPT
from catalog_schema.vehicles import nested_of
from matcher.errors import NotKnown
from matcher.store.catalog.listed import KEEP_CLEAR, PANES
from matcher.store.catalog.owned import owned_rows
from matcher.store.database.connection import Connection, records
from matcher.store.readings.readings import Reading, list_readings
from matcher.store.readings.subjects import ReadingSubject, find_subject


@dataclass(frozen=True, slots=True)
class ClaimBeside:
    """One measured field: the claim (None if there is none) and the current reading."""

    field: str
    unit: str
    claimed: Any
    claimed_basis: str | None
    reading: Reading
    value: Any
    """The reading's value, in the field's own type."""

    @property
    def note(self) -> str | None:
        """Note on the reading: its place, its step."""
        return self.reading.note


@dataclass(frozen=True, slots=True)
class PartSheet:
    """A part with its current figures."""

    family: str
    part_id: str
    figures: dict[str, Any]
    """Every known field; a given tolerance has a key of its own, as ``depth_mm_tol``."""
    claims: tuple[ClaimBeside, ...]
    supplier: str
    since: int
    """The version that its row came in with."""


def part_sheet(con: Connection, part_id: str) -> PartSheet:
    """Return a part with its figures, readings applied.

    Raises
    ------
    NotKnown
        if it is not in the catalog.
    """
    subject = find_subject(con, f"part:{part_id}")
    found = records(con, f"select * from {subject.table} where part_id = $1", part_id)
    if not found:
        raise NotKnown("part", part_id, [], fix="it was withdrawn: boltback catalog history")
    figures = {name: cell for name, cell in found[0].items() if cell is not None}
    row = con.execute(
        f"select supplier, since from {subject.table}_rows where part_id = $1 and until is null", [part_id]
    ).fetchone()
    assert row is not None
    return PartSheet(subject.table, part_id, figures, tuple(claims_beside(con, str(subject))), row[0], row[1])


def claims_of_fit(con: Connection, fit: Fit) -> list[ClaimBeside]:
    """Return readings of a fit's part, adapter and opening, with the claims they replace."""
    subjects = [
        f"part:{fit.part_id}",
        *([f"part:{fit.adapter_id}"] if fit.adapter_id else []),
        f"opening:{fit.opening}",
    ]
    measured = con.execute(
        "select distinct subject from reading where subject in (select unnest(?::varchar[]))", [subjects]
    ).fetchall()
    return [claim for subject in subjects if (subject,) in measured for claim in claims_beside(con, subject)]


def claims_beside(con: Connection, subject: str) -> list[ClaimBeside]:
    """Return each measured field of a subject with its claim, by field.

    Raises
    ------
    InputError
        if the subject is not known.
    """
    found = find_subject(con, subject)
    counting = [reading for reading in list_readings(con, subject) if reading.counts]
    claims = _claims(con, found)
    return [
        _beside(found.column(reading.field), claims, reading)
        for reading in sorted(counting, key=lambda reading: reading.field)
        if any(column.name == reading.field for column in found.columns)
    ]


def _beside(column: TableColumn, claims: Mapping[str, tuple[Any, str | None]], reading: Reading) -> ClaimBeside:
    claimed, basis = claims.get(column.name, (None, None))
    return ClaimBeside(column.name, column.unit, claimed, basis, reading, _plain(column.kind.read(reading.value, KEPT)))


def _plain(value: Any) -> Any:
    return value.value if isinstance(value, Figure) else value


def _claims(con: Connection, subject: ReadingSubject) -> dict[str, tuple[Any, str | None]]:
    if subject.kind == "part":
        return _part_claims(con, subject)
    if subject.kind in ("opening", "vehicle"):
        return _document_claims(con, subject)
    return {}


def _part_claims(con: Connection, subject: ReadingSubject) -> dict[str, tuple[Any, str | None]]:
    names = ", ".join(f'"{column.name}"' for column in subject.columns)
    row = con.execute(
        f"select basis, cell_basis, {names} from {subject.table}_rows where part_id = $1 "
        "order by until is null desc, since desc limit 1",
        [subject.name],
    ).fetchone()
    if row is None:  # a customer's own part
        own = owned_rows(con, [subject.name])[subject.name]
        return {name: (_plain(own[name]), own.get("basis")) for name in own.keys() & {c.name for c in subject.columns}}
    basis, own, *cells = row
    bases = json.loads(own) if own else {}
    return {
        column.name: (cell, bases.get(column.name, basis))
        for column, cell in zip(subject.columns, cells, strict=True)
        if cell is not None
    }


def _document_claims(con: Connection, subject: ReadingSubject) -> dict[str, tuple[Any, str | None]]:
    vehicle_id, _, opening_id = subject.name.partition("/")
    row = con.execute("select document from vehicle where vehicle_id = $1", [vehicle_id]).fetchone()
    assert row is not None
    data = parse_json(row[0].removeprefix("\ufeff"))
    if subject.kind == "vehicle":
        flat = {**(data.get("electrical") or {}), **(data.get("runs") or {}), **dict(PANES.cells(data))}
        return _read_claims(subject, flat, None)
    opening = next(found for found in data["openings"] if str(found["opening_id"]).strip() == opening_id)
    kind = subject.table.removeprefix("opening_")
    nested = {f"{at}_{name}": cell for at in nested_of(kind) for name, cell in (opening.get(at) or {}).items()}
    around = dict(KEEP_CLEAR.cells(opening))
    return _read_claims(subject, opening | nested | around, opening.get("basis") or "measured")


def _read_claims(
    subject: ReadingSubject, cells: Mapping[str, Any], basis: str | None
) -> dict[str, tuple[Any, str | None]]:
    claims = {}
    for column in subject.columns:
        read: Any = column.kind.read(cells.get(column.name), KEPT)
        if read is not None:
            claims[column.name] = (_plain(read), getattr(read, "basis", None) or basis)
    return claims
