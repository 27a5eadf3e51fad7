"""Vehicles and jobs of the store, as documents and as tables."""

from __future__ import annotations

from typing import Any

from catalog_schema.answers import StoredDocument, to_plain
from catalog_schema.jobs import LADDER_MEANING, OwnedPart
from catalog_schema.vehicles import OPENINGS
from matcher.answers.messages import amount
from matcher.lengths import shown_length
from matcher.store.catalog.openings import opening_kinds
from matcher.store.database.archived import archived_openings, is_listed
from matcher.store.database.connection import Connection, records
from matcher.store.database.kept_documents import answered_on, stored_job
from matcher.store.database.provenance import signature, successors
from matcher.store.records.choices import latest_choice, latest_setup

HIDDEN = frozenset({"vehicle_id", "document", "opening_id", "kind", "label", "basis", "place", "position"})


def vehicle_list(con: Connection, archived: bool | None = False) -> StoredDocument:
    """List the vehicles with the number of their openings: those in use, those archived, or both if None."""
    rows = con.execute(
        f"select vehicle_id, label, year, body from vehicle where {is_listed('vehicle')} order by vehicle_id",
        [archived],
    ).fetchall()
    entries = [
        {
            "vehicle_id": name,
            "label": label,
            "year": year,
            "body": body,
            "openings": len(opening_kinds(con, name).keys() - archived_openings(con, name)),
        }
        for name, label, year, body in rows
    ]
    heads = ["vehicle_id", "label", "year", "body", "openings"]
    return StoredDocument(document={"vehicles": entries}, heads=heads, cells=_cells(entries, heads))


def vehicle_figures(con: Connection, vehicle_id: str) -> StoredDocument:
    """Return a vehicle's openings with their current figures, including readings.

    Raises
    ------
    NotKnown
        if the store holds no such vehicle.
    """
    opening_kinds(con, vehicle_id)
    (vehicle,) = records(con, "select * exclude (document) from vehicle where vehicle_id = ?", vehicle_id)
    gone = archived_openings(con, vehicle_id)
    openings = [
        {"kind": kind, **row}
        for kind in OPENINGS
        for row in records(con, f"select * from opening_{kind} where vehicle_id = ? order by opening_id", vehicle_id)
        if row["opening_id"] not in gone
    ]
    around = records(con, "select * from keep_clear where vehicle_id = ? order by opening_id, position", vehicle_id)
    panes = records(con, "select * from pane where vehicle_id = ? order by position", vehicle_id)
    zones = records(con, "select zone, why from no_fasten where vehicle_id = ?", vehicle_id)
    document = {**vehicle, "openings": openings, "keep_clear": around, "panes": panes, "no_fasten": zones}
    cells = [[row["opening_id"], row["kind"], row.get("label") or "", _figures(row)] for row in openings]
    cells += [[row["opening_id"], "keep clear", row["name"], _figures(row)] for row in around]
    cells += [["", "pane", row["pane"], _figures(row)] for row in panes]
    cells += [["", "no fasten", row["zone"], row["why"] or ""] for row in zones]
    head = [vehicle_id, "vehicle", vehicle["label"] or "", _figures(vehicle)]
    return StoredDocument(document=document, heads=["opening", "kind", "label", "figures"], cells=[head, *cells])


def job_list(con: Connection, archived: bool | None = False) -> StoredDocument:
    """List the jobs with their vehicles: those in use, those archived, or both if None."""
    rows = con.execute(f"select job_id from job where {is_listed('job')} order by job_id", [archived]).fetchall()
    entries = [
        {
            "job_id": job.job_id,
            "vehicle_id": job.vehicle_id,
            "label": job.label,
            "alteration": job.limits.alteration,
        }
        for job in (stored_job(con, name) for (name,) in rows)
    ]
    heads = ["job_id", "vehicle_id", "label", "alteration"]
    return StoredDocument(document={"jobs": entries}, heads=heads, cells=_cells(entries, heads))


