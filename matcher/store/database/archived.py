"""Archived subjects, such as ``job:tern-nocut``, recorded only in the log.

They are in no list, search or ranking that does not name them.
"""

from __future__ import annotations

from matcher.store.database.connection import Connection

ARCHIVED = (
    "(select subject from event where what in ('archive', 'unarchive') "
    "group by subject having arg_max(what, event_id) = 'archive')"
)
"""SQL for the archived subjects: those whose latest event is being archived."""


def is_listed(kind: str) -> str:
    """Return SQL for the jobs or vehicles to list, by $1: archived, in use, or all (true, false, null)."""
    return f"coalesce(('{kind}:' || {kind}_id in {ARCHIVED}) = $1, true)"


def archived_openings(con: Connection, vehicle_id: str) -> set[str]:
    """Return the archived openings of a vehicle."""
    place = f"opening:{vehicle_id}/"
    rows = con.execute(f"select subject from {ARCHIVED} where starts_with(subject, $1)", [place]).fetchall()
    return {subject.removeprefix(place) for (subject,) in rows}
