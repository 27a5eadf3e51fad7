"""Reading and changing a store that is in a chain."""

from __future__ import annotations

import json
import socket
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

from matcher.errors import ChainGone, StoreFault
from matcher.store.chain.address import read_address
from matcher.store.chain.creation import chain_id
from matcher.store.chain.mirror import (
    LAST,
    ChainPosition,
    is_up,
    lay_out_again,
    position_of,
    read_news,
    set_position,
    take,
)
from matcher.store.chain.session import Server, Session
from matcher.store.chain.shared_tables import KEPT, ChainTable, Rows, altered, note_state, number_own_events
from matcher.store.database.connection import Connection
from matcher.store.database.provenance import who

READ_ONE_MOMENT = "start transaction isolation level repeatable read read only"
CHANGE = "start transaction isolation level read committed read write"
"""Statements read after they get the turn, so they see the previous one."""


def server_of(con: Connection, known: Server | None) -> Server:
    """Return the server of the store's chain, reusing the known one if it is the same."""
    address = read_address(expect_position(con).address)
    return known if known is not None and known.address == address else Server(address)


def has_news(server: Server, con: Connection) -> bool:
    """Whether the chain has had a turn that is not in the file."""
    at = expect_position(con)
    with server.session(LAST, number=at.number, mark=at.mark) as (_, last):
        return not is_up(last, at)


def catch_up(server: Server, con: Connection) -> None:
    """Update the file to the chain's last turn, while nothing else changes the file."""
    at = expect_position(con)
    with server.session(READ_ONE_MOMENT) as (session, _):
        _catch_up(session, con, at)


def _catch_up(session: Session, con: Connection, at: ChainPosition) -> None:
    last = session.ask(LAST, number=at.number, mark=at.mark)
    if is_up(last, at):
        return
    found = chain_id(session, session.address)
    if found != at.chain_id:
        raise StoreFault(
            f"{session.address} holds another chain than the one this store stands in",
            fix="`boltback store leave` takes it out of its chain, `boltback store join` brings it into that one",
        )
    news = read_news(session, at, last)
    con.execute("begin transaction")
    take(con, news)
    con.execute("commit")


def expect_position(con: Connection) -> ChainPosition:
    """Return the chain's last turn in a file, which must be in a chain."""
    at = position_of(con)
    assert at is not None
    return at


class ChainChange(Protocol):
    """A change of a store in a chain, inside the file's transaction."""

    kept: bool
    """Whether the chain has committed any of it."""

    def begin(self) -> None:
        """Prepare, before anything is changed."""

    def keep(self) -> None:
        """Write the change to the chain, before the file's transaction is committed.

        Raises
        ------
        BoltbackError
            if the chain does not commit it: then the file must not, either.
        """


class Turn:
    """A turn at changing a chain: no other counter's change comes between its beginning and its end."""

    kept = False

    def __init__(self, session: Session, server: Server, con: Connection, counter: str) -> None:
        self.session, self.server, self.con, self.counter = session, server, con, counter

    def begin(self) -> None:
        """Use the chain's clock and numbers from here on, as counters' clocks differ."""
        ((now,),) = self.session.ask("select clock_timestamp()")
        self.con.execute(f"create or replace temp macro now() as timestamptz '{now.isoformat()}'")
        note_state(self.con)

    def keep(self) -> None:
        """Write the changed rows into the chain, and commit them there."""
        number_own_events(self.con)
        rows = altered(self.con)
        if not rows:
            return
        if any(row["name"].startswith("tolerance_mm.") for row in rows.get("setting", ())):
            lay_out_again(self.con)
        number, mark = write_turn(self.session, rows, self.counter, who())
        set_position(self.con, number, mark)
        self._commit(mark)
        self.kept = True

    def _commit(self, mark: str) -> None:
        try:
            self.session.ask("commit")
        except ChainGone:  # during the commit: it may have succeeded
            if not self._is_kept(mark):
                raise

    def _is_kept(self, mark: str) -> bool:
        try:
            with self.server.session("select 1 from boltback.turn where mark::text = :mark", mark=mark) as (_, found):
                return bool(found)
        except ChainGone as error:
            raise ChainGone(
                f"{error.what}; whether the change was kept is not known",
                fix="when its server answers again, look at what there is before doing it again",
            ) from None


def write_turn(session: Session, rows: Rows, counter: str, by: str) -> tuple[int, str]:
    """Write rows into the chain as a counter's turn, without committing; return the turn's number and mark."""
    mark = str(uuid.uuid4())
    ((number,),) = session.ask(
        "select boltback.this_turn(cast(:mark as uuid), cast(:counter as text), cast(:by as text))",
        mark=mark,
        counter=counter,
        by=by,
    )
    for kept in KEPT:
        if some := rows.get(kept.name):
            session.ask(_insert(kept), rows=json.dumps(some, default=str, ensure_ascii=False))
    return int(number), mark


def _insert(kept: ChainTable) -> str:
    sets = ", ".join(f"{name} = excluded.{name}" for name in kept.alters)
    again = f" on conflict ({', '.join(kept.key)}) do update set {sets}" if sets else ""
    return (
        f"insert into boltback.{kept.name} ({kept.names}) select {kept.names} "
        f"from json_populate_recordset(null::boltback.{kept.name}, cast(:rows as json)){again}"
    )


@contextmanager
def turn(server: Server, con: Connection, path: Path) -> Iterator[Turn]:
    """Wait for a turn at changing the chain, and update the file to the previous turn.

    Raises
    ------
    StoreBusy
        if another counter's change takes too long.
    """
    with server.session(CHANGE) as (session, _):
        session.ask("select boltback.await_turn()")
        _catch_up(session, con, expect_position(con))
        yield Turn(session, server, con, counter_of(path))


def counter_of(path: Path) -> str:
    """Return a store's name in the chain's list of turns."""
    return f"{socket.gethostname()}:{path.name}"


class OwnChange:
    """A change of the store's own data, mainly the catalog, without the chain."""

    kept = False

    def __init__(self, con: Connection) -> None:
        self.con = con

    def begin(self) -> None:
        """Record the state of the chain's tables."""
        note_state(self.con)

    def keep(self) -> None:
        """Check that the chain's tables are unchanged."""
        number_own_events(self.con)
        assert not altered(self.con), "a change of the store's own has altered what the chain keeps"
