"""Readings: what was measured since. Each is kept for good; the latest of a field counts."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from catalog_schema.columns import Column
from catalog_schema.figures import Basis, Figure, FigureError, read_number
from catalog_schema.kinds import FieldError, TextKind, is_blank
from catalog_schema.notation import Notation
from matcher.errors import DoubtfulFigures, InputError, Problem
from matcher.store.connection import Connection
from matcher.store.doubtful_readings import reading_doubts
from matcher.store.listed import KEEP_CLEAR, PANES
from matcher.store.overlay import lay_over_openings, lay_over_parts
from matcher.store.provenance import check_unsigned, who
from matcher.store.shop_settings import shop_notation
from matcher.store.subjects import Subject, find_subject

BASES: tuple[Basis, ...] = ("measured", "caliper", "maker", "estimate")


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as it was written down."""

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
    """Whether it is the latest of its field."""


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
    """Write down a reading and lay it over what was claimed.

    ``value`` is read by the field's kind, in its unit or one of its own; the ``basis`` is measured unless
    said otherwise. ``notation`` is that of its text, the shop's where none is named; ``sure`` says that the value is
    right, however unusual.

    Raises
    ------
    DoubtfulFigures
        where the value is not usual, or does not agree with another figure of the part.
    InputError
        where the subject or the field is not known, or the value, tolerance or basis cannot be read.
    """
    found = find_subject(con, subject)
    reading_id = write_reading(
        con, found, field, value, tol=tol, basis=basis, by=by, note=note, at=at, notation=notation, sure=sure
    )
    lay_over(con, found)
    return next(reading for reading in list_readings(con, subject) if reading.reading_id == reading_id)


def write_reading(
    con: Connection,
    subject: Subject,
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
    """Write down a reading without laying it over; its number. The parameters are those of `add_reading`."""
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
        raise _refusal(subject, field, str(tol), "the tolerance once, beside the value or in it")
    if basis is not None and basis not in BASES:
        raise _refusal(subject, field, basis, f"one of {', '.join(BASES)}")
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


def lay_over(con: Connection, subject: Subject) -> None:
    """Lay the readings of a subject over its claims."""
    if subject.kind == "part":
        lay_over_parts(con, subject.table)
    elif subject.kind in ("opening", "vehicle"):
        listed = KEEP_CLEAR if subject.kind == "opening" else PANES
        lay_over_openings(con, subject.name.partition("/")[0], {subject.table, listed.table})


def _read(subject: Subject, column: Column, value: object, notation: Notation) -> object:
    try:
        read = column.kind.read(value, notation)
    except FieldError as error:
        raise _refusal(subject, column.name, error.found, error.expected, error.cure, error.alternatives) from None
    if read is None:
        raise _refusal(subject, column.name, "", "a value", "a reading says what was found")
    return read


def _refuse_doubtful(con: Connection, subject: Subject, field: str, value: object) -> None:
    doubts = reading_doubts(con, subject, field, value)
    if doubts:
        problems = [Problem(one.expected, column=one.place, found=one.found, cure=one.fix) for one in doubts]
        raise DoubtfulFigures(f"the reading of {subject} is doubtful; it was not taken", problems)


def _kept(read: object) -> tuple[str, Decimal | None, str | None]:
    """What is kept of a value that was read: its text, tolerance and basis."""
    if isinstance(read, Figure):
        return f"{read.value:f}", read.tol, read.basis
    return _as_text(read), None, None


def _as_text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return ";".join(value) if isinstance(value, tuple) else str(value)


def _tolerance(subject: Subject, column: Column, tol: object, notation: Notation) -> Decimal | None:
    if is_blank(tol):
        return None
    if not column.is_figure:
        raise _refusal(subject, column.name, str(tol), "no tolerance: it is no figure")
    try:
        number = read_number(tol, column.unit, notation)
    except FigureError as error:
        expected, found = "a tolerance of 0 or more", error.found
        raise _refusal(subject, column.name, found, expected, error.cure, error.alternatives) from None
    if number is None or number < 0:
        raise _refusal(subject, column.name, str(tol), "a tolerance of 0 or more")
    return number


def _words(subject: Subject, name: str, text: str | None) -> str | None:
    try:
        return TextKind().read(text)  # type: ignore[return-value]
    except FieldError as error:
        raise _refusal(subject, name, error.found, error.expected) from None


def _refusal(
    subject: Subject, field: str, found: str, expected: str, cure: str = "", alternatives: tuple[str, ...] = ()
) -> InputError:
    problem = Problem(expected, column=field, found=found, cure=cure, alternatives=alternatives)
    return InputError(f"the reading of {subject} cannot be taken", problems=[problem])


def list_readings(con: Connection, subject: str | None = None) -> list[Reading]:
    """The readings of a subject, or all, in the order they were written down.

    Raises
    ------
    InputError
        where the subject is not known.
    """
    if subject is not None:
        find_subject(con, subject)
    rows = con.execute(
        "select reading_id, subject, field, value, tol, basis, by_whom, read_at, note, "
        "row_number() over (partition by subject, field order by read_at desc, reading_id desc) = 1 "
        "from reading where $1::varchar is null or subject = $1 order by reading_id",
        [subject],
    ).fetchall()
    return [Reading(*row) for row in rows]
