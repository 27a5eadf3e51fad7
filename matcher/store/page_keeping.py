"""What the page keeps in the store: its password's hash, the secret that it signs forms with."""

from __future__ import annotations

from matcher.store.connection import Connection


def page_note(con: Connection, name: str) -> str | None:
    """A note of the page, None where it has none of that name."""
    row = con.execute("select value from page_note where name = $1", [name]).fetchone()
    return None if row is None else row[0]


def write_note(con: Connection, name: str, value: str) -> None:
    """Keep a note, in place of an earlier one."""
    con.execute("insert or replace into page_note values ($1, $2)", [name, value])
