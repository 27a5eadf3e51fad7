"""Subjects of readings: a part, an opening, a vehicle, a job, and the fields of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalog_schema.columns import TableColumn, columns_of, family_columns
from catalog_schema.kinds import FlagKind
from catalog_schema.parts import FAMILIES
from catalog_schema.printable import is_printable
from catalog_schema.vehicles import OPENINGS, Electrical, KeepClear, Pane, Runs, nested_of
from matcher.errors import InputError, NotKnown
from matcher.store.catalog.listed import KEEP_CLEAR, PANES
from matcher.store.catalog.openings import opening_kinds
from matcher.store.catalog.owned import owned_rows
from matcher.store.database.connection import Connection
from matcher.store.database.tables import opening_columns
from matcher.store.readings.job_fields import job_columns

NOT_READ = frozenset(
    {
        "part_id",
        "maker",
        "model",
        "pack_of",
        "basis",
        "source",
        "notes",
    }
    | {"opening_id", "label"}
)
"""Columns that cannot be measured."""

OWN_TERMS = frozenset({"price", "labour_h", "stock", "lead_days"})
"""Fields that differ between shops: their readings stay behind when a job moves."""

WAYS = "part:ID, opening:VEHICLE/OPENING, vehicle:ID or job:ID"


@dataclass(frozen=True, slots=True)
class ReadingSubject:
    """A subject in the store, and whether its figures are fixed."""

    kind: str
    name: str
    table: str
    """The family of a part, the table of an opening or vehicle, empty for a job."""
    columns: tuple[TableColumn, ...]
    """Its measurable fields."""

    def __str__(self) -> str:
        return f"{self.kind}:{self.name}"

    def model(self, field: str) -> str | type:
        """Return the model that declares a field; the last part of the field's name is the name there."""
        if self.kind == "part":
            return FAMILIES[self.table]
        if self.kind == "opening":
            kind = self.table.removeprefix("opening_")
            nested = (model for name, model in nested_of(kind).items() if field.startswith(f"{name}_"))
            return KeepClear if field.startswith(f"{KEEP_CLEAR.stem}.") else next(nested, OPENINGS[kind])
        if self.kind == "vehicle" and "." not in field:
            return Electrical if any(column.name == field for column in columns_of(Electrical)) else Runs
        return Pane if self.kind == "vehicle" else "JobReading"

    def column(self, field: str) -> TableColumn:
        """Return the column of a field.

        Raises
        ------
        InputError
            if the subject has no such field.
        """
        if self.kind == "opening" and field.startswith("fitted."):
            return TableColumn(field, FlagKind(), False, None)
        for column in self.columns:
            if column.name == field:
                return column
        raise NotKnown(f"field of {self}", field, [column.name for column in self.columns])


LISTED = (KEEP_CLEAR.stem, PANES.stem)
"""Fields of a subject that are lists: the names of their things may contain dots."""


def split_figure(name: str) -> tuple[str, str]:
    """Split a figure's name into subject and field.

    >>> split_figure("part:00123.depth_mm"), split_figure("opening:tern/dash.keep_clear.hazard switch.y_mm")
    (('part:00123', 'depth_mm'), ('opening:tern/dash', 'keep_clear.hazard switch.y_mm'))
    """
    for word in LISTED:
        subject, dot, field = name.partition(f".{word}.")
        if dot:
            return subject, f"{word}.{field}"
    subject, _, field = name.rpartition(".")
    return subject, field


def find_subject(con: Connection, text: str) -> ReadingSubject:
    """Return the subject with this name.

    Raises
    ------
    InputError
        if the text has another form.
    NotKnown
        if the store has no such subject.
    """
    kind, colon, name = text.partition(":")
    finders = {"part": _part, "opening": _opening, "vehicle": _vehicle, "job": _job}
    if not colon or kind not in finders or not name:
        raise InputError(f"{text!r} names nothing that can be measured", fix=f"write {WAYS}")
    return finders[kind](con, name)


def _part(con: Connection, name: str) -> ReadingSubject:
    if not is_printable(name):
        raise NotKnown("part", name, [], fix="`boltback catalog show` lists the parts")
    for family in FAMILIES:  # a withdrawn part may still be measured
        if con.execute(f"select 1 from {family}_rows where part_id = $1 limit 1", [name]).fetchone():
            columns = tuple(column for column in family_columns(family) if column.name not in NOT_READ)
            return ReadingSubject("part", name, family, columns)
    if (own := owned_rows(con, [name]).get(name)) is not None:
        columns = tuple(column for column in family_columns(own["family"]) if column.name not in NOT_READ)
        return ReadingSubject("part", name, own["family"], columns)
    near = con.execute(
        "select part_id from part order by jaro_winkler_similarity(part_id, $1) desc, part_id limit 50",
        [name],
    ).fetchall()
    raise NotKnown("part", name, [part_id for (part_id,) in near])


def _opening(con: Connection, name: str) -> ReadingSubject:
    vehicle_id, slash, opening_id = name.partition("/")
    if not slash:
        raise InputError(f"{name!r} names no opening", fix="write opening:VEHICLE/OPENING")
    known = []
    for kind in OPENINGS:
        rows = con.execute(f"select vehicle_id || '/' || opening_id from opening_{kind}").fetchall()
        if (f"{vehicle_id}/{opening_id}",) in rows:
            columns = tuple(c for c in opening_columns(kind) if c.name not in NOT_READ | {"kind"})
            columns += KEEP_CLEAR.fields(con, "vehicle_id = ? and opening_id = ?", [vehicle_id, opening_id])
            return ReadingSubject("opening", name, f"opening_{kind}", columns)
        known += [place for (place,) in rows]
    raise NotKnown("opening", name, known)


def _vehicle(con: Connection, name: str) -> ReadingSubject:
    _check_held(con, "vehicle", name)
    panes = PANES.fields(con, "vehicle_id = ?", [name])
    return ReadingSubject("vehicle", name, "vehicle", columns_of(Electrical) + columns_of(Runs) + panes)


def _job(con: Connection, name: str) -> ReadingSubject:
    _check_held(con, "job", name)
    ((vehicle_id,),) = con.execute("select vehicle_id from job where job_id = ?", [name]).fetchall()
    return ReadingSubject("job", name, "", job_columns(opening_kinds(con, vehicle_id)))


def _check_held(con: Connection, kind: str, name: str) -> None:
    known: Sequence[str] = [row[0] for row in con.execute(f"select {kind}_id from {kind}").fetchall()]
    if name not in known:
        raise NotKnown(kind, name, known)
