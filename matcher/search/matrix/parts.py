"""The parts of a matrix: numbered once for all shares, each with the sets of figures that it has."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matcher.search.fits.relations import part_sql
from matcher.search.matrix.kinds import ASKED
from matcher.search.matrix.sheets import Sheet, sheets
from matcher.settings import Settings
from matcher.store.connection import Connection
from matcher.store.durable import put_in_place, write_parquet
from matcher.store.listing import quoted

PARTS, SETS = "parts.parquet", "sets"
"""The file of the numbered parts, and the folder of their sets of figures with a file for each family."""


def write_parts(con: Connection, out: Path, kinds: Sequence[str], settings: Settings) -> None:
    """Write the parts as (family, part_no, part_id, p0, p1, ...), and their sets as (sheet, p, figures).

    The numbers go by the sets of the gate: parts that a gate lets in lie side by side.
    """
    (out / SETS).mkdir(exist_ok=True)
    for kind in kinds:
        _lay_parts(con, kind, settings)
        sets = [f"SELECT {one.at} AS sheet, * FROM {one.sets}" for one in sheets(ASKED[kind], settings)]
        _write(con, " UNION ALL BY NAME ".join(sets), _sets_file(out, ASKED[kind].family))
    _write(con, " UNION ALL BY NAME ".join(f"FROM parts_{kind}" for kind in kinds), out / PARTS)


def _lay_parts(con: Connection, kind: str, settings: Settings) -> None:
    """The parts of a family with their numbers, as ``parts_KIND``; the sets of their figures by the sheets' names."""
    family = ASKED[kind].family
    con.execute(f"CREATE OR REPLACE TEMP TABLE catalog AS {part_sql(family, settings)}")
    asked = sheets(ASKED[kind], settings)
    for one in asked:
        con.execute(
            f"CREATE OR REPLACE TEMP TABLE {one.sets} AS "
            f"SELECT (row_number() OVER (ORDER BY {one.figures}) - 1)::INTEGER AS p, * "
            f"FROM (SELECT DISTINCT {one.figures} FROM catalog)"
        )
    numbers = ", ".join(f"{one.sets}.p AS p{one.at}" for one in asked)
    joins = " ".join(f"JOIN {one.sets} ON {one.same_sql('catalog')}" for one in asked)
    con.execute(
        f"CREATE TEMP TABLE parts_{kind} AS SELECT '{family}' AS family, "
        "(row_number() OVER (ORDER BY p0, part_id) - 1)::INTEGER AS part_no, * "
        f"FROM (SELECT part_id, {numbers} FROM catalog {joins}) ORDER BY part_no"
    )


def _write(con: Connection, sql: str, path: Path) -> None:
    put_in_place(path, lambda half: write_parquet(con, sql, half))


def _sets_file(out: Path, family: str) -> Path:
    return out / SETS / f"{family}.parquet"


def lay_sets(con: Connection, out: Path, family: str, asked: Sequence[Sheet]) -> None:
    """Lay the sets of a family's figures, each sheet's as a relation of its own."""
    held = f"read_parquet({quoted(_sets_file(out, family))})"
    for one in asked:
        names = ", ".join(["p", *(f'"{name}"' for name in one.part)])
        con.execute(f"CREATE OR REPLACE TEMP TABLE {one.sets} AS SELECT {names} FROM {held} WHERE sheet = {one.at}")


def parts_sql(out: Path, family: str, asked: Sequence[Sheet], first: int, many: int) -> str:
    """SQL of so many numbered parts of a family, from one on, in their order: (part_no, p0, p1, ...)."""
    sets = ", ".join(f"p{one.at}" for one in asked)
    return (
        f"SELECT part_no, {sets} FROM read_parquet({quoted(out / PARTS)}) WHERE family = '{family}' "
        f"AND part_no >= {first} AND part_no < {first + many} ORDER BY part_no"
    )
