"""Check documents against their schemas: vehicles, jobs, choices, set-ups, maps, problem rows."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from catalog_schema.choices import Choice, Setup
from catalog_schema.documents import DocumentError, parse_json, take
from catalog_schema.jobs import Job
from catalog_schema.notation import KEPT
from catalog_schema.plain import from_plain
from catalog_schema.vehicles import OPENINGS, Vehicle
from matcher.errors import FileRefused, Problem
from matcher.store.database.connection import Connection
from matcher.store.mapping.kept_maps import parse_map

BACKUP = "take back a backup: boltback store restore FILE"


def document_faults(con: Connection) -> Iterator[Problem]:
    """Yield faults of documents, and of the names in them."""
    for kind, model in (("vehicle", Vehicle), ("job", Job)):
        yield from _kept_faults(con, kind, model)
    yield from _opening_faults(con)
    for table, made in (("choice", Choice), ("setup", Setup)):
        yield from _made_faults(con, table, made)
    for table in ("choice", "setup", "signature", "page_link"):
        yield from _jobless(con, table)
    yield from _map_faults(con)
    yield from _problem_faults(con)


def _kept_faults(con: Connection, kind: str, model: type[Any]) -> Iterator[Problem]:
    for name, text in con.execute(f"select {kind}_id, document from {kind} order by 1").fetchall():
        place, fix = f"{kind} {name}", f"load it again: boltback {kind} load FILE"
        try:
            made = take(model, parse_json((text or "").removeprefix("\ufeff")), kind, KEPT)
        except DocumentError as error:
            for fault in error.faults:
                yield fault._replace(file=place, fix=fault.fix or fix)
            continue
        own_name = getattr(made, f"{kind}_id")
        if own_name != name:
            yield Problem(f"the {kind}'s own name", file=place, column=f"{kind}_id", found=own_name, fix=fix)
    if kind == "job":
        query = "select job_id, vehicle_id from job where vehicle_id not in (select vehicle_id from vehicle)"
        for name, vehicle in con.execute(query).fetchall():
            fix = "load the vehicle: boltback vehicle load FILE"
            yield Problem("a vehicle of this store", file=f"job {name}", column="vehicle_id", found=vehicle, fix=fix)


def _opening_faults(con: Connection) -> Iterator[Problem]:
    """Yield vehicles whose openings differ between their tables and their document."""
    kinds = " union all ".join(f"select vehicle_id, opening_id from opening_{kind}" for kind in OPENINGS)
    held = set(con.execute(kinds).fetchall())
    for name, text in con.execute("select vehicle_id, document from vehicle order by 1").fetchall():
        try:
            document = parse_json((text or "").removeprefix("\ufeff"))
            listed = {(name, str(one["opening_id"]).strip()) for one in document["openings"]}
        except (DocumentError, KeyError, TypeError):
            continue  # reported already
        own = {place for place in held if place[0] == name}
        for _, opening in sorted(listed ^ own):
            fix = "load the vehicle again: boltback vehicle load FILE"
            yield Problem("its row and its document", file=f"vehicle {name}", column="openings", found=opening, fix=fix)


def _made_faults(con: Connection, table: str, model: type[Any]) -> Iterator[Problem]:
    query = f"select job_id, number, document from {table} order by 1, 2"
    for job_id, number, text in con.execute(query).fetchall():
        place = f"{table} {number} of {job_id}"
        try:
            made = from_plain(model, json.loads(text))
        except ValueError as error:
            yield Problem(f"a document of a {table}", file=place, found=str(error)[:200], fix=BACKUP)
            continue
        if (made.job_id, made.number) != (job_id, number):
            yield Problem("its own job and number", file=place, found=f"{made.job_id} {made.number}", fix=BACKUP)


def _jobless(con: Connection, table: str) -> Iterator[Problem]:
    query = f"select distinct job_id from {table} where job_id not in (select job_id from job) order by 1"
    for (name,) in con.execute(query).fetchall():
        fix = "load the job: boltback job load FILE"
        yield Problem("a job of this store", file=table, column="job_id", found=name, fix=fix)


def _map_faults(con: Connection) -> Iterator[Problem]:
    for name, text in con.execute("select name, document from list_map order by 1").fetchall():
        try:
            made = parse_map(text, f"map {name}")
        except FileRefused as error:
            fix = "load a list with the map's file again: boltback catalog load --map FILE"
            yield from error.problems or [Problem("a map", file=f"map {name}", found=error.what, fix=fix)]
            continue
        if made.name != name:
            yield Problem("the map's own name", file=f"map {name}", column="name", found=made.name, fix=BACKUP)


def _problem_faults(con: Connection) -> Iterator[Problem]:
    """Yield problem rows without reasons, a cell, or their version."""
    query = (
        "select problem_id, faults, fields, len(headers), len(cells), version in (select version from load), "
        "coalesce(mended_in <= (select max(version) from load), true) from problem order by 1"
    )
    for number, faults, fields, *rest in con.execute(query).fetchall():
        whole = _reads(faults, list) and _reads(fields, dict) and rest[0] is not None and rest[1] is not None
        if not (whole and rest[2] and rest[3]):
            place = f"problem {number}"
            yield Problem("its reasons, its cells and its version", file=place, fix=BACKUP)


def _reads(text: str | None, kind: type[Any]) -> bool:
    try:
        return isinstance(json.loads(text or ""), kind)
    except ValueError:
        return False
