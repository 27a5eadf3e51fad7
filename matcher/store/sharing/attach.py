"""Attach a published catalog as a supplier: its current version is that supplier's whole list.

The shop's own data take precedence: a part from another supplier's list keeps that supplier, and readings, including
the
shop's own prices, apply as to any list. To attach or refresh is one transaction and a version of the catalog, like any
load. The log of changes records which folders are attached.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import duckdb

from catalog_schema.columns import family_columns
from catalog_schema.parts import FAMILIES
from matcher.errors import FileRefused, InputError, NotKnown, Problem
from matcher.store.catalog.overlay import lay_over_parts
from matcher.store.catalog.set_aside import column_list
from matcher.store.catalog.versions import write_rows
from matcher.store.database.connection import Connection, in_chain, quoted
from matcher.store.database.opening import Store
from matcher.store.database.provenance import record
from matcher.store.database.stamps import catalog_version
from matcher.store.database.tables import part_columns
from matcher.store.importing.report import LoadReport, write_version
from matcher.store.maintenance.check_rows import cell_faults
from matcher.store.sharing.snapshots import Snapshot, current_snapshot

ATTACH, REFRESH, DETACH = "catalog attached", "catalog refreshed", "catalog detached"
OWN_PART = "the shop's own"
"""Rows whose part comes from another list of the shop."""
ATTEMPTS = 5
"""Attempts to find a version again if it disappears while it is read."""


@dataclass(frozen=True, slots=True)
class Attached:
    """A supplier whose list is a published catalog."""

    supplier: str
    folder: Path
    version: int
    """The published version in the store."""


def attached(con: Connection) -> list[Attached]:
    """Return every attached supplier, by name."""
    rows = con.execute(
        "select subject, arg_max(what, event_id), arg_max(document, event_id) from event "
        "where what in ($1, $2, $3) group by subject order by subject",
        [ATTACH, REFRESH, DETACH],
    ).fetchall()
    found = []
    for subject, what, document in rows:
        if what != DETACH:
            event = json.loads(document)
            found.append(Attached(subject.partition(":")[2], Path(event["folder"]), int(event["version"])))
    return found


def attach(store: Store, folder: Path, supplier: str | None = None, *, by: str | None = None) -> LoadReport:
    """Attach a folder of published catalogs as a supplier, or replace its folder.

    Parameters
    ----------
    supplier
        Its name here; by default the folder's name.

    Raises
    ------
    FileRefused
        if the folder has no complete publication, or its rows are at fault; nothing is attached.
    InputError
        if lists of that supplier were loaded here, or its prices are in another currency.
    """
    folder = folder.absolute()
    name = (supplier or folder.name).strip()
    if not name or not name.isprintable():
        raise InputError(f"{name!r} is no name of a supplier", fix="name it with --supplier")

    def take(snapshot: Snapshot) -> LoadReport:
        with store.changing(own=True) as con:
            if name not in {one.supplier for one in attached(con)}:
                _refuse_loaded(con, name)
            return _take(con, snapshot, name, ATTACH, by)

    return _newest(folder, take)


def refresh(store: Store, supplier: str | None = None, *, by: str | None = None) -> dict[str, LoadReport]:
    """Update one attached supplier, or each of them, to the version that is published now.

    Raises
    ------
    NotKnown
        if no such supplier is attached.
    FileRefused
        if the publication cannot be read; the store is unchanged.
    """
    with store.reading() as con:
        chosen = _chosen(attached(con), supplier)

    def take(supplier: str, snapshot: Snapshot) -> LoadReport:
        with store.changing(own=True) as con:
            return _take(con, snapshot, supplier, REFRESH, by)

    return {one.supplier: _newest(one.folder, partial(take, one.supplier)) for one in chosen}


def detach(store: Store, supplier: str, *, by: str | None = None) -> LoadReport:
    """Detach a supplier: its parts leave the catalog, as a new version.

    Raises
    ------
    NotKnown
        if no such supplier is attached.
    """
    with store.changing(own=True) as con:
        (one,) = _chosen(attached(con), supplier)
        report = LoadReport(version=catalog_version(con) + 1, families=list(FAMILIES), files=[str(one.folder)])
        for family in FAMILIES:
            report.withdrawn += _withdraw(con, family, supplier, report.version, "select null where false")
            lay_over_parts(con, family)
        write_version(con, report, "detach", by)
        record(con, DETACH, f"supplier:{supplier}", str(one.folder), by=by)
    return report


def _chosen(known: list[Attached], supplier: str | None) -> list[Attached]:
    chosen = [one for one in known if supplier in (None, one.supplier)]
    if supplier is not None and not chosen:
        names = [one.supplier for one in known]
        raise NotKnown("attached supplier", supplier, names, fix="`boltback catalog attach DIR` attaches one")
    return chosen


def _newest(folder: Path, take: Callable[[Snapshot], LoadReport]) -> LoadReport:
    """Take the current version, and retry with the next one if it disappears in the meantime."""
    for attempt in range(ATTEMPTS):
        snapshot = current_snapshot(folder)
        try:
            snapshot.check(list(FAMILIES))
            return take(snapshot)
        except FileRefused:
            if attempt == ATTEMPTS - 1 or current_snapshot(folder).version == snapshot.version:
                raise
    raise AssertionError


def _refuse_loaded(con: Connection, supplier: str) -> None:
    held = " union all ".join(
        f"select 1 from {family}_rows where until is null and supplier = $1" for family in FAMILIES
    )
    if con.execute(f"{held} limit 1", [supplier]).fetchone():
        raise InputError(f"lists of {supplier} were loaded here", fix="call the attached one otherwise: --supplier")


def _refuse_currency(con: Connection, snapshot: Snapshot) -> None:
    row = con.execute("select word from word_setting where name = 'currency'").fetchone()
    theirs = snapshot.settings.word("currency")
    if row and theirs and row[0] != theirs:
        raise InputError(f"{snapshot.folder} has prices in {theirs}, this shop's are in {row[0]}")


def _take(con: Connection, snapshot: Snapshot, supplier: str, what: str, by: str | None) -> LoadReport:
    """Load a snapshot as its supplier's whole list, within the current change."""
    report = LoadReport(version=_number(con, snapshot), families=list(FAMILIES), files=[str(snapshot.folder)])
    _refuse_currency(con, snapshot)
    try:
        _check_rows(con, snapshot)
        for family in FAMILIES:
            report.withdrawn += _withdraw(con, family, supplier, report.version, _numbers(snapshot, family))
        for family in FAMILIES:
            _write_family(con, report, snapshot, family, supplier)
    except (duckdb.IOException, duckdb.InvalidInputException) as error:
        reason = str(error).splitlines()[0]
        raise FileRefused(f"{snapshot.folder} cannot be read: {reason}", fix="try again, or publish it again") from None
    if report.changes_nothing and not (in_chain(con) and snapshot.version > catalog_version(con)):
        report.version = catalog_version(con)
    else:
        write_version(con, report, what.removeprefix("catalog "), by)
    kept = json.dumps({"folder": str(snapshot.folder.parent), "version": snapshot.version})
    detail = f"version {snapshot.version} of {snapshot.folder.parent}"
    record(con, what, f"supplier:{supplier}", detail, by=by, document=kept)
    return report


