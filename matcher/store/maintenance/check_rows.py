"""Check rows against their models: catalog versions, ranges of figures, readable readings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from catalog_schema.columns import TableColumn, columns_of, family_columns
from catalog_schema.notation import KEPT
from catalog_schema.parts import FAMILIES
from catalog_schema.problems import FieldError
from catalog_schema.vehicles import OPENINGS, Electrical, KeepClear, Pane, Runs
from matcher.errors import InputError, NotKnown, Problem
from matcher.settings import DEFAULTS, WORD_DEFAULTS
from matcher.store.database.archived import ARCHIVED
from matcher.store.database.connection import Connection
from matcher.store.database.tables import opening_columns
from matcher.store.lists.cells import taken_sql
from matcher.store.readings.readings import BASES
from matcher.store.readings.subjects import ReadingSubject, find_subject

RESTORE = "go back to a version before it, boltback catalog restore N, or load its list again"
SHOWN = 3
"""Number of rows to name per kind of fault."""


def row_faults(con: Connection) -> Iterator[Problem]:
    """Yield faults of the rows of parts, vehicles, readings and settings."""
    for family in FAMILIES:
        if _has_rows(con, f"{family}_rows") or _has_rows(con, f"{family}_patched"):
            yield from _version_faults(con, family)
        yield from cell_faults(con, f"{family}_rows", family_columns(family), "part_id", RESTORE)
        yield from cell_faults(con, f"{family}_patched", family_columns(family), "part_id", RESTORE)
    yield from _shared_numbers(con)
    yield from _vehicle_faults(con)
    yield from _reading_faults(con)
    yield from _setting_faults(con)


def cell_faults(
    con: Connection, table: str, columns: Iterable[TableColumn], key: str, fix: str, *, place: str = ""
) -> Iterator[Problem]:
    """Yield invalid cells of a table or relation: empty if required, or out of range."""
    if not _has_rows(con, table):
        return
    wrong = {}
    for column in columns:
        cell = f'"{column.name}"'
        missing = f"{cell} is null" if column.required else "false"
        wrong[column.name] = f"({missing} or not coalesce({taken_sql(column.kind, cell)}, true))"
        if column.is_figure:
            wrong[column.tol_name] = f'coalesce("{column.tol_name}" < 0, false)'
    counts = ", ".join(f"count(*) filter (where {sql})" for sql in wrong.values())
    found = con.execute(f"select {counts} from {table}").fetchall()[0]
    expected = {column.name: column.kind.expects() for column in columns}
    for (name, sql), count in zip(wrong.items(), found, strict=True):
        if count:
            rows = con.execute(f'select {key}, "{name}" from {table} where {sql} order by 1 limit {SHOWN}').fetchall()
            for row, cell in rows:
                text = expected.get(name, "a tolerance of 0 or more")
                yield Problem(text, file=f"{place or table} {row}", column=name, found=f"{cell}", fix=fix)


def _has_rows(con: Connection, table: str) -> bool:
    """Whether there is anything to check: most of a check's time is spent on preparing its statements."""
    return con.execute(f"select 1 from {table} limit 1").fetchone() is not None


def _version_faults(con: Connection, family: str) -> Iterator[Problem]:
    """Yield rows that refer to a version that was never loaded, and parts with two current rows."""
    table = f"{family}_rows"
    checks = {
        "since and until that are versions, in their order": (
            f"select part_id, since || ' to ' || coalesce(until::varchar, 'now') from {table} "
            "where since is null or since not in (select version from load) or coalesce(until <= since, false) "
            "or coalesce(until not in (select version from load), false)"
        ),
        "one row at a time": (
            "select part_id, 'from version ' || since from (select *, lead(since) over "
            f"(partition by part_id order by since, until) as next from {table}) "
            "where next is not null and coalesce(until > next, true)"
        ),
        "its readings laid over once": (
            f"select part_id, 'patched ' || patched from {table} r where until is null and patched <> "
            f"((select count(*) from {family}_patched p where p.part_id = r.part_id) = 1 "
            f"or 'part:' || part_id in {ARCHIVED})"
        ),
        "a current row behind it": (
            f"select part_id, 'measured, in {family}_patched' from {family}_patched "
            f"where part_id not in (select part_id from {table} where until is null and patched)"
        ),
        "bases as a document": f"select part_id, cell_basis from {table} where not json_valid(cell_basis)",
    }
    for expected, query in checks.items():
        for part_id, found in con.execute(f"{query} order by 1 limit {SHOWN}").fetchall():
            yield Problem(expected, file=f"{table} {part_id}", found=f"{found}", fix=RESTORE)


