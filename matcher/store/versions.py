"""Rows into the store as a version: what is new, what has changed, what stays, what goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import duckdb

from catalog_schema.parts import FAMILIES
from matcher.store.tables import part_columns


@dataclass(slots=True)
class Written:
    """What became of the whole rows of one family."""

    new: int = 0
    changed: int = 0
    unchanged: int = 0
    duplicates: int = 0
    withdrawn: int = 0
    twins: list[tuple[int, int, str]] = field(default_factory=list)
    """Rows (list, line, part) that say otherwise than an earlier row of the same part in this load."""
    strangers: list[tuple[int, int, str, str]] = field(default_factory=list)
    """Rows (list, line, part, family) whose part another family holds already."""
    absent_makers: list[str] = field(default_factory=list)
    """Makers of withdrawn parts that the lists do not name at all."""


def catalog_version(con: duckdb.DuckDBPyConnection) -> int:
    """The number of the catalog's version, 0 for an empty store."""
    (version,) = con.execute("select coalesce(max(version), 0) from load").fetchall()[0]
    return int(version)


def column_list(family: str, prefix: str = "") -> str:
    """The columns of a family's rows, quoted, tolerances and cell bases included."""
    return ", ".join(f'{prefix}"{name}"' for name in [*(name for name, _ in part_columns(family)), "cell_basis"])


def write_rows(
    con: duckdb.DuckDBPyConnection,
    family: str,
    lists: Sequence[tuple[int, str]],
    version: int,
    supplier: str,
    *,
    complete: bool,
) -> Written:
    """Bring the whole rows of one family (number of the list, relation) into the store.

    With ``complete`` the lists hold all that the supplier has: its other parts are withdrawn.
    """
    written = Written()
    union = " union all ".join(f"select {number} as list, * from ({relation})" for number, relation in lists)
    con.execute(f"create or replace temp view incoming_{family} as {union}")
    con.execute(f"create temp table key_{family} as select list, line, part_id from incoming_{family}")
    con.execute(f"create temp table out_{family} (list integer, line integer)")
    _set_strangers_aside(con, family, written)
    _set_twins_aside(con, family, written)
    _write(con, family, version, supplier, written)
    if complete:
        written.withdrawn = _withdraw(con, family, version, supplier)
        written.absent_makers = _absent_makers(con, family, version)
    return written


def _set_strangers_aside(con: duckdb.DuckDBPyConnection, family: str, written: Written) -> None:
    others = " union all ".join(
        f"select part_id, '{other}' as family from {other}_rows where until is null"
        for other in FAMILIES
        if other != family
    )
    written.strangers = con.execute(
        "select k.list, k.line, k.part_id, min(o.family) "
        f"from key_{family} k join ({others}) o using (part_id) group by all order by 1, 2"
    ).fetchall()
    _leave_out(con, family, [(row[0], row[1]) for row in written.strangers])


def _set_twins_aside(con: duckdb.DuckDBPyConnection, family: str, written: Written) -> None:
    names = column_list(family, "i.").split(", ")
    same = " and ".join(f"i.{name} is not distinct from f.{name}" for name in (n.removeprefix("i.") for n in names))
    found = con.execute(
        f"with twin as (select part_id, min_by((list, line), list * 4294967296 + line) as first "
        f"  from key_{family} where (list, line) not in (select (list, line) from out_{family}) "
        "  group by part_id having count(*) > 1), "
        f"rows as (select i.*, (i.list, i.line) = t.first as is_first from incoming_{family} i "
        "  join twin t using (part_id)) "
        f"select i.list, i.line, i.part_id, {same} "
        "from rows i join rows f on f.part_id = i.part_id and f.is_first where not i.is_first order by 1, 2"
    ).fetchall()
    written.twins = [(number, line, part_id) for number, line, part_id, same in found if not same]
    written.duplicates = sum(same for *_, same in found)
    _leave_out(con, family, [(row[0], row[1]) for row in found])


