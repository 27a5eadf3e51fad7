"""Points that are still open when a job is to be ordered or signed off, and those accepted with a reason."""

from __future__ import annotations

import json
from collections.abc import Iterator

from catalog_schema.answers import Package
from catalog_schema.choices import Choice, OpenKind, OpenPoint, Setup, WentOn
from catalog_schema.jobs import Job
from catalog_schema.plain import from_plain
from matcher.answers.messages import check_says
from matcher.errors import InputError, StillOpen
from matcher.jobs import messages as says
from matcher.jobs.changes import today_of
from matcher.jobs.setup_log import setup_record
from matcher.settings import Settings
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import iso, record
from matcher.store.documents.saving import job_on_terms
from matcher.store.records.choices import latest_choice

ANYWAY = {"order": "order anyway", "sign": "sign anyway"}
"""Word in the log for an action taken in spite of open points, by action."""


def open_to_order(con: Connection, job: Job, choice: Choice, settings: Settings) -> list[OpenPoint]:
    """Return the points that keep a package from being ordered: missing parts, failed rules, figures to measure."""
    today = today_of(con, job, choice, settings)
    return [
        *(_point("withdrawn", name, says.withdrawn_says(name)) for name in today.withdrawn),
        *([] if today.package is not None else [_point("lost", job.job_id, says.LOST)]),
        *(
            _point("breaks", check.rule, check.says or check_says(check))
            for check in today.checks
            if check.verdict == "no"
        ),
        *figures_open(today.package or choice.package),
    ]


def open_to_sign(con: Connection, job_id: str, settings: Settings) -> list[OpenPoint]:
    """Return the points that keep a job from being signed off: those of the order, and unread fields of its set-up.

    Raises
    ------
    NotKnown
        if the store holds no such job.
    """
    choice = latest_choice(con, job_id)
    job = job_on_terms(con, job_id, choice.terms if choice else {})
    if choice is None:
        return [_point("nothing chosen", job_id, says.nothing_chosen_says(job_id))]
    return [*open_to_order(con, job, choice, settings), *_set_up_open(setup_record(con, job_id, settings))]


def figures_open(package: Package) -> Iterator[OpenPoint]:
    """Yield the figures of a package that have to be measured, each once."""
    missing = {name for check in package.checks for name in check.missing}
    for name in package.measure:
        yield _point("figure", name, says.figure_open_says(name, is_missing=name in missing))


def _set_up_open(setup: Setup) -> Iterator[OpenPoint]:
    for gain in setup.gains:
        if gain.verdict == "no":
            yield _point("set-up", f"gain_v.{gain.opening_id}", f"gain at {gain.opening_id}: {gain.says}")
    for check in setup.checks:
        if check.verdict == "no":
            yield _point("set-up", check.name, check.says)
    if setup.to_measure:
        yield _point("set-up", "to measure", says.set_up_open_says(setup))


def _point(what: OpenKind, subject: str, says: str) -> OpenPoint:
    return OpenPoint(what=what, subject=subject, says=says)


def check_open(what: str, job_id: str, points: list[OpenPoint], *, anyway: bool, note: str | None) -> None:
    """Refuse to order or sign off a job that has open points, unless a reason to proceed is given.

    Raises
    ------
    StillOpen
        with every open point.
    InputError
        if `anyway` is set without a reason.
    """
    if not points:
        return
    if not anyway:
        raise StillOpen(job_id, "ordered" if what == "order" else "signed off", points)
    if not (note or "").strip():
        raise InputError(f"{len(points)} points are open and no reason is given to go on", fix="--note TEXT gives it")


def write_anyway(
    con: Connection, what: str, job_id: str, points: list[OpenPoint], note: str | None, by: str | None
) -> None:
    """Write into the log which points were open and why the job proceeded."""
    reason = (note or "").strip()
    document = json.dumps({"note": reason, "points": [point.to_dict() for point in points]}, ensure_ascii=False)
    record(con, ANYWAY[what], f"job:{job_id}", says.went_on_says(reason, points), by=by, document=document)


def went_on(con: Connection, job_id: str) -> list[WentOn]:
    """Return the orders and signatures of a job given in spite of open points, oldest first."""
    rows = con.execute(
        "select what, happened_at, by_whom, document from event where subject = ? and what in (?, ?) order by event_id",
        [f"job:{job_id}", *ANYWAY.values()],
    ).fetchall()
    words = {word: what for what, word in ANYWAY.items()}
    return [
        from_plain(WentOn, {"what": words[what], "at": iso(at), "by": by, **json.loads(document)})
        for what, at, by, document in rows
    ]
