"""Check a store's file against its chain: equal rows, and the chain's triggers in place."""

from __future__ import annotations

from collections.abc import Iterator

from matcher.errors import Problem
from matcher.store.chain.creation import chain_id
from matcher.store.chain.joined import READ_ONE_MOMENT, expect_position
from matcher.store.chain.mirror import rows_since
from matcher.store.chain.session import Row, Server, Session
from matcher.store.chain.shared_tables import KEPT, ChainTable
from matcher.store.database.connection import Connection

SHOWN = 3
"""Number of rows to name per table."""


def chain_faults(server: Server, con: Connection) -> Iterator[Problem]:
    """Yield differences between the file and the chain, and missing triggers of the chain's tables."""
    at = expect_position(con)
    with server.session(READ_ONE_MOMENT) as (session, _):
        chain_id(session, session.address)
        yield from _guard_faults(session)
        for kept in KEPT:
            # Another counter may have written rows since the file was updated: they are no faults.
            newer = {row[: kept.keys] for row in rows_since(session, kept, at.number)}
            chain = rows_since(session, kept, 0)
            yield from _row_faults(con, kept, chain, newer, f"boltback store join {at.address}")


def _guard_faults(session: Session) -> Iterator[Problem]:
    """Yield triggers that were dropped or disabled: without them, signed jobs could be altered."""
    rows = session.ask(
        "select c.relname, g.tgname from pg_trigger g join pg_class c on c.oid = g.tgrelid "
        "where c.relnamespace = 'boltback'::regnamespace and not g.tgisinternal and g.tgenabled in ('O', 'A')"
    )
    for kept in KEPT:
        wanted = {"stamp", "keep", "keep_all"}
        wanted |= {"append"} if not kept.alters else set()
        wanted |= {"signed"} if kept.name in ("job", "reading", "voided_reading", "choice", "setup") else set()
        for lost in sorted(wanted - {guard for table, guard in rows if table == kept.name}):
            fix = f"alter table boltback.{kept.name} enable trigger {lost}, or take back a dump: pg_restore"
            yield Problem(f"its guard {lost}", file=f"the chain's {kept.name}", fix=fix)


def _row_faults(con: Connection, kept: ChainTable, chain: list[Row], newer: set[Row], again: str) -> Iterator[Problem]:
    key = ", ".join(kept.key)
    rows = con.execute(f"select {kept.names} from {kept.name} where {kept.only} order by {key}").fetchall()
    ours = {row[: kept.keys]: row for row in rows}
    theirs = {row[: kept.keys]: row for row in chain}
    strange = sorted(name for name in {*ours, *theirs} - newer if ours.get(name) != theirs.get(name))
    for name in strange[:SHOWN]:
        found = "none" if name not in ours else "otherwise" if name in theirs else "a row that the chain has not"
        place = f"{kept.name} {' '.join(map(str, name))}"
        yield Problem("as the chain has it", file=place, found=found, fix=f"{again} takes all of it anew")
