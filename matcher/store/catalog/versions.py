"""Write the rows of a load as a version of the catalog: new, changed, unchanged and withdrawn parts."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import duckdb

from matcher.store.catalog.set_aside import (
    Stranger,
    Twin,
    column_list,
    column_names,
    set_mended_aside,
    set_strangers_aside,
    set_twins_aside,
)


@dataclass(slots=True)
class Written:
    """Outcome of the valid rows of one family."""

    new: int = 0
    changed: int = 0
    unchanged: int = 0
    duplicates: int = 0
    withdrawn: int = 0
    mended_kept: int = 0
    """Rows unchanged since their part was mended: the mended row counts."""
    mended_changed: int = 0
    """Parts mended by hand whose rows in the lists have changed since."""
    twins: list[Twin] = field(default_factory=list)
    strangers: list[Stranger] = field(default_factory=list)
    absent_makers: list[str] = field(default_factory=list)
    """Makers of withdrawn parts that are not in the lists at all."""


def write_rows(
    con: duckdb.DuckDBPyConnection,
    family: str,
    lists: Sequence[tuple[int, str]],
    version: int,
    *,
    complete: Collection[str] = (),
) -> Written:
    """Write the valid rows of one family into the store.

    Parameters
    ----------
    lists
        The number of each list, and its rows as SQL: ``line``, the family's columns, ``cell_basis``, ``supplier``,
        ``guessed`` (whether the supplier was inferred), ``mends`` (the problem that the row was mended for).
    complete
        The suppliers whose lists are complete: their other parts are withdrawn.
    """
    written = Written()
    union = " union all ".join(f"select {number} as list, * from ({relation})" for number, relation in lists)
    con.execute(f"create or replace temp view incoming_{family} as {union}")
    con.execute(
        f"create temp table key_{family} as "
        f"select list, line, part_id, maker, supplier, guessed, mends from incoming_{family}"
    )
    con.execute(f"create temp table out_{family} (list integer, line integer)")
    written.strangers = set_strangers_aside(con, family)
    written.twins, repeated = set_twins_aside(con, family)
    written.duplicates = len(repeated)
    written.mended_kept = set_mended_aside(con, family)
    _write(con, family, version, written)
    _note_mended(con, family, version, repeated)
    if complete:
        written.withdrawn = _withdraw(con, family, version, complete)
        written.absent_makers = _absent_makers(con, family, version)
    return written


def _note_mended(
    con: duckdb.DuckDBPyConnection, family: str, version: int, repeated: Sequence[tuple[int, int]]
) -> None:
    """Record the mended rows and the list rows they replace: they count until the list changes."""
    lists, lines = ([place[side] for place in repeated] for side in (0, 1))
    con.execute(
        "insert or ignore into mended_row select $1, r.part_id, r.since, k.mends, "
        "coalesce(m.over, case when m.part_id is null then b.since end) "
        f"from key_{family} k join {family}_rows r on r.part_id = k.part_id and r.until is null "
        f"left join {family}_rows b on b.part_id = r.part_id and b.until = $2 and r.since = $2 "
        "left join (select part_id, since, max(over) as over from mended_row where family = $1 group by all) m "
        "on m.part_id = b.part_id and m.since = b.since where k.mends is not null "
        f"and ((k.list, k.line) not in (select (list, line) from out_{family}) "
        "or (k.list, k.line) in (select (unnest($3::integer[]), unnest($4::integer[]))))",
        [family, version, lists, lines],
    )


def _write(con: duckdb.DuckDBPyConnection, family: str, version: int, written: Written) -> None:
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
        f"select {column_list(family, 'i.')}, i.supplier, $1, null, false {kept}",
        [version],
    ).fetchall()[0]
    written.new = int(count) - written.changed


def _compare(con: duckdb.DuckDBPyConnection, family: str, kept: str, written: Written) -> None:
    differs = " or ".join(f"i.{name} is distinct from r.{name}" for name in column_names(family))
    source, _, condition = kept.partition(" where ")
    con.execute(
        f"create temp table change_{family} as select i.list, i.line, i.part_id, "
        f"case when r.part_id is null then 'new' when {differs} then 'changed' else 'unchanged' end as what "
        f"{source} left join (select * from {family}_rows where until is null) r on r.part_id = i.part_id "
        f"where {condition}"
    )
    counts = dict(con.execute(f"select what, count(*) from change_{family} group by what").fetchall())
    written.changed, written.unchanged = counts.get("changed", 0), counts.get("unchanged", 0)
    ((written.mended_changed,),) = con.execute(
        f"select count(*) from change_{family} c join {family}_rows r on r.part_id = c.part_id and r.until is null "
        f"join mended_row m on m.family = '{family}' and m.part_id = r.part_id and m.since = r.since "
        f"join key_{family} k on k.list = c.list and k.line = c.line where c.what = 'changed' and k.mends is null"
    ).fetchall()


def _withdraw(con: duckdb.DuckDBPyConnection, family: str, version: int, suppliers: Collection[str]) -> int:
    # A part whose row was refused is still on the list, so it stays.
    (count,) = con.execute(
        f"update {family}_rows set until = $1 where until is null and since < $1 "
        "and coalesce(supplier, '') in (select unnest($2::varchar[])) "
        f"and part_id not in (select part_id from key_{family}) "
        "and part_id not in (select part_id from refused_part)",
        [version, list(suppliers)],
    ).fetchall()[0]
    return int(count)


def _absent_makers(con: duckdb.DuckDBPyConnection, family: str, version: int) -> list[str]:
    gone = f"until = $1 and part_id not in (select part_id from key_{family})"
    absent = f"maker not in (select maker from incoming_{family})"
    query = f"select distinct maker from {family}_rows where {gone} and {absent} order by maker"
    return [maker for (maker,) in con.execute(query, [version]).fetchall()]


def loaded_parts(family: str) -> str:
    """Return SQL for the parts (part_id, supplier) of a family that this load's lists contain."""
    return (
        f"select part_id, supplier from key_{family} "
        f"where mends is null and (list, line) not in (select (list, line) from out_{family})"
    )


def mended_now(family: str) -> str:
    """Return SQL for the problems (problem_id) whose mended rows are in the catalog now."""
    return (
        f"select m.problem_id from mended_row m join {family}_rows r on r.part_id = m.part_id and r.since = m.since "
        f"where m.family = '{family}' and r.until is null"
    )
