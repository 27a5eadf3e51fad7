"""The catalog's versions: their history, differences, and restoring one."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from catalog_schema.parts import FAMILIES
from matcher.errors import InputError
from matcher.store.catalog.held import lay_held, take_off
from matcher.store.catalog.overlay import lay_over_parts
from matcher.store.catalog.set_aside import column_list, column_names
from matcher.store.database.archived import ARCHIVED
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import who
from matcher.store.database.stamps import catalog_version
from matcher.store.database.tables import part_columns
from matcher.store.importing.report import FieldChange, LoadReport


@dataclass(frozen=True, slots=True)
class Version:
    """One load, or one restored version."""

    version: int
    made_at: datetime.datetime
    what: str
    by: str | None
    family: str | None
    files: tuple[str, ...]
    new: int
    changed: int
    unchanged: int
    withdrawn: int
    duplicates: int
    problems: int
    skipped: int
    lines: int
    """Lines of the files: the sum of all counts but ``withdrawn``."""


@dataclass(frozen=True, slots=True)
class Holding:
    """Contents of one family in the catalog."""

    family: str
    parts: int
    measured: int
    """Parts with readings applied."""
    problems: int
    """Rows still to be mended."""
    suppliers: tuple[str, ...]


def holdings(con: Connection) -> list[Holding]:
    """Return the contents of the catalog by family; families without parts or problems are left out."""
    open_problems = dict(
        con.execute("select family, count(*) from problem where mended_in is null group by family").fetchall()
    )
    counts = {family: rest for family, *rest in con.execute(" union all ".join(map(_counts, FAMILIES))).fetchall()}
    found = []
    for family in (*FAMILIES, ""):
        parts, measured, suppliers = counts.get(family, (0, 0, None))
        if parts or family in open_problems:
            found.append(Holding(family, parts, measured, open_problems.get(family, 0), tuple(suppliers or ())))
    return found


def _counts(family: str) -> str:
    return (
        f"select '{family}', count(*), count(*) filter (where patched), "
        "list_sort(list(distinct supplier) filter (where supplier <> '')) "
        f"from {family}_rows where until is null and 'part:' || part_id not in {ARCHIVED}"
    )


@dataclass(frozen=True, slots=True)
class PartDiff:
    """One part in two versions: new, changed or withdrawn, and its fields before and after."""

    family: str
    part_id: str
    what: str
    fields: dict[str, tuple[Any, Any]] = field(default_factory=dict)


def history(con: Connection) -> list[Version]:
    """Return every version, oldest first."""
    rows = con.execute(
        "select version, made_at, what, by_whom, family, files, new, changed, unchanged, withdrawn, "
        "duplicates, problems, skipped, lines from load order by version"
    ).fetchall()
    return [_version(*row) for row in rows]


def _version(
    version: int,
    made_at: datetime.datetime,
    what: str,
    by: str | None,
    family: str | None,
    files: list[str] | None,
    *counts: int | None,
) -> Version:
    return Version(version, made_at, what, by, family, tuple(files or ()), *(count or 0 for count in counts))


def check_version(con: Connection, version: int) -> None:
    """Refuse an unknown version; 0 is the empty catalog.

    Raises
    ------
    InputError
        if there is no such version.
    """
    latest = catalog_version(con)
    if not 0 <= version <= latest:
        known = f"versions 0 (empty) to {latest}" if latest else "version 0 (empty) only"
        raise InputError(f"the catalog has no version {version}", fix=f"it has {known}: boltback catalog history")


def diff(con: Connection, before: int, after: int) -> list[PartDiff]:
    """Return the changes of each part from one version to another, by family and part.

    Raises
    ------
    InputError
        if a version is not known.
    """
    check_version(con, before)
    check_version(con, after)
    return [found for family in FAMILIES for found in _family_diff(con, family, before, after)]


def rows_at(family: str, version: int) -> str:
    """Return SQL for a family's rows in a version."""
    return f"(select * from {family}_rows where since <= {version} and (until is null or until > {version}))"


def _family_diff(con: Connection, family: str, before: int, after: int) -> Iterator[PartDiff]:
    found = {part.part_id: part for part in changed_parts(con, family, before, after)}
    rows = con.execute(
        f"select coalesce(b.part_id, a.part_id), b.part_id is null from {rows_at(family, before)} b "
        f"full join {rows_at(family, after)} a using (part_id) where b.part_id is null or a.part_id is null"
    ).fetchall()
    found |= {part_id: PartDiff(family, part_id, "new" if is_new else "withdrawn") for part_id, is_new in rows}
    yield from (found[part_id] for part_id in sorted(found))


MOST_CHANGES = 100
"""Most changed fields in a report; the history has them all."""


