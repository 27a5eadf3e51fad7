"""The catalog's versions: what each load did, what lies between two of them, and going back to one."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from catalog_schema.parts import FAMILIES
from matcher.errors import InputError
from matcher.store.connection import Connection
from matcher.store.held import lay_held, take_off
from matcher.store.overlay import lay_over_parts
from matcher.store.provenance import who
from matcher.store.tables import part_columns
from matcher.store.versions import catalog_version, column_list


@dataclass(frozen=True, slots=True)
class Version:
    """One load, or one going back."""

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
    """Lines of the files: all but ``withdrawn`` add up to it."""


@dataclass(frozen=True, slots=True)
class Holding:
    """What the catalog holds of one family."""

    family: str
    parts: int
    measured: int
    """Parts with readings laid over."""
    problems: int
    """Rows that wait to be mended."""
    suppliers: tuple[str, ...]


def holdings(con: Connection) -> list[Holding]:
    """What the catalog holds, family by family; families without parts or problems are left out."""
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
        f"from {family}_rows where until is null"
    )


@dataclass(frozen=True, slots=True)
class PartDiff:
    """One part between two versions: new, changed or withdrawn, and its fields before and after."""

    family: str
    part_id: str
    what: str
    fields: dict[str, tuple[Any, Any]] = field(default_factory=dict)


def history(con: Connection) -> list[Version]:
    """Every version, the first first."""
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
    """Refuse a number that no version has; 0 is the empty catalog.

    Raises
    ------
    InputError
        where there is no such version.
    """
    latest = catalog_version(con)
    if not 0 <= version <= latest:
        known = f"versions 0 (empty) to {latest}" if latest else "version 0 (empty) only"
        raise InputError(f"the catalog has no version {version}", cure=f"it has {known}: boltback catalog history")


def diff(con: Connection, before: int, after: int) -> list[PartDiff]:
    """What happened to each part from one version to another, by family and part.

    Raises
    ------
    InputError
        where a version is not known.
    """
    check_version(con, before)
    check_version(con, after)
    return [found for family in FAMILIES for found in _family_diff(con, family, before, after)]


def rows_at(family: str, version: int) -> str:
    """SQL for a family's rows in a version."""
    return f"(select * from {family}_rows where since <= {version} and (until is null or until > {version}))"


def _family_diff(con: Connection, family: str, before: int, after: int) -> Iterator[PartDiff]:
    found = {part.part_id: part for part in changed_parts(con, family, before, after)}
    rows = con.execute(
        f"select coalesce(b.part_id, a.part_id), b.part_id is null from {rows_at(family, before)} b "
        f"full join {rows_at(family, after)} a using (part_id) where b.part_id is null or a.part_id is null"
    ).fetchall()
    found |= {part_id: PartDiff(family, part_id, "new" if is_new else "withdrawn") for part_id, is_new in rows}
    yield from (found[part_id] for part_id in sorted(found))


def changed_parts(con: Connection, family: str, before: int, after: int) -> Iterator[PartDiff]:
    """The parts of a family that both versions hold, and hold otherwise; by part."""
    names = [name.strip('"') for name in column_list(family).split(", ")]
    sides = ", ".join(f'{side}."{name}"' for side in "ba" for name in names)
    result = con.execute(
        f"select {sides} from {rows_at(family, before)} b join {rows_at(family, after)} a using (part_id) "
        "where b.since <> a.since order by b.part_id"
    )
    for row in result.fetchall():
        old, new = row[: len(names)], row[len(names) :]
        fields = {name: (was, now) for name, was, now in zip(names, old, new, strict=True) if was != now}
        if fields:
            yield PartDiff(family, new[names.index("part_id")], "changed", fields)


def restore(con: Connection, version: int, by: str | None = None) -> Version:
    """Bring the catalog back to an earlier version, as a new one: nothing of the history is lost.

    Raises
    ------
    InputError
        where there is no such version.
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
    lay_over_parts(con, family)
    return len(by_kind["new"]), len(by_kind["changed"]), len(by_kind["withdrawn"])


@contextmanager
def looking_back(con: Connection, version: int) -> Iterator[None]:
    """Within it, ``<family>`` and ``part`` give the catalog of an earlier version.

    Readings count as they stand now: what was measured beats what was claimed, whenever it was claimed.

    Raises
    ------
    InputError
        where there is no such version.
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