def _shared_numbers(con: Connection) -> Iterator[Problem]:
    query = "select part_id, string_agg(family, ', ' order by family) from part group by 1 having count(*) > 1 limit 20"
    for part_id, families in con.execute(query).fetchall():
        yield Problem("one family", file=f"part {part_id}", column="part_id", found=families, fix=RESTORE)


def _vehicle_faults(con: Connection) -> Iterator[Problem]:
    fix = "load the vehicle again: boltback vehicle load FILE"
    place = "vehicle_id || '/' || opening_id"
    tables: dict[str, tuple[Sequence[TableColumn], str]] = {
        "vehicle": ((*columns_of(Electrical), *columns_of(Runs)), "vehicle_id"),
        "keep_clear": (columns_of(KeepClear), place),
        "pane": (columns_of(Pane), "vehicle_id"),
    }
    tables |= {f"opening_{kind}": (opening_columns(kind), place) for kind in OPENINGS}
    for table, (columns, key) in tables.items():
        yield from cell_faults(con, table, [_unasked(column) for column in columns], key, fix)
        query = f"select distinct vehicle_id from {table} where vehicle_id not in (select vehicle_id from vehicle)"
        for (name,) in con.execute(f"{query} limit {SHOWN}").fetchall():
            yield Problem("a vehicle of this store", file=table, column="vehicle_id", found=name, fix=fix)


def _unasked(column: TableColumn) -> TableColumn:
    """Return the column as optional: a cut, or a run, may be unknown as a whole."""
    return TableColumn(column.name, column.kind, False, column.default)


def _reading_faults(con: Connection) -> Iterator[Problem]:
    """Yield readings whose value can no longer be read; readings of deleted subjects are ignored."""
    rows = con.execute(
        "select reading_id, subject, field, value, tol, basis from reading "
        "anti join voided_reading using (subject, field, value, read_at) order by 1"
    ).fetchall()
    subjects: dict[str, ReadingSubject | None] = {}
    for number, name, field, value, tol, basis in rows:
        if name not in subjects:
            subjects[name] = _subject(con, name)
        place = f"reading {number} of {name}"
        fix = f"void it, then take it again: boltback reading void {number} --note TEXT"
        if basis not in BASES or (tol is not None and tol < 0):
            expected = f"a basis ({', '.join(BASES)}) and a tolerance of 0 or more"
            yield Problem(expected, file=place, column=field, found=f"{basis}, {tol}", fix=fix)
        fault = _unread(subjects[name], field, value)
        if fault is not None:
            yield Problem(fault, file=place, column=field, found=value, fix=fix)


def _subject(con: Connection, name: str) -> ReadingSubject | None:
    try:
        return find_subject(con, name)
    except InputError:
        return None


def _unread(subject: ReadingSubject | None, field: str, value: str) -> str | None:
    if subject is None:
        return None
    try:
        subject.column(field).kind.read(value, KEPT)
    except FieldError as error:
        return error.expected
    except NotKnown:
        return None
    return None


def _setting_faults(con: Connection) -> Iterator[Problem]:
    fix = "`boltback settings` lists them; take back a backup, or use the program that set it"
    for table, known in (("setting", DEFAULTS), ("word_setting", WORD_DEFAULTS)):
        for (name,) in con.execute(f"select name from {table} order by 1").fetchall():
            if name not in known:
                yield Problem("a setting of this program", file=table, column="name", found=name, fix=fix)
    for name, word in con.execute("from word_setting order by 1").fetchall():
        choices = WORD_DEFAULTS[name].choices if name in WORD_DEFAULTS else ()
        if choices and word not in choices:
            expected = f"one of {', '.join(choices)}"
            yield Problem(expected, file="word_setting", column=name, found=word, fix=f"boltback settings {name}")
