"""Records of the page: its password's hash, the secret of its forms, and customers' links."""

from __future__ import annotations

import datetime
import hashlib
import secrets
from dataclasses import dataclass

from matcher.errors import NotKnown
from matcher.store.database.archived import ARCHIVED
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import record, who


def page_note(con: Connection, name: str) -> str | None:
    """A note of the page, None if it has none of that name."""
    row = con.execute("select value from page_note where name = $1", [name]).fetchone()
    return None if row is None else row[0]


def write_note(con: Connection, name: str, value: str) -> None:
    """Keep a note, in place of an earlier one."""
    con.execute("insert or replace into page_note values ($1, $2)", [name, value])


@dataclass(frozen=True, slots=True)
class CustomerLink:
    """A link by which a customer sees one page, and nothing else; what it is called by is not what opens it."""

    name: str
    job_id: str
    what: str
    by: str
    made_at: datetime.datetime
    expires_at: datetime.datetime
    revoked_at: datetime.datetime | None
    opens: bool
    """Whether it still opens the page."""


def add_link(con: Connection, job_id: str, what: str, page: str, *, days: int, by: str | None) -> str:
    """Keep a page as it is for a customer; the token that opens it, which is shown this once and not kept."""
    token = secrets.token_urlsafe(32)
    con.execute(
        "insert into page_link values ($1, $2, now(), $3, now() + to_days($4), null, $5, $6)",
        [_hash(token), job_id, who(by), days, what, page],
    )
    record(con, "link", f"job:{job_id}", f"{what}, for {days} days", by=by)
    return token


def links_of(con: Connection, job_id: str) -> list[CustomerLink]:
    """The links of a job, the latest first."""
    rows = con.execute(
        "select token_hash, job_id, what, by_whom, made_at, expires_at, revoked_at, "
        "revoked_at is null and expires_at > now() from page_link where job_id = $1 order by made_at desc, token_hash",
        [job_id],
    ).fetchall()
    return [CustomerLink(*row) for row in rows]


def revoke_link(con: Connection, name: str, by: str | None = None) -> str:
    """Let a link open nothing any more; its job.

    Raises
    ------
    NotKnown
        if there is no such link.
    """
    row = con.execute(
        "update page_link set revoked_at = coalesce(revoked_at, now()) where token_hash = $1 returning job_id, what",
        [name],
    ).fetchone()
    if row is None:
        raise NotKnown("link", name[:12], [])
    record(con, "link revoked", f"job:{row[0]}", row[1], by=by)
    return str(row[0])


def linked_page(con: Connection, token: str) -> str | None:
    """The page that a token opens; None if it opens nothing, or no longer."""
    row = con.execute(
        "select page from page_link where token_hash = $1 and revoked_at is null and expires_at > now()",
        [_hash(token)],
    ).fetchone()
    return None if row is None else row[0]


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A customer's word that a package on offer is to be had."""

    what: str
    """The package by its letter, with its total."""
    by: str
    at: datetime.datetime


def accept_offer(con: Connection, token: str, letter: str, name: str) -> str | None:
    """Write down that a customer accepts a package of the offer that a token opens; what is accepted.

    None if the token opens nothing, or the offer has no such letter.
    """
    row = con.execute(
        "select job_id, what from page_link where token_hash = $1 and revoked_at is null and expires_at > now()",
        [_hash(token)],
    ).fetchone()
    offered = row[1].split("; ") if row else []
    taken = next((one for one in offered if one.startswith(f"{letter}: ")), None)
    if row is not None and taken is not None:
        record(con, "accepted", f"job:{row[0]}", taken, by=name)
    return taken


def acceptances(con: Connection, job_id: str) -> list[Acceptance]:
    """Return the customers' acceptances of a job's offers, the latest first."""
    rows = con.execute(
        "select detail, by_whom, happened_at from event where subject = $1 and what = 'accepted' "
        "order by event_id desc",
        [f"job:{job_id}"],
    ).fetchall()
    return [Acceptance(*row) for row in rows]


def _hash(token: str) -> str:
    """As a token is kept: it has 256 bits of its own, so that nothing slow is needed."""
    return hashlib.sha256(token.encode()).hexdigest()


ORDERED = "ordered"
"""The log's word for a job whose order was made."""


@dataclass(frozen=True, slots=True)
class JobState:
    """A job on the counter: how far it is."""

    job_id: str
    vehicle_id: str
    label: str | None
    answered_on: int | None
    chosen: int | None
    """The rank of the package that was chosen last."""
    ordered: bool
    set_up: bool
    signed: bool


def job_states(con: Connection, job_id: str | None = None) -> list[JobState]:
    """Every job that is not archived with how far it is, by name; or one alone, whichever it is."""
    rows = con.execute(
        "select job_id, vehicle_id, document ->> '$.label', answered_on, "
        "(select max_by(rank, number) from choice where choice.job_id = job.job_id), "
        "exists (from event where subject = 'job:' || job_id and what = $2), "
        "exists (from setup where setup.job_id = job.job_id), "
        "exists (from signature where signature.job_id = job.job_id) from job "
        f"where job_id = $1 or ($1 is null and 'job:' || job_id not in {ARCHIVED}) order by job_id",
        [job_id, ORDERED],
    ).fetchall()
    return [JobState(*row) for row in rows]
