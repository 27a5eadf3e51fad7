"""Lists into the catalog: one transaction, every row loaded or kept with its reasons."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Sequence
from contextlib import suppress
from itertools import islice
from pathlib import Path

from catalog_schema.maps import ListMap
from matcher.errors import InputError
from matcher.store.connection import Connection
from matcher.store.files import Look, look_at
from matcher.store.headers import check_family
from matcher.store.history import changed_parts
from matcher.store.intake import Intake, Order, Tell
from matcher.store.listing import Fault
from matcher.store.map_store import save_map, with_family
from matcher.store.opening import Store
from matcher.store.overlay import lay_over_parts
from matcher.store.problems import keep_problems
from matcher.store.provenance import who
from matcher.store.report import Change, LoadReport, ProblemRow
from matcher.store.versions import Written, catalog_version, hand_back, loaded_parts, write_rows

MOST_CHANGES = 100
"""Changed fields that a report names; the history has them all."""

_TWIN = "one row for each part: an earlier row of this list says otherwise"
_TWIN_CURE = "load this row alone if it is the right one, else drop it: boltback catalog problems --drop"
_STRANGER_CURE = "give it a number of its own, or take the other out of its list"


class _DryRunError(Exception):
    """Ends the transaction of a dry run."""


def load_lists(
    store: Store,
    paths: Sequence[Path],
    family: str | None = None,
    *,
    map_: ListMap | None = None,
    encoding: str | None = None,
    keep_map: str | None = None,
    supplier: str | None = None,
    complete: bool = False,
    dry_run: bool = False,
    sure: bool = False,
    by: str | None = None,
    tell: Tell = lambda _: None,
) -> LoadReport:
    """Load lists into the catalog, all of them or none.

    Parameters
    ----------
    family
        What the lists hold; left out where a map, or a column ``family``, tells it.
    map_
        How the lists are read, where their headers are not ours.
    encoding
        How text files are written; found where none is named.
    keep_map
        The map's text, where it is to be kept in the store by its name.
    supplier
        Whose lists they are; the map's where there is one.
    complete
        Whether the lists hold all that the supplier has: its other parts are withdrawn.
    dry_run
        Report what would happen, change nothing.
    sure
        Take rows whose figures are unusual, or at odds with each other: somebody says that they are right.
    tell
        Takes words on the progress.

    Raises
    ------
    FileRefused
        where a file cannot be taken; nothing of any was.
    NotKnown
        where there is no such family.
    """
    family = None if family is None else check_family(family)
    if map_ is not None:
        map_, family = with_family(map_, family), None
        supplier = supplier or map_.supplier or map_.name
    orders = [Order(Path(path), family, map_, encoding, sure) for path in paths]
    return load_orders(
        store, orders, keep_map=keep_map, supplier=supplier, complete=complete, dry_run=dry_run, by=by, tell=tell
    )


def load_orders(
    store: Store,
    orders: Sequence[Order],
    *,
    keep_map: str | None = None,
    supplier: str | None = None,
    complete: bool = False,
    dry_run: bool = False,
    by: str | None = None,
    tell: Tell = lambda _: None,
) -> LoadReport:
    """Load lists of any families as one version; see `load_lists`."""
    if not orders:
        raise InputError("no list to load", cure="name one or more files")
    report = LoadReport(dry_run=dry_run, files=[str(order.path) for order in orders])
    started = time.monotonic()
    looks = [look_at(order.path) for order in orders]
    with suppress(_DryRunError), store.changing(own=True) as con:
        load_into(
            con, report, list(zip(looks, orders, strict=True)), supplier or "", complete=complete, by=by, tell=tell
        )
        if keep_map is not None and orders[0].map is not None:
            save_map(con, orders[0].map, keep_map, by)
        if dry_run:
            raise _DryRunError
    report.seconds = time.monotonic() - started
    return report


def load_into(
    con: Connection,
    report: LoadReport,
    lists: Sequence[tuple[Look, Order]],
    supplier: str,
    *,
    complete: bool = False,
    by: str | None = None,
    tell: Tell = lambda _: None,
) -> None:
    """Load lists as one version inside the change that is under way; what became of them goes into the report."""
    with tempfile.TemporaryDirectory(prefix="boltback-") as folder:
        intake = Intake(con, Path(folder), tell)
        for look, order in lists:
            intake.take(look, order)
        _count_lines(report, intake)
        _write(con, report, intake, supplier, complete=complete)
        for look, _ in lists:
            look.check_same()
        _record(con, report, intake, supplier, by)


def _count_lines(report: LoadReport, intake: Intake) -> None:
    for listing in intake.listings:
        report.lines += listing.lines
        report.skipped += listing.skipped
    report.warnings += intake.warnings
    report.families = list(dict.fromkeys(share.family for share in intake.shares))


def _write(con: Connection, report: LoadReport, intake: Intake, supplier: str, *, complete: bool) -> None:
    report.version = catalog_version(con) + 1
    report.problems += intake.problems
    con.execute("create temp table refused_part (part_id varchar)")
    refused = [problem.part_id for problem in report.problems if problem.part_id]
    con.execute("insert into refused_part select unnest($1::varchar[])", [refused])
    for family in report.families:
        intake.tell(f"comparing {family}")
        lists = [(share.number, share.understood.relation) for share in intake.shares if share.family == family]
        written = write_rows(con, family, lists, report.version, supplier, complete=complete)
        hand_back(con, family, report.version, _mending_rows(intake, family))
        lay_over_parts(con, family)
        _add(report, intake, written)
    places = {file: place for place, file in enumerate(report.files)}
    report.problems.sort(key=lambda row: (places[row.file], row.line))


def _add(report: LoadReport, intake: Intake, written: Written) -> None:
    report.new += written.new
    report.changed += written.changed
    report.unchanged += written.unchanged
    report.duplicates += written.duplicates
    report.withdrawn += written.withdrawn
    if written.absent_makers:
        makers = ", ".join(written.absent_makers[:5])
        report.warnings.append(f"all parts of {makers} go out: whose list is it? name the supplier with --supplier")
    for number, line, part_id in written.twins:
        report.problems += _late(intake, number, line, Fault("part_id", part_id, _TWIN, _TWIN_CURE))
    for number, line, part_id, other in written.strangers:
        expected = f"a number of its own: a part of {other} has this one"
        report.problems += _late(intake, number, line, Fault("part_id", part_id, expected, _STRANGER_CURE))


def _mending_rows(intake: Intake, family: str) -> list[tuple[int, int, int]]:
    """Rows (list, line) of a family that were written out for a problem, and its number."""
    mends = intake.mends()
    numbers = {str(share.listing.path): share.number for share in intake.shares if share.family == family}
    return [(numbers[file], line, problem) for (file, line), problem in mends.items() if file in numbers]


def _late(intake: Intake, number: int, line: int, fault: Fault) -> list[ProblemRow]:
    return intake.problem_rows(intake.shares[number], {line: [fault]})


def _record(con: Connection, report: LoadReport, intake: Intake, supplier: str, by: str | None) -> None:
    fresh, report.mended = keep_problems(
        con,
        report.problems,
        report.version,
        supplier=supplier,
        mends=intake.mends(),
        files=report.files,
        loaded={family: loaded_parts(family) for family in report.families},
    )
    if report.changes_nothing and not fresh and not report.mended:
        report.version -= 1
        return
    con.execute(
        "insert into load (version, made_at, what, by_whom, family, files, new, changed, unchanged, withdrawn, "
        "duplicates, problems, skipped, lines) "
        "values ($1, now(), 'load', $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
        [
            report.version,
            who(by),
            ", ".join(report.families),
            report.files,
            report.new,
            report.changed,
            report.unchanged,
            report.withdrawn,
            report.duplicates,
            len(report.problems),
            report.skipped.total(),
            report.lines,
        ],
    )
    if report.changed:
        report.changes = _changes(con, report.families, report.version)


def _changes(con: Connection, families: Sequence[str], version: int) -> list[Change]:
    found = (
        Change(family, part.part_id, name, before, after)
        for family in families
        for part in changed_parts(con, family, version - 1, version)
        for name, (before, after) in part.fields.items()
    )
    return list(islice(found, MOST_CHANGES))
