"""Archive jobs, vehicles, parts and openings, or delete them if nothing depends on them.

Only the log records whether something is archived, by the latest event of its subject.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import NamedTuple

from matcher.errors import InputError, NotKnown, Problem
from matcher.store.catalog.overlay import lay_over_parts
from matcher.store.catalog.vehicle_tables import clear_vehicle
from matcher.store.database.archived import ARCHIVED
from matcher.store.database.connection import Connection, in_chain
from matcher.store.database.kept_documents import kept_document
from matcher.store.database.provenance import is_signed, record
from matcher.store.database.stamps import catalog_version
from matcher.store.documents.saving import change_document
from matcher.store.importing.report import LoadReport, write_version
from matcher.store.readings.readings import Reading, list_readings, void_reading
from matcher.store.readings.subjects import ReadingSubject, find_subject
from matcher.store.records.choices import choices

ARCHIVE, UNARCHIVE, DELETE = "archive", "unarchive", "delete"


class Dependent(NamedTuple):
    """Something that depends on a subject."""

    says: str
    forbids: bool
    """Whether it prevents deletion of the subject."""


def archived(con: Connection) -> list[str]:
    """Return every archived subject, such as ``job:tern-nocut``, by name."""
    return [subject for (subject,) in con.execute(f"select subject from {ARCHIVED} order by subject").fetchall()]


def dependents(con: Connection, subject: str) -> list[Dependent]:
    """Return everything that depends on a subject: jobs, choices, records, readings.

    Raises
    ------
    NotKnown
        if the store has no such subject.
    """
    found = find_subject(con, subject)
    about = {"job": _on_job, "vehicle": _on_vehicle, "opening": _on_opening, "part": _on_part}
    read = len(_readings_of(con, found))
    noted = [Dependent(_counted(read, "reading"), found.kind == "job")] if read else []
    return [*about[found.kind](con, found.name), *noted]


def _readings_of(con: Connection, found: ReadingSubject) -> list[Reading]:
    """Return readings of a subject that were not voided; a vehicle's include those of its openings."""
    openings = f"opening:{found.name}/" if found.kind == "vehicle" else None

    def is_of(subject: str) -> bool:
        return subject == str(found) or (openings is not None and subject.startswith(openings))

    return [one for one in list_readings(con) if not one.voided and is_of(one.subject)]


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'s'[: count != 1]}"


def _on_job(con: Connection, job_id: str) -> Iterator[Dependent]:
    for table, what in (("choice", "choice"), ("setup", "set-up"), ("page_link", "customer link")):
        ((count,),) = con.execute(f"select count(*) from {table} where job_id = $1", [job_id]).fetchall()
        if count:
            yield Dependent(_counted(count, what), True)
    if is_signed(con, job_id):
        yield Dependent("its signature", True)


def _on_vehicle(con: Connection, vehicle_id: str) -> Iterator[Dependent]:
    rows = con.execute("select job_id from job where vehicle_id = $1 order by 1", [vehicle_id]).fetchall()
    yield from (Dependent(f"the job {job_id}", True) for (job_id,) in rows)


def _on_opening(con: Connection, place: str) -> Iterator[Dependent]:
    vehicle_id, _, opening_id = place.partition("/")
    rows = con.execute("select job_id from job where vehicle_id = $1 order by 1", [vehicle_id]).fetchall()
    for (job_id,) in rows:
        if opening_id in _names(kept_document(con, "job", job_id).document):
            yield Dependent(f"the job {job_id}, which names it", True)
        elif any(line.opening_id == opening_id for one in choices(con, job_id) for line in one.package.lines):
            yield Dependent(f"a choice of the job {job_id}", True)


def _on_part(con: Connection, part_id: str) -> Iterator[Dependent]:
    for (job_id,) in con.execute("select job_id from job order by 1").fetchall():
        if part_id in _names(kept_document(con, "job", job_id).document):
            yield Dependent(f"the job {job_id}, which names it", True)
        elif any(part.part_id == part_id for one in choices(con, job_id) for part in one.parts):
            yield Dependent(f"a choice of the job {job_id}", True)


