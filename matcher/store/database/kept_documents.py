"""A vehicle's or a job's document as the store keeps it, with a mark that tells one state of it from another.

Anyone who changes a document names the mark of the one he saw: so no change is lost because two people
worked on the same thing.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Any

from catalog_schema.documents import build, parse_json
from catalog_schema.jobs import Job
from matcher.errors import NotKnown
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import is_signed


@dataclass(frozen=True, slots=True)
class KeptDocument:
    """A document as it is, and the mark of this state."""

    name: str
    document: dict[str, Any]
    mark: str


def mark_of(text: str) -> str:
    """The mark of a document's text: any other text has another.

    >>> mark_of("{}")
    '44136fa355b3678a'
    """
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def kept_document(con: Connection, kind: str, name: str) -> KeptDocument:
    """A document by its name.

    Parameters
    ----------
    kind
        ``vehicle`` or ``job``.

    Raises
    ------
    NotKnown
        if the store holds none of that name.
    """
    row = con.execute(f"select document from {kind} where {kind}_id = $1", [name]).fetchone()
    if row is None:
        known = [other for (other,) in con.execute(f"select {kind}_id from {kind} order by 1").fetchall()]
        begins = f"`boltback {kind} new` begins one, `boltback {kind} load FILE` takes one in"
        raise NotKnown(kind, name, known, fix=begins)
    return KeptDocument(name, parse_json(row[0].removeprefix("\ufeff")), mark_of(row[0]))


def stored_job(con: Connection, job_id: str) -> Job:
    """A job as it was loaded.

    Raises
    ------
    NotKnown
        if the store holds no such job.
    """
    return build(Job, kept_document(con, "job", job_id).document)


def answered_on(con: Connection, job_id: str) -> int | None:
    """The version of the catalog that a job was last answered on."""
    row = con.execute("select answered_on from job where job_id = ?", [job_id]).fetchone()
    return None if row is None else row[0]


def remember_answer(con: Connection, job_id: str, version: int) -> None:
    """Write down on which version of the catalog a job was answered; one that was signed off stays as it is."""
    if is_signed(con, job_id):
        return
    con.execute("update job set answered_on = ? where job_id = ?", [version, job_id])
