"""The page's data: its password's hash, the secret of its forms, and customers' links."""

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
    """Return a note of the page; None if it has none of that name."""
    row = con.execute("select value from page_note where name = $1", [name]).fetchone()
    return None if row is None else row[0]


def write_note(con: Connection, name: str, value: str) -> None:
    """Save a note, replacing an earlier one."""
    con.execute("insert or replace into page_note values ($1, $2)", [name, value])


@dataclass(frozen=True, slots=True)
class CustomerLink:
    """A link to one page for a customer; its name does not open it."""

    name: str
    job_id: str
    what: str
    by: str
    made_at: datetime.datetime
    expires_at: datetime.datetime
    revoked_at: datetime.datetime | None
    opens: bool
    """Whether it is still valid."""


def add_link(con: Connection, job_id: str, what: str, page: str, *, days: int, by: str | None) -> str:
    """Keep a page as it is for a customer; return the token that opens it, shown only this once and not stored."""
    token = secrets.token_urlsafe(32)
    con.execute(
        "insert into page_link values ($1, $2, now(), $3, now() + to_days($4), null, $5, $6)",
        [_hash(token), job_id, who(by), days, what, page],
    )
    record(con, "link", f"job:{job_id}", f"{what}, for {days} days", by=by)
    return token


def links_of(con: Connection, job_id: str) -> list[CustomerLink]:
    """Return the links of a job, latest first."""
    rows = con.execute(
        "select token_hash, job_id, what, by_whom, made_at, expires_at, revoked_at, "
        "revoked_at is null and expires_at > now() from page_link where job_id = $1 order by made_at desc, token_hash",
        [job_id],
    ).fetchall()
    return [CustomerLink(*row) for row in rows]


def revoke_link(con: Connection, name: str, by: str | None = None) -> str:
    """Revoke a link; return its job.

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
    """Return the page that a token opens; None if the token is unknown, expired or revoked."""
    row = con.execute(
        "select page from page_link where token_hash = $1 and revoked_at is null and expires_at > now()",
        [_hash(token)],
    ).fetchone()
    return None if row is None else row[0]


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A customer's acceptance of an offered package."""

    what: str
    """The package's letter and total."""
    by: str
    at: datetime.datetime


def accept_offer(con: Connection, token: str, letter: str, name: str) -> str | None:
    """Record that a customer accepts a package of the offer that a token opens; return what was accepted.

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
    """Hash of a token, which has 256 random bits, so that a fast hash is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


ORDERED = "ordered"
"""Event of a job whose order was made."""


@dataclass(frozen=True, slots=True)
class JobState:
    """A job at the counter, with its progress."""

    job_id: str
    vehicle_id: str
    label: str | None
    answered_on: int | None
    chosen: int | None
    """The rank of the package chosen last."""
    ordered: bool
    set_up: bool
    signed: bool


def job_states(con: Connection, job_id: str | None = None) -> list[JobState]:
    """Return every job that is not archived with its progress, by name; or one job, archived or not."""
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
