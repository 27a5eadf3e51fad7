"""Readings: measured values. All are kept; the latest of a field that was not voided counts."""

from __future__ import annotations

import datetime
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from catalog_schema.columns import TableColumn
from catalog_schema.figures import DEFAULT_TOL_MM, Basis, Figure, read_number
from catalog_schema.kinds import TextKind, is_blank
from catalog_schema.notation import Notation
from catalog_schema.problems import FieldError
from matcher.errors import DoubtfulFigures, InputError, NotKnown, Problem
from matcher.store.catalog.listed import KEEP_CLEAR, PANES
from matcher.store.catalog.overlay import lay_over_openings, lay_over_parts
from matcher.store.catalog.vehicle_tables import lay_out_vehicle
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import check_unsigned, who
from matcher.store.database.shop_settings import shop_notation
from matcher.store.readings.doubtful_readings import reading_doubts
from matcher.store.readings.subjects import ReadingSubject, find_subject

TOLERANCE = "a tolerance of 0 or more"
BASES: tuple[Basis, ...] = tuple(DEFAULT_TOL_MM)


@dataclass(frozen=True, slots=True)
class Voided:
    """Voiding of a reading: by whom, when and why."""

    at: datetime.datetime
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as recorded."""

    reading_id: int
    subject: str
    field: str
    value: str
    tol: Decimal | None
    basis: str
    by: str | None
    read_at: datetime.datetime
    note: str | None
    counts: bool
    """Whether it is the latest of its field that was not voided."""
    voided: Voided | None = None

    @property
    def figure(self) -> Decimal | str:
        """Its value; a length as a number in mm."""
        return Decimal(self.value) if self.field.endswith("_mm") else self.value


def add_reading(
    con: Connection,
    subject: str,
    field: str,
    value: object,
    *,
    tol: object = None,
    basis: str | None = None,
    by: str | None = None,
    note: str | None = None,
    at: datetime.datetime | None = None,
    notation: Notation | None = None,
    sure: bool = False,
) -> Reading:
    """Record a reading, which replaces the claim, as in `Shop.readings.add`.

    Parameters
    ----------
    notation
        Number format of the value's text; by default the shop's.
    """
    found = find_subject(con, subject)
    reading_id = write_reading(
        con, found, field, value, tol=tol, basis=basis, by=by, note=note, at=at, notation=notation, sure=sure
    )
    lay_over(con, found)
    return next(reading for reading in list_readings(con, subject) if reading.reading_id == reading_id)


def add_fitted(
    con: Connection, part_id: str, opening: str, adapter_id: str | None, *, by: str | None = None
) -> Reading:
    """Record that a part was fitted into an opening (VEHICLE/OPENING), with or without an adapter."""
    name = part_id if adapter_id is None else f"{part_id}+{adapter_id}"
    return add_reading(con, f"opening:{opening}", f"fitted.{name}", True, by=by)


def write_reading(
    con: Connection,
    subject: ReadingSubject,
    field: str,
    value: object,
    *,
    tol: object = None,
    basis: str | None = None,
    by: str | None = None,
    note: str | None = None,
    at: datetime.datetime | None = None,
    notation: Notation | None = None,
    sure: bool = False,
) -> int:
    """Record a reading without applying it; return its number. The parameters are those of `add_reading`."""
    if subject.kind == "job":
        check_unsigned(con, subject.name)
    column = subject.column(field)
    notation = notation or shop_notation(con)
    read = _read(subject, column, value, notation)
    if not sure:
        _refuse_doubtful(con, subject, field, read)
    text, read_tol, read_basis = _kept(read)
    given_tol = _tolerance(subject, column, tol, notation)
    if given_tol is not None and read_tol is not None:
        raise _refusal(subject, Problem("the tolerance once, beside the value or in it", column=field, found=str(tol)))
    if basis is not None and basis not in BASES:
        raise _refusal(subject, Problem(f"one of {', '.join(BASES)}", column=field, found=basis))
    row = con.execute(
        "insert into reading (subject, field, value, tol, basis, by_whom, read_at, note) "
        "values ($1, $2, $3, $4, $5, $6, coalesce($7, now()), $8) returning reading_id",
        [
            str(subject),
            field,
            text,
            read_tol if given_tol is None else given_tol,
            basis or read_basis or "measured",
            _words(subject, "by", who(by)),
            at,
            _words(subject, "note", note),
        ],
    ).fetchone()
    assert row is not None
    return int(row[0])


def void_reading(con: Connection, number: int, *, note: str | None, by: str | None = None) -> Reading:
    """Mark a reading as wrong: it is kept, and the earlier reading or claim counts again.

    Raises
    ------
    NotKnown
        if there is no reading of this number.
    InputError
        if it was voided before, no reason is given, or its job was signed off.
    """
    reading = next((one for one in list_readings(con) if one.reading_id == number), None)
    if reading is None:
        raise NotKnown("reading", str(number), [], fix="`boltback reading list` shows the number of each reading")
    if reading.voided is not None:
        when = f"{reading.voided.at:%Y-%m-%d %H:%M}"
        raise InputError(
            f"reading {number} was voided by {reading.voided.by} at {when}",
            fix="if it was right after all, write it down again: boltback reading add",
        )
    write_void(con, reading, Voided(_now(con), who(by), _reason(number, note)))
    with suppress(NotKnown):  # the subject was deleted
        lay_anew(con, find_subject(con, reading.subject))
    return next(one for one in list_readings(con, None) if one.reading_id == number)


def write_void(con: Connection, reading: Reading, voided: Voided) -> None:
    """Mark a reading as voided, without applying the others again."""
    kind, _, name = reading.subject.partition(":")
    if kind == "job":
        check_unsigned(con, name)
    con.execute(
        "insert into voided_reading values ($1, $2, $3, $4, $5, $6, $7)",
        [reading.subject, reading.field, reading.value, reading.read_at, voided.at, voided.by, voided.note],
    )


def _reason(number: int, note: str | None) -> str:
    try:
        reason = TextKind().read(note)
    except FieldError as error:
        raise InputError(f"reading {number} cannot be voided: {error.expected}", fix="write the note anew") from None
    if not reason:
        raise InputError(
            f"reading {number} cannot be voided without a reason", fix="say what was wrong with it: --note TEXT"
        )
    return str(reason)


def _now(con: Connection) -> datetime.datetime:
    ((now,),) = con.execute("select now()").fetchall()
    return now  # type: ignore[no-any-return]


def lay_anew(con: Connection, subject: ReadingSubject) -> None:
    """Apply the readings of a subject again, starting from the claims, after one was voided."""
    if subject.kind not in ("opening", "vehicle"):
        lay_over(con, subject)
        return
    vehicle_id = subject.name.partition("/")[0]
    ((document,),) = con.execute("select document from vehicle where vehicle_id = ?", [vehicle_id]).fetchall()
    lay_out_vehicle(con, document)
    lay_over_openings(con, vehicle_id)


def lay_over(con: Connection, subject: ReadingSubject) -> None:
    """Apply the readings of a subject to its claims."""
    if subject.kind == "part":
        lay_over_parts(con, subject.table)
    elif subject.kind in ("opening", "vehicle"):
        listed = KEEP_CLEAR if subject.kind == "opening" else PANES
        lay_over_openings(con, subject.name.partition("/")[0], {subject.table, listed.table})


def _read(subject: ReadingSubject, column: TableColumn, value: object, notation: Notation) -> object:
    try:
        read = column.kind.read(value, notation)
    except FieldError as error:
        raise _refusal(subject, error.at(column.name)) from None
    if read is None:
        raise _refusal(subject, Problem("a value", column=column.name, fix="write the figure that was measured"))
    return read


def _refuse_doubtful(con: Connection, subject: ReadingSubject, field: str, value: object) -> None:
    doubts = reading_doubts(con, subject, field, value)
    if doubts:
        raise DoubtfulFigures(
            f"the reading of {subject} is doubtful; it was not taken", [one.problem for one in doubts]
        )


def _kept(read: object) -> tuple[str, Decimal | None, str | None]:
    """Return the stored form of a value: its text, tolerance and basis."""
    if isinstance(read, Figure):
        return f"{read.value:f}", read.tol, read.basis
    return _as_text(read), None, None


def _as_text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return ";".join(value) if isinstance(value, tuple) else str(value)


def _tolerance(subject: ReadingSubject, column: TableColumn, tol: object, notation: Notation) -> Decimal | None:
    if is_blank(tol):
        return None
    if not column.is_figure:
        raise _refusal(subject, Problem("no tolerance: it is no figure", column=column.name, found=str(tol)))
    try:
        number = read_number(tol, column.unit, notation)
    except FieldError as error:
        raise _refusal(subject, error.at(column.name)._replace(expected=TOLERANCE)) from None
    if number is None or number < 0:
        raise _refusal(subject, Problem(TOLERANCE, column=column.name, found=str(tol)))
    return number


def _words(subject: ReadingSubject, name: str, text: str | None) -> str | None:
    try:
        return TextKind().read(text)  # type: ignore[return-value]
    except FieldError as error:
        raise _refusal(subject, error.at(name)) from None


def _refusal(subject: ReadingSubject, problem: Problem) -> InputError:
    return InputError(f"the reading of {subject} cannot be taken", problems=[problem])


def list_readings(con: Connection, subject: str | None = None) -> list[Reading]:
    """Return the readings of a subject, or all, in the order they were recorded.

    Raises
    ------
    InputError
        if the subject is not known.
    """
    if subject is not None:
        find_subject(con, subject)
    rows = con.execute(
        "select r.reading_id, subject, field, value, r.tol, r.basis, r.by_whom, read_at, r.note, "
        "v.note is null and row_number() over (partition by subject, field, v.note is null "
        "order by read_at desc, reading_id desc) = 1, v.voided_at, v.by_whom, v.note "
        "from reading r left join voided_reading v using (subject, field, value, read_at) "
        "where $1::varchar is null or subject = $1 order by reading_id",
        [subject],
    ).fetchall()
    return [Reading(*(*row[:10], Voided(*row[10:]) if row[10] else None)) for row in rows]
