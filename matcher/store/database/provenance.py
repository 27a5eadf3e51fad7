"""Author and time of changes: events, signatures, and the current user.

Nothing here is ever altered or deleted. An event is written in the transaction of its change, so that each kept change
has an event and each event a kept change.
"""

from __future__ import annotations

import datetime
import getpass
import os

from catalog_schema.printable import is_name
from matcher.errors import InputError, Problem
from matcher.store.database.connection import Connection

ENVIRONMENT = "BOLTBACK_BY"
SUPERSEDED = "superseded"
"""Event of a job that another one replaces; the event's detail is the other's name."""


def who(by: str | None = None) -> str:
    """Return the person at work: the given name, the environment's BOLTBACK_BY, or the system's user."""
    name = (by or os.environ.get(ENVIRONMENT) or "").strip()
    if name and not is_name(name):
        problem = Problem("one line, without control characters and marks of direction", column="by", found=repr(name))
        raise InputError("the name of who does it cannot be taken", fix="type it anew", problems=[problem])
    if name:
        return name
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a user id without a name
        return f"user {os.getuid()}"


def record(
    con: Connection, what: str, subject: str, detail: str = "", *, by: str | None = None, document: str | None = None
) -> None:
    """Record a change that no other table records; a ``document`` is kept as loaded."""
    con.execute(
        "insert into event (happened_at, by_whom, what, subject, detail, document) values (now(), ?, ?, ?, ?, ?)",
        [who(by), what, subject, detail or None, document],
    )


def iso(moment: datetime.datetime) -> str:
    """Format a moment: to the second, with its offset."""
    return moment.astimezone().isoformat(timespec="seconds")


def check_unsigned(con: Connection, job_id: str) -> None:
    """Refuse to alter a signed job.

    Raises
    ------
    InputError
        with who signed it and when.
    """
    signed = signature(con, job_id)
    if signed is not None:
        raise InputError(
            f"the job {job_id} was signed off by {signed[0]} at {signed[1]} and stays as it is",
            fix=f"`boltback job supersede {job_id} NEW` makes a new job of it, which can be altered",
        )


def signature(con: Connection, job_id: str) -> tuple[str, str, str | None] | None:
    """Return who signed a job off, when, and with which note; None if it is not signed."""
    row = con.execute("select by_whom, signed_at, note from signature where job_id = ?", [job_id]).fetchone()
    return None if row is None else (row[0], iso(row[1]), row[2])


def successors(con: Connection, job_id: str) -> list[str]:
    """Return the jobs that replace a job, oldest first."""
    rows = con.execute(
        "select detail from event where what = ? and subject = ? group by detail order by min(event_id)",
        [SUPERSEDED, f"job:{job_id}"],
    ).fetchall()
    return [name for (name,) in rows]


def is_signed(con: Connection, job_id: str) -> bool:
    return signature(con, job_id) is not None


def signer(by: str | None) -> str:
    """Return the person who signs: a given name, not the system's user.

    Raises
    ------
    InputError
        if no name is given.
    """
    named = (by or os.environ.get(ENVIRONMENT) or "").strip()
    if not named:
        raise InputError("nobody is named to sign", fix=f"name the person with --by, or in {ENVIRONMENT}")
    return named


def sign(con: Connection, job_id: str, by: str, note: str | None) -> None:
    """Sign a job off: it cannot be altered from now on."""
    check_unsigned(con, job_id)
    con.execute("insert into signature values (?, now(), ?, ?)", [job_id, by, note])


def now(con: Connection) -> str:
    """Return the time of this transaction, as text."""
    row = con.execute("select now()").fetchone()
    assert row is not None
    return iso(row[0])


def moment(text: str) -> datetime.datetime:
    """Parse a moment; without an offset it is local time.

    Raises
    ------
    InputError
        if it is not a time.
    """
    try:
        found = datetime.datetime.fromisoformat(text.strip())
        found = found if found.tzinfo else found.astimezone()
        found.astimezone(datetime.UTC)  # fails near the first and the last representable day
    except (ValueError, OverflowError):
        problem = Problem("a time such as 2026-03-01 or 2026-03-01 14:30", column="since", found=text)
        raise InputError("the log cannot be read from then on", problems=[problem]) from None
    return found
