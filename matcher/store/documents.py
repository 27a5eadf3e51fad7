"""Vehicles and jobs in the store: the document as it came, and its figures in tables to ask on."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from catalog_schema.checks import to_plain
from catalog_schema.columns import Column, columns_of
from catalog_schema.documents import DocumentError, build, parse_json, take
from catalog_schema.doubts import document_doubts
from catalog_schema.figures import Figure
from catalog_schema.jobs import Job
from catalog_schema.kinds import is_printable
from catalog_schema.terms import Terms, settled_terms, term_at, with_terms
from catalog_schema.vehicles import OPENINGS, Cut, Electrical, KeepClear, Opening, Pane, Runs, Vehicle
from matcher.errors import DoubtfulFigures, FileRefused, InputError, NotKnown, Problem
from matcher.store.connection import Connection
from matcher.store.openings import opening_kinds
from matcher.store.overlay import shop_tolerances
from matcher.store.provenance import SUPERSEDED, check_unsigned, is_signed, record
from matcher.store.shop_settings import shop_notation
from matcher.store.wishes import named_wishes, pin_faults

LARGEST_BYTES = 20_000_000
"""A vehicle or a job is a few kilobytes; far beyond that it is something else."""


def read_document(path: Path, kind: str) -> str:
    """The text of a vehicle's or a job's file.

    Raises
    ------
    FileRefused
        where it is no readable file of text.
    """
    if path.is_dir():
        raise FileRefused(f"{path} is a folder", cure=f"name the {kind}'s file")
    if not path.is_file():
        raise FileRefused(f"there is no file {path}", cure=f"name a {kind}'s file (JSON)")
    if path.stat().st_size > LARGEST_BYTES:
        raise FileRefused(f"{path} is too large for a {kind}", cure=f"a {kind} is a JSON file of a few kilobytes")
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileRefused(f"{path} is not text in UTF-8 (byte {error.start})", cure="save it as UTF-8") from None
    if not text.strip():
        raise FileRefused(f"{path} is empty", cure=f"write a {kind} in JSON; the schema is {kind}.schema.json")
    return text


def save_vehicle(con: Connection, text: str, file: str, by: str | None = None, *, sure: bool = False) -> str:
    """Take in a vehicle, in place of one with the same name; its name.

    ``sure``: its figures are right, however unusual.

    Raises
    ------
    FileRefused
        with every fault of the document.
    DoubtfulFigures
        with every unusual figure that the vehicle did not have before.
    """
    vehicle: Vehicle = _read(con, Vehicle, "vehicle", text, file)
    _refuse_twins(file, [opening.opening_id for opening in vehicle.openings])
    if "/" in vehicle.vehicle_id:
        slash = Problem("a name without a slash", file=file, column="vehicle_id", found=vehicle.vehicle_id)
        raise FileRefused(f"the vehicle in {file} cannot be taken", problems=[slash])
    if not sure:
        _refuse_doubtful(con, "vehicle", vehicle.vehicle_id, vehicle, file)
    _write_vehicle(con, vehicle, text)
    record(con, "vehicle load", f"vehicle:{vehicle.vehicle_id}", file, by=by, document=text)
    return vehicle.vehicle_id


def lay_out_vehicle(con: Connection, text: str) -> None:
    """Write a vehicle that was taken in before into its tables; its readings are not laid over yet.

    Raises
    ------
    DocumentError
        where the text is no vehicle.
    """
    _write_vehicle(con, build(Vehicle, parse_json(text.removeprefix("\ufeff"))), text)


def _write_vehicle(con: Connection, vehicle: Vehicle, text: str) -> None:
    _clear_vehicle(con, vehicle.vehicle_id)
    head = {
        "vehicle_id": vehicle.vehicle_id,
        "label": vehicle.label,
        "year": vehicle.year,
        "body": vehicle.body,
    }
    electric = _cells(columns_of(Electrical), vehicle.electrical)
    runs = _cells(columns_of(Runs), vehicle.runs)
    _insert(con, "vehicle", head | {"document": text} | electric | runs)
    for opening in vehicle.openings:
        _save_opening(con, vehicle.vehicle_id, opening)
    for position, pane in enumerate(vehicle.panes):
        own = {"vehicle_id": vehicle.vehicle_id, "position": position}
        _insert(con, "pane", own | _cells(columns_of(Pane), pane))
    for zone in vehicle.no_fasten:
        _insert(con, "no_fasten", {"vehicle_id": vehicle.vehicle_id, "zone": zone.where, "why": zone.why})


def _save_opening(con: Connection, vehicle_id: str, opening: Opening) -> None:
    own = {"vehicle_id": vehicle_id}
    tolerances = shop_tolerances(con)
    row = own | _cells(columns_of(type(opening)), opening, tolerances)
    cut = getattr(opening, "cut", None) or Cut()
    if hasattr(opening, "cut"):
        row |= {f"cut_{name}": cell for name, cell in _cells(columns_of(Cut), cut, tolerances).items()}
    _insert(con, f"opening_{opening.kind}", row)
    place = own | {"opening_id": opening.opening_id, "basis": row["basis"]}
    for position, thing in enumerate(getattr(opening, "keep_clear", ())):
        _insert(con, "keep_clear", place | {"position": position} | _cells(columns_of(KeepClear), thing, tolerances))


def save_job(
    con: Connection, text: str, file: str, by: str | None = None, *, elsewhere: bool = False, sure: bool = False
) -> str:
    """Take in a job, in place of one with the same name; its name.

    ``elsewhere``: it was another store's, which may hold the job that it takes the place of. ``sure``: its figures are
    right, however unusual.

    Raises
    ------
    FileRefused
        with every fault of the document, names the vehicle lacks included.
    DoubtfulFigures
        with every unusual figure that the job did not have before.
    InputError
        where a job of this name was signed off.
    """
    job = _read_job(con, text, file)
    if not elsewhere:
        _check_superseded(con, job, file)
    check_unsigned(con, job.job_id)
    if not sure:
        _refuse_doubtful(con, "job", job.job_id, job, file)
    con.execute("delete from job where job_id = ?", [job.job_id])
    row = {"job_id": job.job_id, "vehicle_id": job.vehicle_id, "document": text}
    _insert(con, "job", row)
    con.execute("update job set loaded_at = now() where job_id = ?", [job.job_id])
    record(con, "job load", f"job:{job.job_id}", file, by=by, document=text)
    if job.supersedes is not None:
        record(con, SUPERSEDED, f"job:{job.supersedes}", job.job_id, by=by)
    return job.job_id


def _read_job(con: Connection, text: str, file: str) -> Job:
    job: Job = _read(con, Job, "job", text, file)
    check_job(con, job, file)
    return job


def job_on_terms(con: Connection, job_id: str, terms: Terms) -> Job:
    """Return a stored job with some of its terms otherwise, for one question: nothing is stored.

    Raises
    ------
    InputError
        if the job is not known, or a term cannot be taken: each is named.
    """
    if not terms:
        return stored_job(con, job_id)
    with by_terms(job_id):
        return _read_job(con, json.dumps(to_plain(terms_document(con, job_id, terms)), ensure_ascii=False), "")


def terms_document(con: Connection, job_id: str, terms: Terms) -> dict[str, Any]:
    """Return a stored job's document with some of its terms otherwise, not checked yet."""
    return with_terms(_job_document(con, job_id), settled_terms(terms, shop_notation(con)))


