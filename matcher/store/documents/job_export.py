"""Export a whole job as one document for another store; and replace a job by a new one.

The document has everything the job depends on: its vehicle, terms, choices and set-ups, the readings of all of them,
    and
the chosen parts as their supplier claimed them.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from catalog_schema.columns import family_columns
from catalog_schema.parts import FAMILIES
from matcher.errors import InputError
from matcher.store.database.connection import Connection, records
from matcher.store.database.kept_documents import stored_job
from matcher.store.database.provenance import now, who
from matcher.store.documents.saving import save_job
from matcher.store.readings.readings import Reading, list_readings
from matcher.store.readings.subjects import OWN_TERMS
from matcher.store.records.choices import choices, latest_choice, save_choice, setups

KIND = "boltback job"
EDITION = 2
SECTIONS = ("vehicle", "job", "parts", "readings", "choices", "setups", "signature")


def job_document(con: Connection, job_id: str) -> dict[str, Any]:
    """Return a job with everything it depends on, as plain data.

    Raises
    ------
    NotKnown
        if the store holds no such job.
    """
    job = stored_job(con, job_id)
    chosen, made = choices(con, job_id), setups(con, job_id)
    parts = {part.part_id for choice in chosen for part in choice.parts}
    signed = con.execute("select by_whom, signed_at, note from signature where job_id = ?", [job_id]).fetchone()
    return {
        "kind": KIND,
        "edition": EDITION,
        "vehicle": _document(con, "vehicle", job.vehicle_id),
        "job": _document(con, "job", job_id),
        "parts": [row for family in FAMILIES for row in _parts(con, family, sorted(parts))],
        "readings": [plain_reading(one) for one in _readings(con, job.vehicle_id, job_id, parts)],
        "choices": [choice.to_dict() for choice in chosen],
        "setups": [setup.to_dict() for setup in made],
        "signature": None if signed is None else {"by": signed[0], "at": signed[1].isoformat(), "note": signed[2]},
    }


def _document(con: Connection, kind: str, name: str) -> Any:
    ((text,),) = con.execute(f"select document from {kind} where {kind}_id = ?", [name]).fetchall()
    return json.loads(text.removeprefix("\ufeff"))


def _parts(con: Connection, family: str, names: list[str]) -> Iterator[dict[str, Any]]:
    """Yield the latest rows of some parts, as in a list of their family."""
    rows = records(
        con,
        f"select * from {family}_rows where part_id in (select unnest($1::varchar[])) "
        "qualify row_number() over (partition by part_id order by since desc) = 1 order by part_id",
        names,
    )
    for row in rows:
        bases = json.loads(row["cell_basis"]) if row["cell_basis"] else {}
        own = {
            column.name: _cell(row[column.name], row.get(column.tol_name), bases.get(column.name))
            for column in family_columns(family)
            if row[column.name] is not None
        }
        yield {"family": family, "supplier": row["supplier"] or "", "row": own}


def _cell(value: Any, tol: Any, basis: str | None) -> Any:
    plain = float(value) if hasattr(value, "normalize") else value
    given = {name: each for name, each in (("tol", None if tol is None else float(tol)), ("basis", basis)) if each}
    return {"value": plain, **given} if given else plain


def _readings(con: Connection, vehicle_id: str, job_id: str, parts: set[str]) -> Iterator[Reading]:
    whole = {f"job:{job_id}", f"vehicle:{vehicle_id}", *(f"part:{name}" for name in parts)}
    for reading in list_readings(con):
        if reading.subject.startswith("part:") and reading.field in OWN_TERMS:
            continue
        if reading.subject in whole or reading.subject.startswith(f"opening:{vehicle_id}/"):
            yield reading


def plain_reading(one: Reading) -> dict[str, Any]:
    """Return a reading as plain data."""
    return {
        "subject": one.subject,
        "field": one.field,
        "value": one.value,
        "tol": None if one.tol is None else float(one.tol),
        "basis": one.basis,
        "by": one.by,
        "at": one.read_at.isoformat(),
        "note": one.note,
        "voided": one.voided and {"by": one.voided.by, "at": one.voided.at.isoformat(), "note": one.voided.note},
    }


def supersede(con: Connection, job_id: str, new_id: str, by: str | None) -> str:
    """Make a new job with another job's terms and choice, which replaces it; return its name.

    Raises
    ------
    InputError
        if the job is not known, or the new name is taken.
    """
    stored_job(con, job_id)
    if con.execute("select 1 from job where job_id = ?", [new_id]).fetchone():
        raise InputError(f"there is a job {new_id} already", fix="give the new job a name of its own")
    document = _document(con, "job", job_id) | {"job_id": new_id, "supersedes": job_id}
    made = save_job(con, json.dumps(document, ensure_ascii=False), f"superseding {job_id}", by, sure=True)
    choice = latest_choice(con, job_id)
    if choice is not None:
        note = f"as chosen for {job_id} by {choice.by} at {choice.chosen_at}"
        save_choice(con, replace(choice, job_id=made, number=1, chosen_at=now(con), by=who(by), note=note))
    return made
