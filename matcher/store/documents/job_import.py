"""Import a whole job from another store: all of it, or nothing if it conflicts with this one."""

from __future__ import annotations

import datetime
import json
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalog_schema.choices import Choice, Setup
from catalog_schema.documents import DocumentError, parse_json
from catalog_schema.notation import KEPT
from catalog_schema.parts import FAMILIES
from catalog_schema.plain import from_plain
from matcher.errors import FileRefused, InputError, NotKnown, Problem
from matcher.store.catalog.overlay import lay_over_openings
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import record
from matcher.store.documents.job_export import EDITION, KIND, SECTIONS
from matcher.store.documents.saving import save_job, save_vehicle
from matcher.store.importing.intake import Order
from matcher.store.importing.loading import load_into
from matcher.store.importing.report import LoadReport
from matcher.store.lists.files import look_at, read_document
from matcher.store.readings.readings import Voided, lay_anew, lay_over, list_readings, write_reading, write_void
from matcher.store.readings.subjects import ReadingSubject, find_subject
from matcher.store.records.choices import save_choice, save_setup


@dataclass(frozen=True, slots=True)
class Imported:
    """Result of importing a job."""

    job_id: str
    vehicle_id: str
    vehicle_is_new: bool
    parts_new: int
    parts_kept: int
    """Parts that the store had already, which are unchanged."""
    readings: int
    choices: int
    setups: int


def import_job(con: Connection, path: Path, *, keep_parts: bool = False, by: str | None = None) -> Imported:
    """Import a whole job within the current change, as in `Shop.jobs.import_file`."""
    data = _whole_job(path)
    _check_job_is_new(con, data, str(path))
    is_new = _take_vehicle(con, data["vehicle"], str(path), by)
    new, kept = _take_parts(con, data["parts"], path, keep_parts=keep_parts, by=by)
    vehicle_id = str(data["vehicle"]["vehicle_id"]).strip()
    lay_over_openings(con, vehicle_id)
    job_id = save_job(con, json.dumps(loose(data["job"]), ensure_ascii=False), str(path), by, elsewhere=True, sure=True)
    readings = _take_readings(con, data["readings"], str(path))
    for choice in data["choices"]:
        save_choice(con, choice)
    for setup in data["setups"]:
        save_setup(con, setup)
    if data["signature"] is not None:
        signed = data["signature"]
        row = [job_id, signed["at"], signed["by"], signed["note"]]
        con.execute("insert into signature values (?, ?, ?, ?)", row)
    record(con, "job import", f"job:{job_id}", str(path), by=by)
    return Imported(job_id, vehicle_id, is_new, new, kept, readings, len(data["choices"]), len(data["setups"]))


def _whole_job(path: Path) -> dict[str, Any]:
    try:
        data = parse_json(read_document(path, "job"))
        if not isinstance(data, dict) or data.get("kind") != KIND:
            raise FileRefused(f"{path} is no whole job", fix="boltback job export JOB --out FILE writes one")
        if data.get("edition") != EDITION:
            found = Problem(f"{EDITION}", file=str(path), column="edition", found=str(data.get("edition")))
            raise FileRefused(f"{path} was written by another program", problems=[found])
        lacking = [Problem("a whole job has it", file=str(path), column=name) for name in SECTIONS if name not in data]
        if lacking:
            raise FileRefused(f"{path} is not whole", problems=lacking)
        _check_shape(data, str(path))
        choices_ = [from_plain(Choice, one) for one in data["choices"]]
        setups_ = [from_plain(Setup, one) for one in data["setups"]]
        return data | {"choices": choices_, "setups": setups_, "signature": _signed(data["signature"])}
    except DocumentError as error:
        problems = [one._replace(file=str(path)) for one in error.faults]
        raise FileRefused(f"{path} is no whole job", problems=problems) from None
    except (ValueError, TypeError, KeyError) as error:
        raise FileRefused(f"{path} is no whole job: {error}", fix="export it again") from None


