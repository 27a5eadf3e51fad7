"""Save vehicles and jobs: the document as it came, and its figures in tables."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from typing import Any

from catalog_schema.checks import to_plain
from catalog_schema.documents import DocumentError, build, parse_json, take
from catalog_schema.doubts import document_doubts
from catalog_schema.jobs import Job, with_budgets_taxed
from catalog_schema.kinds import is_printable
from catalog_schema.terms import Terms, settled_terms, term_at, with_terms
from catalog_schema.vehicles import Vehicle
from matcher.errors import ChangedMeanwhile, DoubtfulFigures, FileRefused, InputError, NotKnown, Problem
from matcher.store.catalog.openings import opening_kinds
from matcher.store.catalog.owned import owned_faults
from matcher.store.catalog.vehicle_tables import write_vehicle
from matcher.store.database.connection import Connection
from matcher.store.database.kept_documents import KeptDocument, kept_document, mark_of, stored_job
from matcher.store.database.provenance import SUPERSEDED, check_unsigned, record
from matcher.store.database.shop_settings import shop_notation, shop_settings
from matcher.store.documents.wishes import named_wishes, pin_faults

"""A vehicle or a job is a few kilobytes; far beyond that it is something else."""


def save_vehicle(con: Connection, text: str, file: str, by: str | None = None, *, sure: bool = False) -> str:
    """Save a vehicle, in place of one with the same name; return its name.

    ``sure``: accept unusual figures, which the user has confirmed.

    Raises
    ------
    FileRefused
        with every fault of the document.
    DoubtfulFigures
        with every unusual figure that is new.
    """
    vehicle: Vehicle = _read(con, Vehicle, "vehicle", text, file)
    _refuse_twins(file, [opening.opening_id for opening in vehicle.openings])
    if "/" in vehicle.vehicle_id:
        slash = Problem("a name without a slash", file=file, column="vehicle_id", found=vehicle.vehicle_id)
        raise FileRefused(f"the vehicle in {file} cannot be taken", problems=[slash])
    if not sure:
        _refuse_doubtful(con, "vehicle", vehicle.vehicle_id, vehicle, file)
    write_vehicle(con, vehicle, text)
    record(con, "vehicle load", f"vehicle:{vehicle.vehicle_id}", file, by=by, document=text)
    return vehicle.vehicle_id


def save_job(
    con: Connection, text: str, file: str, by: str | None = None, *, elsewhere: bool = False, sure: bool = False
) -> str:
    """Save a job, in place of one with the same name; return its name.

    ``elsewhere``: it comes from another store, which may have the job it replaces. ``sure``: accept unusual figures,
    which
    the user has confirmed.

    Raises
    ------
    FileRefused
        with every fault of the document, including names that the vehicle lacks.
    DoubtfulFigures
        with every unusual figure that is new.
    InputError
        if a job of this name was signed off.
    """
    job = _read_job(con, text, file)
    if not elsewhere:
        _check_superseded(con, job, file)
    check_unsigned(con, job.job_id)
    if not sure:
        _refuse_doubtful(con, "job", job.job_id, job, file)
    con.execute("delete from job where job_id = ?", [job.job_id])
    con.execute(
        "insert into job (job_id, vehicle_id, document, loaded_at) values (?, ?, ?, now())",
        [job.job_id, job.vehicle_id, text],
    )
    record(con, "job load", f"job:{job.job_id}", file, by=by, document=text)
    if job.supersedes is not None:
        record(con, SUPERSEDED, f"job:{job.supersedes}", job.job_id, by=by)
    return job.job_id


def _read_job(con: Connection, text: str, file: str) -> Job:
    job: Job = _read(con, Job, "job", text, file)
    check_job(con, job, file)
    return job


def job_on_terms(con: Connection, job_id: str, terms: Terms) -> Job:
    """Return a stored job with some other terms for one question, its budgets with tax; nothing is stored.

    Raises
    ------
    InputError
        if the job is not known, or terms cannot be read: each is named.
    """
    tax_pct = shop_settings(con)["tax_pct"]
    if not terms:
        return with_budgets_taxed(stored_job(con, job_id), tax_pct)
    with by_terms(job_id):
        job = _read_job(con, json.dumps(to_plain(terms_document(con, job_id, terms)), ensure_ascii=False), "")
    return with_budgets_taxed(job, tax_pct)


def terms_document(con: Connection, job_id: str, terms: Terms) -> dict[str, Any]:
    """Return a stored job's document with some other terms, unchecked."""
    return with_terms(kept_document(con, "job", job_id).document, settled_terms(terms, shop_notation(con)))


