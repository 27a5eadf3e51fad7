"""Choices and set-ups: whole documents, numbered within their job; all are kept, the last counts."""

from __future__ import annotations

import json
from typing import TypeVar

from catalog_schema.choices import Choice, Setup
from catalog_schema.plain import from_plain
from matcher.errors import StoreFault
from matcher.store.database.connection import Connection

Kept = TypeVar("Kept", Choice, Setup)

MOMENT = "case when date_trunc('second', now()) = ?::timestamptz then now() else ?::timestamptz end"
"""SQL of a document's moment, which has whole seconds: exact if it is now, so that the log keeps its order."""


def next_number(con: Connection, table: str, job_id: str) -> int:
    """Return the number of a job's next choice or set-up."""
    row = con.execute(f"select coalesce(max(number), 0) + 1 from {table} where job_id = ?", [job_id]).fetchone()
    assert row is not None
    return int(row[0])


def save_choice(con: Connection, choice: Choice) -> None:
    """Save a choice; it counts from now on."""
    con.execute(
        f"insert into choice values (?, ?, {MOMENT}, ?, ?, ?, ?)",
        [
            choice.job_id,
            choice.number,
            choice.chosen_at,
            choice.chosen_at,
            choice.by,
            choice.rank,
            choice.catalog_version,
            json.dumps(choice.to_dict(), ensure_ascii=False),
        ],
    )


def save_setup(con: Connection, setup: Setup) -> None:
    """Save a set-up; it counts from now on."""
    con.execute(
        f"insert into setup values (?, ?, {MOMENT}, ?, ?)",
        [
            setup.job_id,
            setup.number,
            setup.set_up_at,
            setup.set_up_at,
            setup.by,
            json.dumps(setup.to_dict(), ensure_ascii=False),
        ],
    )


def latest_choice(con: Connection, job_id: str) -> Choice | None:
    """Return the choice that counts; None if nothing was chosen."""
    return next((_read(Choice, text, job_id) for text in _documents(con, "choice", job_id)[-1:]), None)


def choices(con: Connection, job_id: str) -> list[Choice]:
    """Return every choice of a job, oldest first."""
    return [_read(Choice, text, job_id) for text in _documents(con, "choice", job_id)]


def latest_setup(con: Connection, job_id: str) -> Setup | None:
    """Return the set-up that counts; None if nothing was measured."""
    return next((_read(Setup, text, job_id) for text in _documents(con, "setup", job_id)[-1:]), None)


def setups(con: Connection, job_id: str) -> list[Setup]:
    """Return every set-up of a job, oldest first."""
    return [_read(Setup, text, job_id) for text in _documents(con, "setup", job_id)]


def _documents(con: Connection, table: str, job_id: str) -> list[str]:
    rows = con.execute(f"select document from {table} where job_id = ? order by number", [job_id]).fetchall()
    return [text for (text,) in rows]


def _read(model: type[Kept], text: str, job_id: str) -> Kept:
    try:
        return from_plain(model, json.loads(text))
    except ValueError as error:
        raise StoreFault(f"a document of the job {job_id} cannot be read: {error}", fix="take back a backup") from None
