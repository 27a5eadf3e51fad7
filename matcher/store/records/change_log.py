"""All changes in a store: those in the tables of loads, readings, choices and set-ups, and events for the rest."""

from __future__ import annotations

import datetime

from catalog_schema.choices import ChangeLog, LogEntry
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import iso

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
    """Return every change, oldest first; for one job, those to it and its vehicle.

    Parameters
    ----------
    since
        Only changes from this moment on.
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