def typed_terms(con: Connection, terms: Terms) -> dict[str, Any]:
    """Return terms as everyone reads them: numbers of the shop's notation settled, names found in the catalog."""
    return named_wishes(con, settled_terms(terms, shop_notation(con)))


@contextmanager
def by_terms(job_id: str) -> Iterator[None]:
    """Name the faults of a job's document by the terms that were given."""
    try:
        yield
    except FileRefused as error:
        problems = [problem._replace(file="", column=term_at(problem.column)) for problem in error.problems]
        raise InputError(f"these terms of the job {job_id} cannot be taken", problems=problems) from None


CHOOSE_WORDS = ("head_unit", "bass", "film", "security")


def _check_superseded(con: Connection, job: Job, file: str) -> None:
    """The job that it takes the place of is there, and another."""
    if job.supersedes is None:
        return
    others = [name for (name,) in con.execute("select job_id from job where job_id <> ?", [job.job_id]).fetchall()]
    if job.supersedes not in others:
        fault = Problem("another job of this store", file=file, column="supersedes", found=job.supersedes)
        raise FileRefused(f"the job {job.job_id} in {file} cannot be taken", problems=[fault])


def check_job(con: Connection, job: Job, file: str) -> None:
    """Hold a job against its vehicle: every opening it names is there."""
    openings = opening_kinds(con, job.vehicle_id)
    known = {"choose": {*openings, *CHOOSE_WORDS}, "keep": {*openings}, "limits.per_opening": {*openings}}
    named = {
        "choose": job.choose or (),
        "keep": job.keep or (),
        "limits.per_opening": tuple(job.limits.per_opening),
    }
    problems = [
        Problem(f"one of {', '.join(sorted(known[place]))}", file=file, column=place, found=name)
        for place, names in named.items()
        for name in names
        if name not in known[place]
    ]
    problems += pin_faults(con, job, openings, file)
    both = sorted(set(job.choose or ()) & set(job.keep or ()))
    problems += [Problem("an opening to choose for, or to keep", file=file, column="keep", found=name) for name in both]
    if problems:
        raise FileRefused(f"the job {job.job_id} in {file} cannot be taken", problems=problems)


