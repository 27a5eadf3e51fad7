"""Doubtful rows of a list, found by the database and reported row by row."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalog_schema.agreements import AGREEMENTS, HOLE, AtMost, ProductTerm, size_agrees
from catalog_schema.columns import family_columns
from catalog_schema.doubts import row_doubts
from catalog_schema.fields import field_of
from catalog_schema.parts import FAMILIES
from catalog_schema.problems import Problem
from matcher.store.database.connection import quoted

if TYPE_CHECKING:
    import duckdb


def doubtful_rows(con: duckdb.DuckDBPyConnection, table: str, line: str, family: str) -> dict[int, list[Problem]]:
    """Return the doubts about the rows of a table with a family's columns, by line.

    The database checks every row; only suspicious ones become sentences.

    Parameters
    ----------
    table
        Its name, or a query in parentheses.
    line
        SQL for a row's line.
    """
    names = [column.name for column in family_columns(family)]
    listed = ", ".join(f'"{name}"' for name in names)
    query = f"select {line}, {listed} from {table} where {_suspected(con, table, family)} order by 1"
    found = {}
    for number, *cells in con.execute(query).fetchall():
        doubts = row_doubts(family, dict(zip(names, cells, strict=True)))
        if doubts:
            found[int(number)] = [one.problem for one in doubts]
    return found


def _suspected(con: duckdb.DuckDBPyConnection, table: str, family: str) -> str:
    kept = {column.name for column in family_columns(family)}
    ranged = (field_of(FAMILIES[family], name) for name in sorted(kept))
    suspects = [f'"{one.name}" not between {one.low} and {one.high}' for one in ranged if one is not None]
    suspects += [_broken(one) for one in AGREEMENTS.get(family, ()) if kept.issuperset(one.names)]
    if family == "speaker":
        suspects.append(_hole_against_size(con, table))
    return f"coalesce({' or '.join(f'coalesce({one}, false)' for one in suspects)}, false)"


def _broken(one: AtMost) -> str:
    """SQL that is true if the exact figures break it: doubles may be off by a little."""
    broken = f"{_product(one.low)} > {_product(one.high)} + {one.slack}::double - 0.000001"
    return f"(shape = {quoted(one.shape)} and {broken})" if one.shape else f"({broken})"


def _product(term: ProductTerm) -> str:
    return " * ".join([f"{term.factor:f}::double", *(f'"{name}"::double' for name in term.names)])


def _hole_against_size(con: duckdb.DuckDBPyConnection, table: str) -> str:
    """SQL for contradictory pairs of size and cutout: lists have few distinct ones."""
    holes = ", ".join(f"coalesce({name}, 0)" for name in HOLE)
    pairs = con.execute(f"select distinct size, {holes} from {table} where size is not null").fetchall()
    wrong = [
        pair for pair in pairs if not size_agrees(pair[0], {n: mm for n, mm in zip(HOLE, pair[1:], strict=True) if mm})
    ]
    listed = ", ".join(f"({quoted(size)}, {', '.join(map(str, hole))})" for size, *hole in wrong)
    return f"(size, {holes}) in ({listed})" if wrong else "false"
