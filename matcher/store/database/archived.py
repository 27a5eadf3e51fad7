"""Subjects that are archived, such as ``job:tern-nocut``: the log alone tells which.

They are in no list, search or ranking that does not name them.
"""

from __future__ import annotations

from matcher.store.database.connection import Connection

ARCHIVED = (
    "(select subject from event where what in ('archive', 'unarchive') "
    "group by subject having arg_max(what, event_id) = 'archive')"
)
"""SQL for the subjects that are archived: whose latest event of the two says so."""


def is_listed(kind: str) -> str:
    """SQL of the jobs or vehicles to list, by $1: those archived, those in use, or all (true, false, null)."""
    return f"coalesce(('{kind}:' || {kind}_id in {ARCHIVED}) = $1, true)"


def archived_openings(con: Connection, vehicle_id: str) -> set[str]:
    """The openings of a vehicle that are archived."""
    place = f"opening:{vehicle_id}/"
    rows = con.execute(f"select subject from {ARCHIVED} where starts_with(subject, $1)", [place]).fetchall()
    return {subject.removeprefix(place) for (subject,) in rows}