def stored_job(con: Connection, job_id: str) -> Job:
    """A job as it was loaded.

    Raises
    ------
    NotKnown
        where the store holds no such job.
    """
    return build(Job, _job_document(con, job_id))


def _job_document(con: Connection, job_id: str) -> Any:
    row = con.execute("select document from job where job_id = ?", [job_id]).fetchone()
    if row is None:
        jobs = [name for (name,) in con.execute("select job_id from job order by 1").fetchall()]
        raise NotKnown("job", job_id, jobs, cure="`boltback job new` begins one, `boltback job load FILE` takes one in")
    return parse_json(row[0].removeprefix("\ufeff"))


def answered_on(con: Connection, job_id: str) -> int | None:
    """The version of the catalog that a job was last answered on."""
    row = con.execute("select answered_on from job where job_id = ?", [job_id]).fetchone()
    return None if row is None else row[0]


def remember_answer(con: Connection, job_id: str, version: int) -> None:
    """Write down on which version of the catalog a job was answered; one that was signed off stays as it is."""
    if is_signed(con, job_id):
        return
    con.execute("update job set answered_on = ? where job_id = ?", [version, job_id])


def _read(con: Connection, model: type[Any], schema: str, text: str, file: str) -> Any:
    """The document, whose text has to say by itself which number is meant: it is kept as it is."""
    try:
        if not is_printable(text):
            raise FileRefused(f"{file} holds characters that no page can show", cure="save it as plain UTF-8 text")
        return take(model, parse_json(text), schema, replace(shop_notation(con), mark="either"))
    except DocumentError as error:
        problems = [
            Problem(fault.expected, file, None, fault.place, fault.found, fault.cure, fault.alternatives)
            for fault in error.faults
        ]
        raise FileRefused(f"the {schema} in {file} cannot be taken", problems=problems) from None


def _refuse_doubtful(con: Connection, kind: str, name: str, document: Vehicle | Job, file: str) -> None:
    """Ask once about each unusual figure: not again about one that the document had before."""
    doubts = {(one.place, one.found): one for one in document_doubts(document)}
    if not doubts:
        return
    row = con.execute(f"select document from {kind} where {kind}_id = ?", [name]).fetchone()
    with suppress(DocumentError):  # a kept document at fault is mended by this one
        for one in document_doubts(build(type(document), parse_json(row[0].removeprefix("\ufeff")))) if row else ():
            doubts.pop((one.place, one.found), None)
    problems = [Problem(one.expected, file, None, one.place, one.found, one.fix) for one in doubts.values()]
    if problems:
        raise DoubtfulFigures(f"the {kind} {name} in {file} has doubtful figures; it was not taken", problems)


def _refuse_twins(file: str, names: list[str]) -> None:
    twins = sorted({name for name in names if names.count(name) > 1})
    if twins:
        problems = [Problem("each opening_id once", file=file, column="openings", found=name) for name in twins]
        raise FileRefused(f"the vehicle in {file} cannot be taken", problems=problems)


VEHICLE_TABLES = ("vehicle", *(f"opening_{kind}" for kind in OPENINGS), "keep_clear", "pane", "no_fasten")
"""Where a vehicle is laid out."""


def _clear_vehicle(con: Connection, vehicle_id: str) -> None:
    for table in VEHICLE_TABLES:
        con.execute(f"delete from {table} where vehicle_id = ?", [vehicle_id])


def _cells(columns: Iterable[Column], thing: Any, tolerances: Mapping[str, Decimal] | None = None) -> dict[str, Any]:
    """A thing's fields as cells of its table, each figure with its tolerance beside it.

    ``tolerances`` gives each basis' tolerance in mm, for things that have lengths.
    """
    cells: dict[str, Any] = {}
    for column in columns:
        value = getattr(thing, column.name)
        if isinstance(value, Figure):
            cells[column.name] = value.value
            cells[column.tol_name] = _tol(column, value, tolerances or {})
        else:
            cells[column.name] = list(value) if isinstance(value, tuple) else value
    return cells


def _tol(column: Column, figure: Figure, tolerances: Mapping[str, Decimal]) -> Decimal | None:
    """A figure's own tolerance, or that of its own basis; none: the row's basis sets it."""
    if figure.tol is not None or figure.basis is None or not column.is_length:
        return figure.tol
    return tolerances[figure.basis]


def _insert(con: Connection, table: str, row: Mapping[str, Any]) -> None:
    filled = {name: cell for name, cell in row.items() if cell is not None}
    names = ", ".join(f'"{name}"' for name in filled)
    con.execute(f"insert into {table} ({names}) values ({', '.join('?' * len(filled))})", list(filled.values()))