def _names(document: object) -> set[str]:
    """Return every name in a job's document: keys set by opening, and words."""
    if isinstance(document, dict):
        return {*document, *(name for cell in document.values() for name in _names(cell))}
    if isinstance(document, list):
        return {name for cell in document for name in _names(cell)}
    return {document} if isinstance(document, str) else set()


def archive(con: Connection, subject: str, *, anyway: bool, note: str | None, by: str | None) -> None:
    """Take a subject out of every list, search and ranking that does not name it.

    Parameters
    ----------
    anyway
        Whether to archive it even if something depends on it.

    Raises
    ------
    InputError
        if something depends on it (each dependent is listed), or it is archived already.
    """
    found = find_subject(con, subject)
    if subject in archived(con):
        raise InputError(f"{subject} is archived already", fix=f"boltback unarchive {subject}")
    held = dependents(con, subject)
    if held and not anyway:
        problems = [Problem(one.says) for one in held]
        raise InputError(f"other things depend on {subject}", fix="--anyway archives it anyway", problems=problems)
    _note(con, ARCHIVE, found, note, by)


def unarchive(con: Connection, subject: str, *, by: str | None) -> None:
    """Bring an archived subject back.

    Raises
    ------
    NotKnown
        if no subject of that name is archived.
    """
    if subject not in (held := archived(con)):
        raise NotKnown("archived thing", subject, held, fix="`boltback archive` lists them")
    _note(con, UNARCHIVE, find_subject(con, subject), None, by)


def _note(con: Connection, what: str, found: ReadingSubject, note: str | None, by: str | None) -> None:
    record(con, what, str(found), note or "", by=by)
    if found.kind == "part":
        lay_over_parts(con, found.table)


def delete(con: Connection, subject: str, *, note: str | None, by: str | None) -> None:
    """Delete a subject that no job, choice or record needs; its document stays in the log, its readings are voided.

    A supplier's part leaves the catalog until one of the supplier's lists brings it again.

    Raises
    ------
    InputError
        if something depends on it (each dependent is listed), or the store is in a chain, which deletes nothing.
    """
    found = find_subject(con, subject)
    if in_chain(con) and found.kind != "part":
        raise InputError("a chain takes nothing out", fix=f"boltback archive {subject}")
    held = [Problem(one.says) for one in dependents(con, subject) if one.forbids]
    if held:
        raise InputError(
            f"{subject} cannot be deleted: other things depend on it",
            fix=f"boltback archive {subject} --anyway takes it out of lists and rankings",
            problems=held,
        )
    for reading in _readings_of(con, found):
        void_reading(con, reading.reading_id, note=f"deleted with {subject}", by=by)
    record(con, DELETE, subject, note or "", by=by, document=_taken_out(con, found, by))


def _taken_out(con: Connection, found: ReadingSubject, by: str | None) -> str | None:
    """Delete a subject from its tables; return its document."""
    if found.kind == "part":
        report = LoadReport(version=catalog_version(con) + 1, withdrawn=1)
        con.execute(
            f"update {found.table}_rows set until = $1 where until is null and part_id = $2",
            [report.version, found.name],
        )
        write_version(con, report, DELETE, by)
        lay_over_parts(con, found.table)
        return None
    if found.kind == "opening":
        vehicle_id, _, opening_id = found.name.partition("/")
        kept = kept_document(con, "vehicle", vehicle_id)
        openings = {str(one["opening_id"]).strip(): one for one in kept.document["openings"]}
        gone = openings.pop(opening_id)
        change_document(con, "vehicle", {**kept.document, "openings": [*openings.values()]}, kept.mark, by, sure=True)
        return json.dumps(gone, ensure_ascii=False, default=float)
    ((document,),) = con.execute(
        f"select document from {found.kind} where {found.kind}_id = $1", [found.name]
    ).fetchall()
    if found.kind == "vehicle":
        clear_vehicle(con, found.name)
    else:
        con.execute("delete from job where job_id = $1", [found.name])
    return str(document)
