"""Stored documents of vehicles and jobs, with a mark of their state.

Every change of a document names the mark it is based on, so that no change is lost if two people work on the same one.
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
    """A stored document, and the mark of its state."""

    name: str
    document: dict[str, Any]
    mark: str


def mark_of(text: str) -> str:
    """Return the mark of a document's text.

    >>> mark_of("{}")
    '44136fa355b3678a'
    """
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def kept_document(con: Connection, kind: str, name: str) -> KeptDocument:
    """Return a document by its name.

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
    """Return a job as it was loaded.

    Raises
    ------
    NotKnown
        if the store holds no such job.
    """
    return build(Job, kept_document(con, "job", job_id).document)


def answered_on(con: Connection, job_id: str) -> int | None:
    """Return the version of the catalog that a job was last answered on."""
    row = con.execute("select answered_on from job where job_id = ?", [job_id]).fetchone()
    return None if row is None else row[0]


def remember_answer(con: Connection, job_id: str, version: int) -> None:
    """Record the version of the catalog that a job was answered on; a signed job is unchanged."""
    if is_signed(con, job_id):
        return
    con.execute("update job set answered_on = ? where job_id = ?", [version, job_id])
