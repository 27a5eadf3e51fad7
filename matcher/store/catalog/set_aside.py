"""Rows of a load that are set aside: numbers of other parts, repeated numbers, and rows that were mended since.

They are put into ``out_<family>``, by list and line.
"""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from catalog_schema.parts import FAMILIES
from matcher.store.database.tables import part_columns


@dataclass(frozen=True, slots=True)
class Stranger:
    """A row whose number belongs to a different part of the catalog."""

    list_number: int
    line: int
    part_id: str
    family: str
    """The family of that part."""
    supplier: str
    """The supplier of that part."""
    maker: str
    model: str
    own_supplier: str
    own_maker: str
    guessed: bool


@dataclass(frozen=True, slots=True)
class Twin:
    """A row that differs from an earlier row of the same part in the same load."""

    list_number: int
    line: int
    part_id: str
    first_list: int
    first_line: int
    differs: list[tuple[str, str | None, str | None]]
    """Fields that differ: name, here, there."""


def column_list(family: str, prefix: str = "") -> str:
    """Return the columns of a family's rows, quoted, with tolerances and cell bases."""
    return ", ".join(f'{prefix}"{name}"' for name in [*(name for name, _ in part_columns(family)), "cell_basis"])


def column_names(family: str) -> list[str]:
    """The quoted names of `column_list`."""
    return column_list(family).split(", ")


def leave_out(con: duckdb.DuckDBPyConnection, family: str, places: list[tuple[int, int]]) -> None:
    """Set rows aside, by list and line."""
    if places:
        lists, lines = zip(*places, strict=True)
        con.execute(
            f"insert into out_{family} select unnest($1::integer[]), unnest($2::integer[])",
            [list(lists), list(lines)],
        )


def set_strangers_aside(con: duckdb.DuckDBPyConnection, family: str) -> list[Stranger]:
    """Set aside rows whose number belongs to another family or supplier, or to a part with readings of another's.

    Without a named supplier, a row of another maker counts, too: two lists of one name may have two suppliers.
    """
    current = " union all ".join(
        f"select part_id, '{other}' as family, coalesce(supplier, '') as supplier, maker, model "
        f"from {other}_rows where until is null"
        for other in FAMILIES
    )
    measured = " union all ".join(
        f"select part_id, '{other}', coalesce(arg_max(supplier, since), ''), arg_max(maker, since), "
        f"arg_max(model, since) from {other}_rows where 'part:' || part_id in (select subject from reading) "
        "group by part_id having bool_and(until is not null)"
        for other in FAMILIES
    )
    rows = con.execute(
        "select k.list, k.line, k.part_id, h.family, h.supplier, h.maker, h.model, k.supplier, k.maker, k.guessed "
        f"from key_{family} k join ({current} union all {measured}) h using (part_id) "
        f"where h.family <> '{family}' or h.supplier <> k.supplier "
        "or (k.guessed and lower(h.maker) <> lower(k.maker)) "
        "qualify row_number() over (partition by k.list, k.line order by h.family) = 1 "
        "order by 1, 2"
    ).fetchall()
    found = [Stranger(*row) for row in rows]
    leave_out(con, family, [(one.list_number, one.line) for one in found])
    return found


def set_twins_aside(con: duckdb.DuckDBPyConnection, family: str) -> tuple[list[Twin], list[tuple[int, int]]]:
    """Set aside rows that repeat a number of the load; return those that differ, and the places of the others."""
    twice = f"select 1 from key_{family} group by part_id having count(*) > 1 limit 1"
    if not con.execute(twice).fetchone():
        return [], []
    names = column_names(family)
    pairs = ", ".join(f"struct_pack(n := '{n[1:-1]}', i := i.{n}::varchar, f := f.{n}::varchar)" for n in names)
    same = " and ".join(f"i.{name} is not distinct from f.{name}" for name in names)
    rows = con.execute(
        f"with twin as (select part_id, min_by((list, line), list * 4294967296 + line) as first "
        f"  from key_{family} where (list, line) not in (select (list, line) from out_{family}) "
        "  group by part_id having count(*) > 1), "
        f"rows as (select i.*, (i.list, i.line) = t.first as is_first from incoming_{family} i "
        f"  join twin t using (part_id) where (i.list, i.line) not in (select (list, line) from out_{family})) "
        f"select i.list, i.line, i.part_id, f.list, f.line, case when not ({same}) then "
        f"list_filter([{pairs}], lambda s: s.i is distinct from s.f) end "
        "from rows i join rows f on f.part_id = i.part_id and f.is_first where not i.is_first order by 1, 2"
    ).fetchall()
    leave_out(con, family, [(row[0], row[1]) for row in rows])
    twins = [
        Twin(number, line, part_id, first, at, [(one["n"], one["i"], one["f"]) for one in differs])
        for number, line, part_id, first, at, differs in rows
        if differs is not None
    ]
    return twins, [(row[0], row[1]) for row in rows if row[5] is None]


def set_mended_aside(con: duckdb.DuckDBPyConnection, family: str) -> int:
    """Set aside rows unchanged since their part was mended by hand: the mended row counts; return their number."""
    if not con.execute("select 1 from mended_row where family = $1 limit 1", [family]).fetchone():
        return 0
    same = " and ".join(f"i.{name} is not distinct from p.{name}" for name in column_names(family))
    rows = con.execute(
        f"select i.list, i.line from incoming_{family} i "
        f"join {family}_rows r on r.part_id = i.part_id and r.until is null "
        "join (select distinct part_id, since, over from mended_row where family = $1 and over is not null) m "
        "on m.part_id = r.part_id and m.since = r.since "
        f"join {family}_rows p on p.part_id = m.part_id and p.since = m.over and {same} "
        f"where i.mends is null and (i.list, i.line) not in (select (list, line) from out_{family})",
        [family],
    ).fetchall()
    leave_out(con, family, [(row[0], row[1]) for row in rows])
    return len(rows)
