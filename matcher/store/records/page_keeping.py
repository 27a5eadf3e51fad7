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


@dataclass(frozen=True, slots=True)
class OpenLink:
    """A link that is valid now."""

    job_id: str
    what: str
    """Letter and total of each package offered."""
    page: str


def open_link(con: Connection, token: str) -> OpenLink | None:
    """Return the link that a token opens; None if the token is unknown, expired or revoked."""
    row = con.execute(
        "select job_id, what, page from page_link where token_hash = $1 and revoked_at is null and expires_at > now()",
        [_hash(token)],
    ).fetchone()
    return None if row is None else OpenLink(*row)


ACCEPTED, QUESTION, ANSWER = "accepted", "question", "answer"
"""Events of a job: the customer accepts a package or asks, the shop answers."""
CUSTOMER = "customer"
"""Name in the log of a customer who asks."""
MOST_A_DAY = 20
"""Acceptances and questions about a job within a day; more are refused: anybody with the address can send them."""


@dataclass(frozen=True, slots=True)
class CustomerNote:
    """An acceptance or a question of a customer, or the shop's answer."""

    kind: str
    text: str
    """The accepted package's letter and total, or the words."""
    by: str
    at: datetime.datetime


def accept_offer(con: Connection, token: str, letter: str, name: str) -> str | None:
    """Record that a customer accepts a package of the offer that a token opens; return what was accepted.

    None if the token opens nothing, the offer has no such letter, or too much was sent within a day.
    """
    link = open_link(con, token)
    offered = link.what.split("; ") if link else []
    taken = next((one for one in offered if one.startswith(f"{letter}: ")), None)
    return taken if link and taken and _is_noted(con, link.job_id, ACCEPTED, taken, name) else None


def ask_shop(con: Connection, token: str, question: str) -> bool:
    """Record a customer's question; return whether it was: the token must open an offer, and too many are refused."""
    link = open_link(con, token)
    return link is not None and _is_noted(con, link.job_id, QUESTION, question, CUSTOMER)


def _is_noted(con: Connection, job_id: str, kind: str, text: str, by: str) -> bool:
    """Record what a customer sends; return whether it was, since only so much is taken within a day."""
    row = con.execute(
        "select count(*) from event where subject = $1 and what in ($2, $3) and happened_at > now() - interval 1 day",
        [f"job:{job_id}", ACCEPTED, QUESTION],
    ).fetchone()
    if row is None or row[0] >= MOST_A_DAY:
        return False
    record(con, kind, f"job:{job_id}", text, by=by)
    return True


def customer_notes(con: Connection, job_id: str) -> list[CustomerNote]:
    """Return the acceptances, questions and answers about a job's offers, oldest first."""
    rows = con.execute(
        "select what, detail, by_whom, happened_at from event where subject = $1 and what in ($2, $3, $4) "
        "order by event_id",
        [f"job:{job_id}", ACCEPTED, QUESTION, ANSWER],
    ).fetchall()
    return [CustomerNote(*row) for row in rows]


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
    asks: bool
    """Whether the customer's last question has no answer."""


def job_states(con: Connection, job_id: str | None = None) -> list[JobState]:
    """Return every job that is not archived with its progress, by name; or one job, archived or not."""
    rows = con.execute(
        "select job_id, vehicle_id, document ->> '$.label', answered_on, "
        "(select max_by(rank, number) from choice where choice.job_id = job.job_id), "
        "exists (from event where subject = 'job:' || job_id and what = $2), "
        "exists (from setup where setup.job_id = job.job_id), "
        "exists (from signature where signature.job_id = job.job_id), "
        "coalesce((select max_by(what, event_id) from event where subject = 'job:' || job_id and what in ($3, $4)) "
        "= $3, false) from job "
        f"where job_id = $1 or ($1 is null and 'job:' || job_id not in {ARCHIVED}) order by job_id",
        [job_id, ORDERED, QUESTION, ANSWER],
    ).fetchall()
    return [JobState(*row) for row in rows]