def typed_terms(con: Connection, terms: Terms) -> dict[str, Any]:
    """Return terms in canonical form: numbers of the shop's notation converted, names found in the catalog."""
    return named_wishes(con, settled_terms(terms, shop_notation(con)))


@contextmanager
def by_terms(job_id: str) -> Iterator[None]:
    """Report the faults of a job's document by the names of the given terms."""
    try:
        yield
    except FileRefused as error:
        problems = [problem._replace(file="", column=term_at(problem.column)) for problem in error.problems]
        raise InputError(f"these terms of the job {job_id} cannot be taken", problems=problems) from None


CHOOSE_WORDS = ("head_unit", "bass", "film", "security")


def _check_superseded(con: Connection, job: Job, file: str) -> None:
    """Check that the job it replaces exists, and is another one."""
    if job.supersedes is None:
        return
    others = [name for (name,) in con.execute("select job_id from job where job_id <> ?", [job.job_id]).fetchall()]
    if job.supersedes not in others:
        fault = Problem("another job of this store", file=file, column="supersedes", found=job.supersedes)
        raise FileRefused(f"the job {job.job_id} in {file} cannot be taken", problems=[fault])


def check_job(con: Connection, job: Job, file: str) -> None:
    """Check that a job's vehicle has every opening the job names."""
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
    problems += [*pin_faults(con, job, openings, file), *owned_faults(con, job, openings, file)]
    both = sorted(set(job.choose or ()) & set(job.keep or ()))
    problems += [Problem("an opening to choose for, or to keep", file=file, column="keep", found=name) for name in both]
    if problems:
        raise FileRefused(f"the job {job.job_id} in {file} cannot be taken", problems=problems)


def _read(con: Connection, model: type[Any], schema: str, text: str, file: str) -> Any:
    """Read a document whose numbers are unambiguous by themselves, as its text is kept."""
    try:
        if not is_printable(text):
            raise FileRefused(f"{file} holds characters that no page can show", fix="save it as plain UTF-8 text")
        return take(model, parse_json(text), schema, replace(shop_notation(con), mark="either"))
    except DocumentError as error:
        problems = [one._replace(file=file) for one in error.faults]
        raise FileRefused(f"the {schema} in {file} cannot be taken", problems=problems) from None


def _refuse_doubtful(con: Connection, kind: str, name: str, document: Vehicle | Job, file: str) -> None:
    """Refuse unusual figures, except those that the document had before."""
    doubts = {(one.problem.column, one.problem.found): one.problem for one in document_doubts(document)}
    if not doubts:
        return
    row = con.execute(f"select document from {kind} where {kind}_id = ?", [name]).fetchone()
    with suppress(DocumentError):  # this document replaces an invalid one
        for one in document_doubts(build(type(document), parse_json(row[0].removeprefix("\ufeff")))) if row else ():
            doubts.pop((one.problem.column, one.problem.found), None)
    problems = [one._replace(file=file) for one in doubts.values()]
    if problems:
        raise DoubtfulFigures(f"the {kind} {name} in {file} has doubtful figures; it was not taken", problems)


def _refuse_twins(file: str, names: list[str]) -> None:
    twins = sorted({name for name in names if names.count(name) > 1})
    if twins:
        problems = [Problem("each opening_id once", file=file, column="openings", found=name) for name in twins]
        raise FileRefused(f"the vehicle in {file} cannot be taken", problems=problems)


SAVERS: dict[str, Callable[..., str]] = {"vehicle": save_vehicle, "job": save_job}
"""Function that saves each kind of document."""


def change_document(
    con: Connection,
    kind: str,
    document: Mapping[str, Any],
    mark: str | None,
    by: str | None = None,
    *,
    sure: bool = False,
) -> KeptDocument:
    """Save a document in place of the one with ``mark``, or as a new one if that is None.

    ``sure``: accept unusual figures, which the user has confirmed.

    Raises
    ------
    ChangedMeanwhile
        if the document has changed since.
    InputError
        if a new one has a name that is taken.
    FileRefused
        with every fault of the document.
    DoubtfulFigures
        with every unusual figure that is new.
    """
    name = str(document.get(f"{kind}_id") or "")
    row = con.execute(f"select document from {kind} where {kind}_id = $1", [name]).fetchone()
    if row is not None and mark is None:
        raise InputError(f"there is a {kind} {name!r} already", fix="give it another name")
    if mark is not None and row is not None and mark_of(row[0]) != mark:
        raise ChangedMeanwhile(kind, name)
    if mark is not None and row is None:
        raise NotKnown(kind, name, [])
    text = json.dumps(to_plain(document), ensure_ascii=False, indent=2)
    SAVERS[kind](con, text, f"the {kind}", by, sure=sure)
    return KeptDocument(name, parse_json(text), mark_of(text))