READING_KEYS = frozenset({"subject", "field", "value", "tol", "basis", "by", "at", "note", "voided"})
SHAPES: dict[str, tuple[type, Callable[[Any], bool], str]] = {
    "vehicle": (dict, lambda one: isinstance(one.get("vehicle_id"), str), "a vehicle"),
    "job": (dict, lambda one: isinstance(one.get("job_id"), str), "a job"),
    "parts": (
        list,
        lambda some: all(
            isinstance(one, dict)
            and one.get("family") in FAMILIES
            and isinstance(one.get("supplier"), str)
            and isinstance(one.get("row"), dict)
            and isinstance(one["row"].get("part_id"), str)
            for one in some
        ),
        "a list of parts, each with family, supplier and row",
    ),
    "readings": (
        list,
        lambda some: all(
            isinstance(one, dict)
            and one.keys() == READING_KEYS
            and all(isinstance(one[name], str) for name in ("subject", "field", "value", "at"))
            and (one["voided"] is None or {*one["voided"]} == {"by", "at", "note"})
            for one in some
        ),
        f"a list of readings, each with {', '.join(sorted(READING_KEYS))}",
    ),
    "choices": (list, lambda some: _are_numbered(some), "a list of choices, numbered from 1"),
    "setups": (list, lambda some: _are_numbered(some), "a list of set-ups, numbered from 1"),
}
"""Each section: its type, its test, and what is expected."""


def _are_numbered(some: list[Any]) -> bool:
    return [one.get("number") if isinstance(one, dict) else None for one in some] == [*range(1, len(some) + 1)]


def _check_shape(data: dict[str, Any], file: str) -> None:
    problems = [
        Problem(expected, file=file, column=name)
        for name, (kind, is_one, expected) in SHAPES.items()
        if not (isinstance(data[name], kind) and is_one(data[name]))
    ]
    if problems:
        raise FileRefused(f"{file} is no whole job", problems=problems)


def _signed(data: Any) -> dict[str, Any] | None:
    if data is None:
        return None
    return {"by": str(data["by"]), "at": datetime.datetime.fromisoformat(data["at"]), "note": data["note"]}


def loose(data: Any) -> Any:
    """Return a document's exact numbers as JSON writes them."""
    if isinstance(data, dict):
        return {name: loose(one) for name, one in data.items()}
    if isinstance(data, list):
        return [loose(one) for one in data]
    return float(data) if hasattr(data, "normalize") else data


def _check_job_is_new(con: Connection, data: dict[str, Any], file: str) -> None:
    job_id = str(data["job"].get("job_id", "")).strip()
    if con.execute("select 1 from job where job_id = ?", [job_id]).fetchone():
        held = Problem("a job that this store does not hold", file=file, column="job_id", found=job_id)
        raise FileRefused(f"the job {job_id} is here already; nothing was taken in", problems=[held])
    others = [one for one in (*data["choices"], *data["setups"]) if one.job_id != job_id]
    if others:
        fault = Problem(f"choices and set-ups of {job_id} alone", file=file, column="job_id", found=others[0].job_id)
        raise FileRefused(f"{file} is at odds with itself", problems=[fault])


def _take_vehicle(con: Connection, document: Any, file: str, by: str | None) -> bool:
    """Import the vehicle if it is new here; report a different one as a conflict, field by field."""
    vehicle_id = str(document.get("vehicle_id", "")).strip() if isinstance(document, dict) else ""
    row = con.execute("select document from vehicle where vehicle_id = ?", [vehicle_id]).fetchone()
    theirs = loose(document)
    if row is None:
        save_vehicle(con, json.dumps(theirs, ensure_ascii=False), file, by, sure=True)
        return True
    ours = json.loads(row[0].removeprefix("\ufeff"))
    if ours == theirs:
        return False
    problems = [
        Problem(f"{ours.get(name)!r}, as here", file=file, column=f"vehicle.{name}", found=repr(theirs.get(name))[:60])
        for name in sorted({*ours, *theirs})
        if ours.get(name) != theirs.get(name)
    ]
    raise FileRefused(
        f"the vehicle {vehicle_id} is here already and says otherwise; nothing was taken in",
        fix="give one of the two another vehicle_id, in the file where its job names it too",
        problems=problems,
    )


