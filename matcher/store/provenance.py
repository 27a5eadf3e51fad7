"""Who changed what, and when: what the tables of loads, readings, choices and set-ups tell, and events for the rest.

Nothing here is ever altered or taken out. An event is written in the transaction of its change, so that there is
no change without it and none of a change that was not kept.
"""

from __future__ import annotations

import datetime
import getpass
import os

from catalog_schema.choices import ChangeLog, LogEntry
from catalog_schema.printable import is_name
from matcher.errors import InputError, Problem
from matcher.store.connection import Connection

ENVIRONMENT = "BOLTBACK_BY"
SUPERSEDED = "superseded"
"""What an old job's event is called when another takes its place; the event's detail names that one."""


def who(by: str | None = None) -> str:
    """Who is at work: as told, by the environment's BOLTBACK_BY, or the system's user."""
    told = (by or os.environ.get(ENVIRONMENT) or "").strip()
    if told and not is_name(told):
        problem = Problem("one line, without control characters and marks of direction", column="by", found=repr(told))
        raise InputError("the name of who does it cannot be taken", cure="type it anew", problems=[problem])
    if told:
        return told
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a number that no name belongs to
        return f"user {os.getuid()}"


def record(
    con: Connection, what: str, subject: str, detail: str = "", *, by: str | None = None, document: str | None = None
) -> None:
    """Write down a change that no other table tells of; a ``document`` is kept as it was taken in."""
    con.execute(
        "insert into event (happened_at, by_whom, what, subject, detail, document) values (now(), ?, ?, ?, ?, ?)",
        [who(by), what, subject, detail or None, document],
    )


LOG = """
select made_at as happened, by_whom, 'catalog ' || what as what, 'catalog' as subject,
    concat_ws(', ', 'version ' || version, new || ' new', changed || ' changed', withdrawn || ' withdrawn',
        nullif(array_to_string(files, ', '), '')) as detail, 1 as kind, version as number from load
union all
select read_at, by_whom, 'reading', subject, field || ' ' || value || coalesce(' (' || basis || ')', ''), 2, reading_id
    from reading
union all
select voided_at, v.by_whom, 'reading void', subject, field || ' ' || value || ': ' || v.note, 2, reading_id
    from voided_reading v join reading r using (subject, field, value, read_at)
union all
select chosen_at, by_whom, 'choose', 'job:' || job_id, 'choice ' || number || ': package ' || rank || ' on version '
    || catalog_version || ' of the catalog', 3, number from choice
union all
select set_up_at, by_whom, 'setup', 'job:' || job_id, 'set-up ' || number, 4, number from setup
union all
select signed_at, by_whom, 'sign', 'job:' || job_id, note, 5, 0 from signature
union all
select happened_at, by_whom, what, subject, detail, 0, event_id from event
"""


def change_log(con: Connection, job_id: str | None = None, since: datetime.datetime | None = None) -> ChangeLog:
    """Every change, the first first; of one job what was done to it and to its vehicle.

    Parameters
    ----------
    since
        The changes from this moment on.
    """
    row = None if job_id is None else con.execute("select vehicle_id from job where job_id = ?", [job_id]).fetchone()
    vehicle = row[0] if row else ""
    rows = con.execute(
        f"select happened, by_whom, what, subject, detail from ({LOG}) "
        "where ($1::timestamptz is null or happened >= $1) and ($2::varchar is null or subject = 'job:' || $2 "
        "or subject = 'vehicle:' || $3 or starts_with(subject, 'opening:' || $3 || '/')) "
        "order by happened, kind, number",
        [since, job_id, vehicle],
    ).fetchall()
    return ChangeLog(
        entries=[
            LogEntry(at=iso(at), by=by or "", what=what, subject=subject, detail=detail or "")
            for at, by, what, subject, detail in rows
        ]
    )


def iso(moment: datetime.datetime) -> str:
    """A moment as text: to the second, with its offset."""
    return moment.astimezone().isoformat(timespec="seconds")


def check_unsigned(con: Connection, job_id: str) -> None:
    """Refuse to alter a job that was signed off.

    Raises
    ------
    InputError
        with who signed it and when.
    """
    signed = signature(con, job_id)
    if signed is not None:
        raise InputError(
            f"the job {job_id} was signed off by {signed[0]} at {signed[1]} and stays as it is",
            cure=f"`boltback job supersede {job_id} NEW` makes a new job of it, which can be altered",
        )


def signature(con: Connection, job_id: str) -> tuple[str, str, str | None] | None:
    """Who signed a job off, when, and with which note; none where nobody did."""
    row = con.execute("select by_whom, signed_at, note from signature where job_id = ?", [job_id]).fetchone()
    return None if row is None else (row[0], iso(row[1]), row[2])


def successors(con: Connection, job_id: str) -> list[str]:
    """The jobs that take the place of a job, the first first."""
    rows = con.execute(
        "select detail from event where what = ? and subject = ? group by detail order by min(event_id)",
        [SUPERSEDED, f"job:{job_id}"],
    ).fetchall()
    return [name for (name,) in rows]


def is_signed(con: Connection, job_id: str) -> bool:
    """Whether a job was signed off."""
    return signature(con, job_id) is not None


def signer(by: str | None) -> str:
    """Who signs: a person, not whom the system happens to run as.

    Raises
    ------
    InputError
        where nobody is named.
    """
    named = (by or os.environ.get(ENVIRONMENT) or "").strip()
    if not named:
        raise InputError("nobody is named to sign", cure=f"name the person with --by, or in {ENVIRONMENT}")
    return named


def sign(con: Connection, job_id: str, by: str, note: str | None) -> None:
    """Sign a job off: nothing of it is altered from now on."""
    check_unsigned(con, job_id)
    con.execute("insert into signature values (?, now(), ?, ?)", [job_id, by, note])


def now(con: Connection) -> str:
    """The moment of this transaction, as text."""
    row = con.execute("select now()").fetchone()
    assert row is not None
    return iso(row[0])


def moment(text: str) -> datetime.datetime:
    """A moment as a person writes it; without an offset it is local time.

    Raises
    ------
    InputError
        where it is no time.
    """
    try:
        found = datetime.datetime.fromisoformat(text.strip())
        found = found if found.tzinfo else found.astimezone()
        found.astimezone(datetime.UTC)  # the first and the last day have moments that no clock of ours tells
    except (ValueError, OverflowError):
        problem = Problem("a time such as 2026-03-01 or 2026-03-01 14:30", column="since", found=text)
        raise InputError("the log cannot be read from then on", problems=[problem]) from None
    return found
