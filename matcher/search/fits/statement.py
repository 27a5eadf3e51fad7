"""Rules asked of rows of the store: their figures are read, and the rules told of each row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, NamedTuple

from catalog_schema.checks import Check
from matcher.kernel.columns import Columns, column_of
from matcher.kernel.explain import explain
from matcher.rules.rule import Rule
from matcher.rules.terms import read_by, weighed_by
from matcher.search.fits.term_sql import column, figure_tol_sql
from matcher.settings import Settings
from matcher.store.connection import Connection


class Asked(NamedTuple):
    """Rules asked of some rows: the relations they stand on, and what to read beside the checks."""

    ctes: str
    source: str
    beside: tuple[str, ...]
    rules: tuple[Rule, ...]


def check_rows(
    con: Connection, asked: Asked, params: Sequence[object], settings: Settings
) -> list[tuple[tuple[Any, ...], list[Check]]]:
    """For every row of the source: what stands beside, and a check for each rule that applies."""
    columns, beside = read_asked(con, asked, params, settings)
    if not beside:
        return []
    return list(zip(beside, explain(asked.rules, columns, settings, len(beside)), strict=True))


def read_asked(
    con: Connection, asked: Asked, params: Sequence[object], settings: Settings
) -> tuple[Columns, list[tuple[Any, ...]]]:
    """All that some rules read of the rows of a source, and what stands beside each of them."""
    figures = read_by(*(term for rule in asked.rules for term in rule.terms))
    weighed = {figure for rule in asked.rules for term in rule.terms for figure in weighed_by(term)}
    columns = [column(figure) for figure in figures]
    tols = [figure_tol_sql(figure, settings) if figure in weighed else "NULL" for figure in figures]
    statement = f"{asked.ctes} SELECT {', '.join([*asked.beside, *columns, *tols])} FROM {asked.source}"
    rows = con.execute(statement, params).fetchall()
    beside, each = len(asked.beside), len(figures)
    read = list(zip(*(row[beside:] for row in rows), strict=True)) or [()] * 2 * each
    named = zip(figures, read[:each], read[each:], strict=True)
    kept = Columns({str(figure): column_of(cells, own) for figure, cells, own in named})
    return kept, [row[:beside] for row in rows]


@contextmanager
def planned_briefly(con: Connection) -> Iterator[None]:
    """Within it what is asked on this connection is planned without thinking twice.

    For a question on one row, a better plan takes longer to find than it saves. Filters still reach the tables.
    """
    con.execute(f"SET disabled_optimizers = '{_idle(con)}'")
    try:
        yield
    finally:
        con.execute("RESET disabled_optimizers")


def _idle(con: Connection) -> str:
    """All of the database's optimizers but that which brings filters to the tables."""
    row = con.execute(
        "SELECT string_agg(name, ',') FROM duckdb_optimizers() WHERE name <> 'filter_pushdown'"
    ).fetchone()
    return row[0] if row else ""
