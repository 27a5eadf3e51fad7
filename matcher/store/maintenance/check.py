"""Check a store: everything is read, and every fault is reported with its place and fix."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import duckdb

from matcher.errors import Problem
from matcher.store.database.connection import Connection, aside
from matcher.store.database.format import FORMAT
from matcher.store.database.indexing import index_faults
from matcher.store.database.opening import Store
from matcher.store.database.tables import create_tables
from matcher.store.maintenance.check_documents import document_faults
from matcher.store.maintenance.check_rows import row_faults

TAKE_BACK = "take back a backup: boltback store restore FILE"
MOST = 200
"""Most faults to report; a store with more cannot be mended row by row."""


@dataclass(frozen=True, slots=True)
class CheckedStore:
    """Result of a check: tables that were read, and faults."""

    format: int
    rows: dict[str, int]
    """Number of rows read from each table."""
    problems: list[Problem]
    chain: str | None = None
    """The store's chain, which was compared, too."""

    @property
    def sound(self) -> bool:
        """Whether there are no faults."""
        return not self.problems


def check_store(store: Store) -> CheckedStore:
    """Check everything in a store against its invariants; nothing is changed.

    Raises
    ------
    InputError
        if there is no store.
    StoreBusy
        if another process holds it.
    StoreFault
        if the file is not a store, or has a newer format.
    ChainGone
        if it is in a chain whose database does not answer.
    """
    with store.reading() as con:
        (number, *_), *_ = con.execute("select format from meta").fetchall()
        rows: dict[str, int] = {}
        problems = [*_shape_faults(con)] or [*_unread(con, rows)]
        if not problems:  # unreadable tables cannot be queried
            for faults in (row_faults, document_faults):
                problems += _first(faults(con))
        if not problems:  # the index differs from faulty rows
            problems += _first(index_faults(con))
        chain = store.chain(con)
        if chain is not None:
            from matcher.store.chain.chain_check import chain_faults

            problems += _first(chain_faults(chain, con))
    return CheckedStore(int(number), rows, problems[:MOST], None if chain is None else str(chain.address))


def _first(faults: Iterator[Problem]) -> list[Problem]:
    return [fault for _, fault in zip(range(MOST), faults, strict=False)]


def _shape_faults(con: Connection) -> Iterator[Problem]:
    """Yield tables, views and columns of this format that are missing or different."""
    found = _columns(con)
    for (table, name), sql_type in _expected_columns().items():
        if (held := found.get((table, name))) != sql_type:
            yield Problem(f"a column of {sql_type}", file=table, column=name, found=held or "none", fix=TAKE_BACK)
    if con.execute("select count(*) from meta").fetchone() != (1,):
        yield Problem(f"one row, of format {FORMAT}", file="meta", fix=TAKE_BACK)


@cache
def _expected_columns() -> dict[tuple[str, str], str]:
    with aside() as model:
        create_tables(model)
        return _columns(model)


OWN = "not internal and database_name in (current_database(), 'temp')"
"""SQL condition for the store's tables, without those of other questions on the same connection."""


def _columns(con: Connection) -> dict[tuple[str, str], str]:
    query = f"select table_name, column_name, data_type from duckdb_columns() where {OWN}"
    return {(table, name): sql_type for table, name, sql_type in con.execute(query).fetchall()}


def _unread(con: Connection, rows: dict[str, int]) -> Iterator[Problem]:
    """Yield tables with blocks that cannot be read from the file."""
    query = f"select distinct table_name from duckdb_tables() where {OWN} order by 1"
    for (table,) in con.execute(query).fetchall():
        try:
            ((rows[table],),) = con.execute(f'select count(*) from "{table}"').fetchall()
            if rows[table]:
                con.execute(f'select bit_xor(hash(t)) from "{table}" t').fetchall()
        except duckdb.Error as error:
            yield Problem("rows that can be read", file=table, found=str(error).splitlines()[0][:200], fix=TAKE_BACK)
