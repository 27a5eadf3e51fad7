"""Readings from a list: subject, field, value, and optional details; all of them or none."""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from matcher.errors import DoubtfulFigures, FileRefused, InputError, Problem
from matcher.store.database.connection import Connection
from matcher.store.database.opening import Store
from matcher.store.lists.files import look_at
from matcher.store.lists.listing import Listing, fold, show_cell
from matcher.store.lists.reading import read_listing
from matcher.store.readings.readings import Reading, lay_over, list_readings, write_reading
from matcher.store.readings.subjects import ReadingSubject, find_subject

REQUIRED = ("subject", "field", "value")
HEADERS = (*REQUIRED, "tol", "basis", "by", "at", "note")


def load_readings(store: Store, path: Path, *, sure: bool = False) -> list[Reading]:
    """Record every reading of a list; those already recorded, with the same time, are left out.

    Raises
    ------
    FileRefused
        with every reading that cannot be read; then none is recorded.
    DoubtfulFigures
        with every unusual one, if ``sure`` is not set.
    """
    look = look_at(path)
    with tempfile.TemporaryDirectory(prefix="boltback-") as folder, store.changing() as con:
        listing = read_listing(con, look, Path(folder))
        names = _names(listing)
        problems = [
            Problem(row.fault.expected, str(path), row.line, "", row.fault.found, row.fault.fix)
            for row in listing.broken
        ]
        rows = con.execute(f"select * from ({listing.relation}) order by line").fetchall()
        doubtful: list[Problem] = []
        numbers = set(_write(con, names, rows, str(path), problems, doubtful, sure=sure))
        look.check_same()
        if problems:
            raise FileRefused(f"{path}: {len(problems)} readings cannot be taken; none was", problems=problems)
        if doubtful:
            raise DoubtfulFigures(f"{path}: {len(doubtful)} readings are doubtful; none was taken", doubtful)
        return [reading for reading in list_readings(con) if reading.reading_id in numbers]


def _names(listing: Listing) -> list[str]:
    names = [fold(header) for header in listing.headers]
    problems = [Problem("a column of readings", str(listing.path), None, name, name) for name in names]
    problems = [problem for problem in problems if problem.found not in HEADERS]
    problems += [Problem(f"a column {name}", str(listing.path)) for name in REQUIRED if name not in names]
    if problems or len(set(names)) < len(names):
        raise FileRefused(
            f"{listing.path} has not the columns of readings", fix=f"use {', '.join(HEADERS)}", problems=problems
        )
    return names


def _write(
    con: Connection,
    names: Sequence[str],
    rows: Sequence[tuple[object, ...]],
    file: str,
    problems: list[Problem],
    doubtful: list[Problem],
    *,
    sure: bool,
) -> list[int]:
    known = {(r.subject, r.field, r.value, r.read_at) for r in list_readings(con)}
    numbers: list[int] = []
    subjects: dict[str, ReadingSubject] = {}
    for line, *cells in rows:
        row = dict(zip(names, (show_cell(str(cell)) if cell is not None else "" for cell in cells), strict=True))
        try:
            subject = find_subject(con, row["subject"].strip())
            number = _write_row(con, subject, row, sure=sure)
        except InputError as error:
            inner = error.problems[0] if error.problems else Problem(error.what, fix=error.fix)
            kept = doubtful if isinstance(error, DoubtfulFigures) else problems
            kept.append(inner._replace(file=file, row=int(str(line))))
            continue
        subjects[str(subject)] = subject
        numbers.append(number)
    numbers = _without_known(con, numbers, known)
    for subject in subjects.values():
        lay_over(con, subject)
    return numbers


def _write_row(con: Connection, subject: ReadingSubject, row: Mapping[str, str], *, sure: bool) -> int:
    def cell(name: str) -> str | None:
        return row.get(name, "").strip() or None

    return write_reading(
        con,
        subject,
        row["field"].strip(),
        row["value"],
        tol=cell("tol"),
        basis=cell("basis"),
        by=cell("by"),
        note=cell("note"),
        at=_moment(cell("at")),
        sure=sure,
    )


def _moment(text: str | None) -> datetime.datetime | None:
    if text is None:
        return None
    try:
        moment = datetime.datetime.fromisoformat(text)
    except ValueError:
        problem = Problem("a time such as 2026-03-01 14:30", column="at", found=text)
        raise InputError("the reading cannot be taken", problems=[problem]) from None
    return moment if moment.tzinfo else moment.astimezone()


def _without_known(
    con: Connection, numbers: Sequence[int], known: set[tuple[str, str, str, datetime.datetime]]
) -> list[int]:
    """Delete readings that the store had already; return the new ones."""
    written = [reading for reading in list_readings(con) if reading.reading_id in set(numbers)]
    repeated = [r.reading_id for r in written if (r.subject, r.field, r.value, r.read_at) in known]
    con.execute("delete from reading where reading_id in (select unnest($1::integer[]))", [repeated])
    return [number for number in numbers if number not in set(repeated)]
