"""Fingerprints of everything that a job's answer depends on: equal fingerprints mean equal answers."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from matcher.store.database.archived import ARCHIVED
from matcher.store.database.connection import Connection
from matcher.store.database.kept_documents import kept_document

STATE = f"""
select (select max_by((version, made_at), version) from load),
    (select max_by((reading_id, read_at), reading_id) from reading),
    (select (count(*), max(voided_at)) from voided_reading),
    (select list((name, value) order by name) from setting),
    (select list((name, word) order by name) from word_setting),
    (select list(supplier_terms order by name) from supplier_terms),
    (select list(subject order by subject) from {ARCHIVED})
"""
DONE = """
select (select max_by((number, chosen_at), number) from choice where job_id = $1),
    (select max_by((number, set_up_at), number) from setup where job_id = $1),
    (select max(signed_at) from signature where job_id = $1)
"""


def catalog_version(con: Connection) -> int:
    """Return the number of the catalog's version, 0 for an empty store."""
    (version,) = con.execute("select coalesce(max(version), 0) from load").fetchall()[0]
    return int(version)


def ground_of(con: Connection, vehicle_id: str) -> tuple[str, str]:
    """Return a mark of the catalog, readings and settings, and one of a vehicle's document."""
    row = con.execute(f"{STATE}, (select md5(document) from vehicle where vehicle_id = $1)", [vehicle_id]).fetchone()
    assert row is not None
    return _mark(row[:-1]), row[-1]


def stamp_of(con: Connection, job_id: str, *, papers: bool = False) -> str:
    """Return the fingerprint of a job, its vehicle, the catalog, the readings and the shop's settings.

    Parameters
    ----------
    papers
        Whether to include choice, set-up and signature.

    Raises
    ------
    NotKnown
        if there is no such job.
    """
    job = kept_document(con, "job", job_id)
    vehicle = kept_document(con, "vehicle", job.document["vehicle_id"])
    # Compare content, not text: a job that is changed and changed back has its old fingerprint again.
    facts = [job.document, vehicle.document, con.execute(STATE).fetchone()]
    if papers:
        facts.append(con.execute(DONE, [job_id]).fetchone())
    return _mark(facts)


def _mark(facts: Sequence[Any]) -> str:
    return hashlib.sha256(json.dumps(facts, sort_keys=True, default=str).encode()).hexdigest()[:16]