def _take_parts(
    con: Connection, parts: list[dict[str, Any]], path: Path, *, keep_parts: bool, by: str | None
) -> tuple[int, int]:
    """Import new parts as a version of the catalog; return the number of new and of existing parts."""
    held = {name for (name,) in con.execute("select part_id from part").fetchall()}
    wanted = [part for part in parts if not (keep_parts and str(part["row"].get("part_id")) in held)]
    if not wanted:
        return 0, len(parts)
    report = LoadReport(files=[str(path)])
    with tempfile.TemporaryDirectory(prefix="boltback-") as folder:
        lists = [(look_at(order.path), order) for order in _orders(con, Path(folder), wanted)]
        report.files = [str(order.path) for _, order in lists]
        load_into(con, report, lists, by=by)
    _refuse_conflicts(report, path)
    con.execute("update load set files = ? where version = ?", [[str(path)], report.version])
    return report.new, len(parts) - report.new


def _orders(con: Connection, folder: Path, parts: list[dict[str, Any]]) -> Iterator[Order]:
    """Yield a list for each family and supplier; a part that is here keeps its supplier."""
    here = {
        part_id: supplier
        for family in FAMILIES
        for part_id, supplier in con.execute(
            f"select part_id, coalesce(supplier, '') from {family}_rows where until is null"
        ).fetchall()
    }
    groups: dict[tuple[str, str], list[str]] = {}
    for part in parts:
        if part["family"] not in FAMILIES:
            raise NotKnown("family", part["family"], list(FAMILIES))
        supplier = here.get(str(part["row"].get("part_id")), str(part["supplier"]))
        groups.setdefault((part["family"], supplier), []).append(json.dumps(loose(part["row"])))
    for number, ((family, supplier), rows) in enumerate(groups.items()):
        file = folder / f"{family}-{number}.jsonl"
        file.write_text("\n".join(rows) + "\n", encoding="utf-8")
        yield Order(file, family, supplier=supplier)


def _refuse_conflicts(report: LoadReport, path: Path) -> None:
    problems = [
        Problem(f"{one.before}, as here", str(path), None, f"part:{one.part_id}.{one.field}", f"{one.after}")
        for one in report.changes
    ]
    problems += [
        fault._replace(file=str(path), column=f"part:{row.part_id}.{fault.column}")
        for row in report.problems
        for fault in row.faults
    ]
    if problems or report.changed:
        raise FileRefused(
            "parts of the job are here already and say otherwise, or cannot be taken; nothing was taken in",
            fix="with --keep-parts those that are here stay as they are",
            problems=problems,
        )


def _take_readings(con: Connection, readings: list[dict[str, Any]], file: str) -> int:
    """Import the readings that are new here; return their number."""
    known = {(one.subject, one.field, one.value, one.read_at) for one in list_readings(con)}
    count = 0
    subjects: dict[str, ReadingSubject] = {}
    for number, one in enumerate(readings, start=1):
        try:
            at = datetime.datetime.fromisoformat(one["at"])
            if (one["subject"], one["field"], one["value"], at) in known:
                continue
            subject = subjects.setdefault(one["subject"], find_subject(con, one["subject"]))
            rest = {name: one[name] for name in ("tol", "basis", "by", "note")}
            write_reading(con, subject, one["field"], one["value"], at=at, notation=KEPT, sure=True, **rest)
        except InputError as error:
            inner = error.problems[0] if error.problems else Problem(error.what, fix=error.fix)
            place = f"readings[{number}]"
            problem = inner._replace(file=file, column=" ".join(filter(None, (place, inner.column))))
            raise FileRefused(f"{file}: a reading cannot be taken; nothing was", problems=[problem]) from None
        count += 1
    for subject in subjects.values():
        lay_over(con, subject)
    _take_voids(con, readings)
    return count


def _take_voids(con: Connection, readings: list[dict[str, Any]]) -> None:
    held = {(one.subject, one.field, one.value, one.read_at): one for one in list_readings(con)}
    for one in readings:
        if one["voided"] is None:
            continue
        reading = held[one["subject"], one["field"], one["value"], datetime.datetime.fromisoformat(one["at"])]
        if reading.voided is None:
            voided = one["voided"]
            at = datetime.datetime.fromisoformat(voided["at"])
            write_void(con, reading, Voided(at, str(voided["by"]), str(voided["note"])))
            lay_anew(con, find_subject(con, reading.subject))