def _number(con: Connection, snapshot: Snapshot) -> int:
    """Return the catalog's next version: in a chain, the published number, so that all counters agree."""
    following = catalog_version(con) + 1
    return max(following, snapshot.version) if in_chain(con) else following


def _check_rows(con: Connection, snapshot: Snapshot) -> None:
    problems: list[Problem] = []
    for family in FAMILIES:
        path = snapshot.path(family)
        names = [name for name, *_ in con.execute(f"describe select * from {_parquet(path)}").fetchall()]
        types = con.execute(f"describe select * exclude (cell_basis, supplier) from {_parquet(path)}").fetchall()
        if names[-2:] != ["cell_basis", "supplier"] or [row[:2] for row in types] != part_columns(family):
            raise FileRefused(
                f"{path} has other columns than a {family} of this program",
                fix="publish it with the same version of the program",
            )
        problems += cell_faults(
            con, _parquet(path), family_columns(family), "part_id", "mend it, publish it again", place=family
        )
        problems += _twins(con, path, family)
    if problems:
        raise FileRefused(f"{snapshot.folder} is at fault; nothing of it was taken", problems=problems)


def _twins(con: Connection, path: Path, family: str) -> Iterator[Problem]:
    query = f"select part_id from {_parquet(path)} group by 1 having count(*) > 1 order by 1 limit 3"
    for (part_id,) in con.execute(query).fetchall():
        yield Problem("each part once", file=f"{family} {part_id}", fix="publish it again")


def _parquet(path: Path) -> str:
    return f"read_parquet({quoted(path)})"


def _numbers(snapshot: Snapshot, family: str) -> str:
    return f"select part_id from {_parquet(snapshot.path(family))}"


def _withdraw(con: Connection, family: str, supplier: str, version: int, but: str) -> int:
    """Withdraw parts before any come in, so that a part may return in another family."""
    ((count,),) = con.execute(
        f"update {family}_rows set until = $1 where until is null and supplier = $2 and part_id not in ({but})",
        [version, supplier],
    ).fetchall()
    return int(count)


def _write_family(con: Connection, report: LoadReport, snapshot: Snapshot, family: str, supplier: str) -> None:
    rows = f"read_parquet({quoted(snapshot.path(family))}, file_row_number=true)"
    others = " union all ".join(_held_by_others(FAMILIES, supplier))
    relation = (
        f"select (file_row_number + 1)::integer as line, {column_list(family)}, {quoted(supplier)} as supplier, "
        f"false as guessed, null::integer as mends from {rows} where part_id not in ({others})"
    )
    lines = snapshot.tables[family].rows
    written = write_rows(con, family, [(0, relation)], report.version)
    report.lines += lines
    report.new += written.new
    report.changed += written.changed
    report.unchanged += written.unchanged
    report.skipped[OWN_PART] += lines - written.new - written.changed - written.unchanged
    lay_over_parts(con, family)


def _held_by_others(families: Iterable[str], supplier: str) -> Iterator[str]:
    for family in families:
        yield f"select part_id from {family}_rows where until is null and supplier is distinct from {quoted(supplier)}"