def _leave_out(con: duckdb.DuckDBPyConnection, family: str, places: list[tuple[int, int]]) -> None:
    if places:
        lists, lines = zip(*places, strict=True)
        con.execute(
            f"insert into out_{family} select unnest($1::integer[]), unnest($2::integer[])",
            [list(lists), list(lines)],
        )


def _write(con: duckdb.DuckDBPyConnection, family: str, version: int, supplier: str, written: Written) -> None:
    names = column_list(family)
    kept = f"from incoming_{family} i where (i.list, i.line) not in (select (list, line) from out_{family})"
    if not con.execute(f"select 1 from out_{family} limit 1").fetchall():
        kept = f"from incoming_{family} i where true"
    if con.execute(f"select 1 from {family}_rows where until is null limit 1").fetchall():
        _compare(con, family, kept, written)
        kept += f" and (i.list, i.line) in (select (list, line) from change_{family} where what <> 'unchanged')"
        con.execute(
            f"update {family}_rows set until = $1 where until is null "
            f"and part_id in (select part_id from change_{family} where what = 'changed')",
            [version],
        )
    (count,) = con.execute(
        f"insert into {family}_rows ({names}, supplier, since, until, patched) "
        f"select {column_list(family, 'i.')}, $1, $2, null, false {kept}",
        [supplier, version],
    ).fetchall()[0]
    written.new = int(count) - written.changed


def _compare(con: duckdb.DuckDBPyConnection, family: str, kept: str, written: Written) -> None:
    names = [name.removeprefix("i.") for name in column_list(family, "i.").split(", ")]
    differs = " or ".join(f"i.{name} is distinct from r.{name}" for name in names)
    source, _, condition = kept.partition(" where ")
    con.execute(
        f"create temp table change_{family} as select i.list, i.line, i.part_id, "
        f"case when r.part_id is null then 'new' when {differs} then 'changed' else 'unchanged' end as what "
        f"{source} left join (select * from {family}_rows where until is null) r on r.part_id = i.part_id "
        f"where {condition}"
    )
    counts = dict(con.execute(f"select what, count(*) from change_{family} group by what").fetchall())
    written.changed, written.unchanged = counts.get("changed", 0), counts.get("unchanged", 0)


def _withdraw(con: duckdb.DuckDBPyConnection, family: str, version: int, supplier: str) -> int:
    # A part whose row was refused is still on the list: it stays as it is.
    (count,) = con.execute(
        f"update {family}_rows set until = $1 where until is null and supplier = $2 and since < $1 "
        f"and part_id not in (select part_id from key_{family}) "
        "and part_id not in (select part_id from refused_part)",
        [version, supplier],
    ).fetchall()[0]
    return int(count)


def _absent_makers(con: duckdb.DuckDBPyConnection, family: str, version: int) -> list[str]:
    gone = f"until = $1 and part_id not in (select part_id from key_{family})"
    absent = f"maker not in (select maker from incoming_{family})"
    query = f"select distinct maker from {family}_rows where {gone} and {absent} order by maker"
    return [maker for (maker,) in con.execute(query, [version]).fetchall()]


def loaded_parts(family: str) -> str:
    """SQL for the parts of a family that the load of this transaction brought in, or found unchanged."""
    return f"select part_id from key_{family} where (list, line) not in (select (list, line) from out_{family})"


def hand_back(
    con: duckdb.DuckDBPyConnection, family: str, version: int, mending: Sequence[tuple[int, int, int]]
) -> None:
    """Give mended parts back to the supplier whose list they failed in; ``mending`` is (list, line, problem)."""
    if mending:
        lists, lines, problems = zip(*mending, strict=True)
        con.execute(
            f"update {family}_rows set supplier = m.supplier from (select k.part_id, p.supplier "
            "from (select unnest($2::integer[]) as list, unnest($3::integer[]) as line, "
            f"unnest($4::integer[]) as problem_id) join key_{family} k using (list, line) "
            f"join problem p using (problem_id) where p.supplier <> '') m "
            f"where {family}_rows.part_id = m.part_id and since = $1 and until is null",
            [version, list(lists), list(lines), list(problems)],
        )