def job_terms(con: Connection, job_id: str) -> StoredDocument:
    """Return a job's limits and wishes.

    Raises
    ------
    NotKnown
        if the store holds no such job.
    """
    job, version = stored_job(con, job_id), answered_on(con, job_id)
    limits = job.limits
    step = limits.alteration or "bolt_on"
    gone = [name for names in to_plain(limits.without).values() for name in names or ()]
    cells = [
        ["vehicle", job.vehicle_id],
        ["alteration", f"{step}: {LADDER_MEANING[step]}"],
        *([f"alteration at {place}", str(allowed)] for place, allowed in limits.per_opening.items()),
        ["budget", amount(limits.budget) if limits.budget is not None else "none named"],
        ["tiers", ", ".join(amount(tier) for tier in job.tiers if tier is not None) or "none named"],
        ["least screen", amount(limits.screen_min_in.value, "in") if limits.screen_min_in else "any"],
        ["features required", ", ".join(limits.must or ()) or "nothing named"],
        [
            "standby drain at most",
            amount(limits.at_rest_ma.value, "mA") if limits.at_rest_ma else "the shop's default",
        ],
        *([["days until delivery at most", str(days)]] if (days := limits.deliver_within_days) is not None else []),
        *([["without", ", ".join(gone)]] if gone else []),
        *([["pinned", ", ".join(f"{place}: {part}" for place, part in job.pin.items())]] if job.pin else []),
        ["wanted", ", ".join(job.choose or ()) or "the head unit and every speaker opening"],
        ["customer's own", "; ".join(map(_owned, job.owned)) or "none named"],
        ["originals that stay", ", ".join(job.keep or ()) or "none named"],
        ["answered on", f"version {version} of the catalog" if version is not None else "not asked yet"],
        ["wishes, 0 to 5", ", ".join(f"{name} {weight}" for name, weight in to_plain(job.wishes).items())],
        *_record_cells(record := job_record(con, job_id), job.supersedes),
    ]
    document = to_plain(job) | {"answered_on": version} | record
    return StoredDocument(document=document, heads=["of the job", job_id], cells=cells)


def job_record(con: Connection, job_id: str) -> dict[str, Any]:
    """Return the choice for a job, whether it was set up and signed off, and the job that replaces it."""
    choice, setup, signed = latest_choice(con, job_id), latest_setup(con, job_id), signature(con, job_id)
    return {
        "choice": None
        if choice is None
        else {name: getattr(choice, name) for name in ("number", "rank", "catalog_version", "chosen_at", "by", "note")},
        "setup": None
        if setup is None
        else {name: getattr(setup, name) for name in ("number", "choice", "set_up_at", "by", "verdict")},
        "signed": None if signed is None else dict(zip(("by", "at", "note"), signed, strict=True)),
        "superseded_by": successors(con, job_id),
    }


def _record_cells(record: dict[str, Any], supersedes: str | None) -> list[list[str]]:
    choice, setup, signed = record["choice"], record["setup"], record["signed"]
    chosen = "nothing yet"
    if choice is not None:
        chosen = (
            f"package {choice['rank']} of version {choice['catalog_version']}, by {choice['by']}, {choice['chosen_at']}"
        )
    return [
        ["chosen", chosen],
        ["set up", "not yet" if setup is None else f"by {setup['by']}, {setup['set_up_at']}"],
        *([] if signed is None else [["signed off", f"by {signed['by']}, {signed['at']}"]]),
        *([] if supersedes is None else [["supersedes", supersedes]]),
        *([["superseded by", ", ".join(record["superseded_by"])]] if record["superseded_by"] else []),
    ]


def _figures(row: dict[str, Any]) -> str:
    """Return the known figures of a row, each with its own tolerance if it has one."""
    shown = []
    for name, value in row.items():
        if value is None or name in HIDDEN or name.endswith("_tol"):
            continue
        tol = row.get(f"{name}_tol")
        value, tol = (shown_length(one) if name.endswith("_mm") else one for one in (value, tol))
        own = "" if tol is None else f" ±{_text(tol)}"
        shown.append(f"{name} {_text(value)}{own}")
    return ", ".join(shown)


def _owned(one: OwnedPart) -> str:
    return ", ".join(filter(None, (one.part_id, one.opening_id, one.condition)))


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else amount(value)


def _cells(entries: list[dict[str, Any]], heads: list[str]) -> list[list[str]]:
    return [["" if entry[head] is None else str(entry[head]) for head in heads] for entry in entries]