def note_changes(con: Connection, report: LoadReport) -> None:
    """Write the changes of a load's version into its report: all counts, and the first changes, prices first."""
    found: list[FieldChange] = []
    for family in report.families:
        names = [name for name in column_names(family) if not name.endswith('_tol"') and name != '"cell_basis"']
        emptied = " + ".join(f"(b.{name} is not null and a.{name} is null)::integer" for name in names)
        changed = " + ".join(f"(b.{name} is distinct from a.{name})::integer" for name in column_names(family))
        row = con.execute(
            "select count(*) filter (where emptied > 0), coalesce(sum(emptied), 0), coalesce(sum(changed), 0) "
            f"from (select {emptied} as emptied, {changed} as changed from {rows_at(family, report.version - 1)} b "
            f"join {rows_at(family, report.version)} a using (part_id) where b.since <> a.since)"
        ).fetchone()
        assert row is not None
        report.parts_emptied += int(row[0])
        report.figures_emptied += int(row[1])
        report.changed_fields += int(row[2])
        parts = changed_parts(con, family, report.version - 1, report.version, most=MOST_CHANGES)
        found += [
            FieldChange(family, part.part_id, name, *pair) for part in parts for name, pair in part.fields.items()
        ]
    if report.figures_emptied:
        report.warnings.append(_emptied_message(report))
    report.changes = sorted(found, key=lambda change: change.field != "price")[:MOST_CHANGES]


def _emptied_message(report: LoadReport) -> str:
    """Message about the figures that a version empties, and how to keep them."""
    parts, figures = report.parts_emptied, report.figures_emptied
    lose = f"{parts:,} parts lose" if parts > 1 else "1 part loses"
    message = f"{lose} {figures:,} figure{'s' * (figures > 1)} that the catalog had"
    keep = f"; to keep them as readings: boltback catalog keep-emptied {report.version}"
    return message if report.dry_run else message + keep


def changed_parts(
    con: Connection, family: str, before: int, after: int, *, most: int | None = None
) -> Iterator[PartDiff]:
    """Yield the changed parts of a family in both versions, by part; the first ``most`` by price."""
    names = [name.strip('"') for name in column_names(family)]
    sides = ", ".join(f'{side}."{name}"' for side in "ba" for name in names)
    result = con.execute(
        f"select {sides} from {rows_at(family, before)} b join {rows_at(family, after)} a using (part_id) "
        "where b.since <> a.since order by "
        + ("b.part_id" if most is None else f"b.price is not distinct from a.price, b.part_id limit {most}")
    )
    for row in result.fetchall():
        old, new = row[: len(names)], row[len(names) :]
        fields = {name: (was, now) for name, was, now in zip(names, old, new, strict=True) if was != now}
        if fields:
            yield PartDiff(family, new[names.index("part_id")], "changed", fields)


def restore(con: Connection, version: int, by: str | None = None) -> Version:
    """Bring the catalog back to an earlier version, as a new one; the history is kept.

    Raises
    ------
    InputError
        if there is no such version.
    """
    check_version(con, version)
    number = catalog_version(con) + 1
    counts = [_restore_family(con, family, version, number) for family in FAMILIES]
    new, changed, withdrawn = (sum(column) for column in zip(*counts, strict=True))
    con.execute(
        "insert into load (version, made_at, what, by_whom, new, changed, unchanged, withdrawn, "
        "problems, skipped) values ($1, now(), $2, $3, $4, $5, 0, $6, 0, 0)",
        [number, f"restore {version}", who(by), new, changed, withdrawn],
    )
    return history(con)[-1]


def _restore_family(con: Connection, family: str, version: int, number: int) -> tuple[int, int, int]:
    found = list(_family_diff(con, family, number - 1, version))
    by_kind = {what: [part.part_id for part in found if part.what == what] for what in ("new", "changed", "withdrawn")}
    back, away = by_kind["new"] + by_kind["changed"], by_kind["changed"] + by_kind["withdrawn"]
    names = column_list(family)
    con.execute(
        f"create or replace temp table back as select {names}, supplier from {rows_at(family, version)} "
        "where part_id in (select unnest($1::varchar[]))",
        [back],
    )
    con.execute(
        f"update {family}_rows set until = $1 where until is null and part_id in (select unnest($2::varchar[]))",
        [number, away],
    )
    con.execute(
        f"insert into {family}_rows ({names}, supplier, since, until, patched) "
        f"select {names}, supplier, $1, null, false from back",
        [number],
    )
    con.execute(
        f"insert into mended_row select m.family, m.part_id, $1, m.problem_id, m.over from mended_row m "
        f"join {rows_at(family, version)} r on r.part_id = m.part_id and r.since = m.since "
        "where m.family = $2 and m.part_id in (select part_id from back)",
        [number, family],
    )
    lay_over_parts(con, family)
    return len(by_kind["new"]), len(by_kind["changed"]), len(by_kind["withdrawn"])


@contextmanager
def looking_back(con: Connection, version: int) -> Iterator[None]:
    """Let ``<family>`` and ``part`` show the catalog of an earlier version.

    Current readings apply: a measured value takes precedence over a claim of any date.

    Raises
    ------
    InputError
        if there is no such version.
    """
    check_version(con, version)
    for family in FAMILIES:
        names = ", ".join(f'"{name}"' for name, _ in part_columns(family))
        con.execute(f"create temp table held_{family} as select {names} from {rows_at(family, version)}")
        lay_over_parts(con, family, table=f"temp.held_{family}")
    lay_held(con)
    try:
        yield
    finally:
        take_off(con)
