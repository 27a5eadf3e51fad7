"""Lists into the catalog: one transaction, every row loaded or kept with its reasons."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import duckdb

from matcher.errors import InputError
from matcher.store.connection import Store
from matcher.store.files import Look, look_at
from matcher.store.headers import Target, check_family, match_headers
from matcher.store.listing import Fault, Listing, show_cell
from matcher.store.overlay import lay_over_parts, shop_tolerances
from matcher.store.problems import keep_problems
from matcher.store.record_files import read_json_lines, read_json_list, read_parquet_list
from matcher.store.report import LoadReport, ProblemRow
from matcher.store.rows import Understood, understand
from matcher.store.spreadsheets import read_spreadsheet
from matcher.store.text_lists import read_text_list
from matcher.store.versions import Written, catalog_version, write_rows

Tell = Callable[[str], None]

_TWIN = "one row for each part: an earlier row of this list says otherwise"
_TWIN_CURE = "keep the right row, delete the other"


@dataclass(slots=True)
class _Part:
    """One listing as far as it fills one family."""

    number: int
    listing: Listing
    family: str
    targets: list[Target]
    understood: Understood


@dataclass(slots=True)
class _Load:
    """What one load works with."""

    con: duckdb.DuckDBPyConnection
    workdir: Path
    report: LoadReport
    supplier: str
    complete: bool
    tell: Tell
    parts: list[_Part] = field(default_factory=list)


class _DryRunError(Exception):
    """Ends the transaction of a dry run."""


def load_lists(
    store: Store,
    paths: Sequence[Path],
    family: str,
    *,
    supplier: str = "",
    complete: bool = False,
    dry_run: bool = False,
    by: str | None = None,
    tell: Tell = lambda _: None,
) -> LoadReport:
    """Load lists with canonical headers into one family, all of them or none.

    With ``complete`` the lists hold every part of the supplier: its others are withdrawn. A
    ``dry_run`` reports what would happen and changes nothing. ``tell`` takes words on the progress.

    Raises
    ------
    FileRefused
        where a file cannot be taken; nothing of any was.
    NotKnown
        where there is no such family.
    """
    family = check_family(family)
    if not paths:
        raise InputError("no list to load", cure="name one or more files")
    report = LoadReport(dry_run=dry_run, families=[family], files=[str(path) for path in paths])
    started = time.monotonic()
    looks = [look_at(path) for path in paths]
    try:
        with tempfile.TemporaryDirectory(prefix="boltback-") as folder, store.changing() as con:
            load = _Load(con, Path(folder), report, supplier, complete, tell)
            for number, look in enumerate(looks):
                _take_canonical(load, number, look, family)
            _finish(load, looks, by)
            if dry_run:
                raise _DryRunError
    except _DryRunError:
        pass
    report.seconds = time.monotonic() - started
    return report


def _take_canonical(load: _Load, number: int, look: Look, family: str) -> None:
    load.tell(f"reading {look.path}")
    listing = _read(load, look)
    load.report.warnings += [*look.warnings, *listing.warnings]
    targets = match_headers(listing.headers, family, str(look.path))
    understood = understand(
        load.con,
        family,
        listing.relation,
        targets,
        marked=listing.marked,
        tolerances=shop_tolerances(load.con),
        tag=f"{family}_{number}",
    )
    load.parts.append(_Part(number, listing, family, targets, understood))


def _read(load: _Load, look: Look) -> Listing:
    workdir = load.workdir / str(len(load.parts))
    workdir.mkdir()
    match look.format:
        case "csv":
            return read_text_list(look.path, workdir)
        case "xlsx":
            return read_spreadsheet(look.path, workdir)
        case "json":
            return read_json_list(look.path, workdir)
        case "jsonl":
            return read_json_lines(look.path, workdir)
        case _:
            return read_parquet_list(load.con, look.path)


def _finish(load: _Load, looks: Sequence[Look], by: str | None) -> None:
    report, version = load.report, catalog_version(load.con) + 1
    for part in load.parts:
        report.lines += part.listing.lines
        report.skipped += part.listing.skipped
        report.problems += _unread_rows(load.con, part)
    load.con.execute("create temp table refused_part (part_id varchar)")
    refused = [problem.part_id for problem in report.problems if problem.part_id]
    load.con.execute("insert into refused_part select unnest($1::varchar[])", [refused])
    for family in report.families:
        load.tell(f"comparing {family}")
        lists = [(part.number, part.understood.relation) for part in load.parts if part.family == family]
        _count(load, write_rows(load.con, family, lists, version, load.supplier, complete=load.complete))
        lay_over_parts(load.con, family)
    for look in looks:
        look.check_same()
    report.problems.sort(key=lambda row: (report.files.index(row.file), row.line))
    _record(load, version, by)


def _count(load: _Load, written: Written) -> None:
    report = load.report
    report.new += written.new
    report.changed += written.changed
    report.unchanged += written.unchanged
    report.duplicates += written.duplicates
    report.withdrawn += written.withdrawn
    for number, line, part_id in written.twins:
        load.report.problems += _late(load, number, line, Fault("part_id", part_id, _TWIN, _TWIN_CURE))
    for number, line, part_id, other in written.strangers:
        fault = Fault(
            "part_id",
            part_id,
            f"a part of another number: {other} holds this one",
            "give it a number of its own",
        )
        load.report.problems += _late(load, number, line, fault)


def _late(load: _Load, number: int, line: int, fault: Fault) -> list[ProblemRow]:
    part = next(part for part in load.parts if part.number == number)
    return _with_cells(load.con, part, {line: [fault]})


def _unread_rows(con: duckdb.DuckDBPyConnection, part: _Part) -> list[ProblemRow]:
    listing = part.listing
    rows = [
        ProblemRow(str(listing.path), listing.sheet, row.line, part.family, "", (row.fault,),
                   tuple(listing.headers), tuple(row.cells), {})
        for row in listing.broken
    ]  # fmt: skip
    return rows + _with_cells(con, part, part.understood.faults)


def _with_cells(
    con: duckdb.DuckDBPyConnection, part: _Part, faults: dict[int, list[Fault]]
) -> list[ProblemRow]:
    if not faults:
        return []
    listing = part.listing
    query = f"select * from ({listing.relation}) where line in (select unnest($1::integer[]))"
    found = []
    for line, *cells in con.execute(query, [list(faults)]).fetchall():
        shown = tuple(show_cell(cell) for cell in cells)
        fields = {target.column.name: shown[target.position] for target in part.targets}
        found.append(
            ProblemRow(str(listing.path), listing.sheet, line, part.family, fields.get("part_id", "").strip(),
                       tuple(faults[line]), tuple(listing.headers), shown, fields)
        )  # fmt: skip
    return found


def _record(load: _Load, version: int, by: str | None) -> None:
    report = load.report
    kept = keep_problems(load.con, report.problems, version)
    if report.changes_nothing and not kept:
        report.version = version - 1
        return
    report.version = version
    load.con.execute(
        "insert into load (version, made_at, what, by_whom, family, files, new, changed, unchanged, "
        "withdrawn, problems, skipped) values ($1, now(), 'load', $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        [
            version,
            by,
            ", ".join(report.families),
            report.files,
            report.new,
            report.changed,
            report.unchanged,
            report.withdrawn,
            len(report.problems),
            report.skipped.total(),
        ],
    )
