"""Join a chain with a store and all its data, and leave it again."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from catalog_schema.documents import parse_json
from matcher.errors import BoltbackError, FileRefused, InputError, Problem
from matcher.store.chain.address import read_address
from matcher.store.chain.creation import chain_id, make
from matcher.store.chain.joined import CHANGE, counter_of, expect_position, write_turn
from matcher.store.chain.mirror import forget
from matcher.store.chain.session import Server, Session
from matcher.store.chain.shared_tables import KEPT, ChainTable, Rows, number_alone, number_own_events
from matcher.store.database.connection import Connection, in_chain, records
from matcher.store.database.opening import Store
from matcher.store.database.provenance import record, who


@dataclass(frozen=True, slots=True)
class Joined:
    """Result of joining a chain."""

    address: str
    moved: dict[str, int]
    """Rows of each kind that the store added to the chain."""
    held: dict[str, int]
    """Rows of each kind now in the chain, and in the store's file."""


def join(store: Store, address: str, *, by: str | None = None) -> Joined:
    """Bring a store into a chain: its data go into the chain, all or nothing, and the chain's into the store.

    A database without a chain becomes one. A store that is in this chain already copies everything from it again.

    Raises
    ------
    InputError
        if the address is invalid, the store is in another chain, or the database refuses.
    FileRefused
        if the store conflicts with the chain, with every conflict.
    ChainGone
        if the database does not answer.
    """
    where = read_address(address)
    server = Server(where)
    with server.session("select 1") as (session, _):
        make(session)
        name = chain_id(session, where)
        with store.changing_alone() as con:
            moved = {} if _is_joined(con, name) else _move_in(session, con, counter_of(store.path), by)
            forget(con)
            con.execute("delete from chain")
            con.execute("insert into chain values (?, ?, 0, '')", [str(where), name])
            record(con, "chain joined", "store", str(where), by=by)
            number_own_events(con)
    with store.reading() as con:
        held = {kept.name: _count(con, kept) for kept in KEPT}
    return Joined(str(where), moved, held)


@dataclass(frozen=True, slots=True)
class Left:
    """Result of leaving a chain."""

    address: str
    """Address of the chain, which is unchanged."""
    unknown: str
    """Why the chain's current data could not be read; empty if the store has all of them."""


def leave(store: Store, *, by: str | None = None) -> Left:
    """Detach a store from its chain with a copy of the chain's data, or the file's last copy if it does not answer.

    Raises
    ------
    InputError
        if it is in no chain.
    """
    unknown = ""
    try:
        with store.reading():
            pass  # the file is up to date
    except BoltbackError as error:
        unknown = error.what
    with store.changing_alone() as con:
        if not in_chain(con):
            raise InputError(f"{store.path} stands in no chain")
        address = expect_position(con).address
        con.execute("delete from chain")
        number_alone(con)
        record(con, "chain left", "store", address, by=by)
    return Left(address, unknown)


def _count(con: Connection, kept: ChainTable) -> int:
    ((count,),) = con.execute(f"select count(*) from {kept.name} where {kept.only}").fetchall()
    return int(count)


def _is_joined(con: Connection, name: str) -> bool:
    """Whether the store is in this chain already: then the chain has all its changes."""
    if not in_chain(con):
        return False
    at = expect_position(con)
    if at.chain_id != name:
        raise InputError(
            f"this store stands in another chain, {at.address}", fix="`boltback store leave` takes it out of that"
        )
    return True


def _move_in(session: Session, con: Connection, counter: str, by: str | None) -> dict[str, int]:
    """Write a store's rows into the chain if they are new there; return their number by table."""
    session.ask(CHANGE)
    session.ask("select boltback.await_turn()")
    ours = {kept.name: records(con, f"select {kept.names} from {kept.name} where {kept.only}") for kept in KEPT}
    theirs = {kept.name: _theirs(session, kept) for kept in KEPT}
    used = bool(session.ask("select 1 from boltback.turn limit 1"))
    problems = [fault for kept in KEPT for fault in _conflicts(kept, ours[kept.name], theirs, used)]
    if problems:
        raise FileRefused("the store says otherwise than the chain; nothing was moved", problems=problems)
    moving: Rows = {kept.name: list(_new(kept, ours[kept.name], theirs[kept.name])) for kept in KEPT}
    moving = {name: rows for name, rows in moving.items() if rows}
    if moving:
        write_turn(session, moving, counter, who(by))
    session.ask("commit")
    return {name: len(rows) for name, rows in moving.items()}


def _theirs(session: Session, kept: ChainTable) -> list[dict[str, Any]]:
    rows = session.ask(f"select {kept.names} from boltback.{kept.name}")
    return [dict(zip(kept.columns, row, strict=True)) for row in rows]


def _plain_document(text: str) -> Any:
    return parse_json(text.removeprefix("\ufeff"))


SAME: dict[str, Callable[[dict[str, Any]], Any]] = {
    "vehicle": lambda row: _plain_document(row["document"]),
    "job": lambda row: _plain_document(row["document"]),
    "choice": lambda row: json.loads(row["document"]),
    "setup": lambda row: json.loads(row["document"]),
    "signature": lambda row: (row["by_whom"], row["signed_at"], row["note"]),
    "setting": lambda row: row["value"],
    "word_setting": lambda row: row["word"],
}
"""Columns that must be equal in a store and its chain if both have a row of the same name."""

FIXES = {
    "setting": "boltback settings NAME VALUE, here or at a counter of the chain",
    "word_setting": "boltback settings NAME VALUE, here or at a counter of the chain",
}
RENAME = "give one of the two another name: boltback job export, job import"


def _conflicts(kept: ChainTable, ours: list[dict[str, Any]], chain: Rows, used: bool) -> Iterator[Problem]:
    """Yield rows that differ between store and chain, and rows that the store would add to the chain's own."""
    same = SAME.get(kept.name)
    if same is None:
        return
    held = {_key(kept, row): row for row in chain[kept.name]}
    fix = FIXES.get(kept.name, RENAME)
    for row in ours:
        key = _key(kept, row)
        name = " ".join(map(str, key))
        if key in held and same(held[key]) != same(row):
            yield Problem("as the chain has it", file=f"{kept.name} {name}", fix=fix)
        elif key not in held and kept.name in FIXES and used:
            yield Problem("as the chain has it: not set", file=f"setting {name}", found=str(same(row)), fix=fix)


def _key(kept: ChainTable, row: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(row[name] for name in kept.key)


def _new(kept: ChainTable, ours: list[dict[str, Any]], theirs: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Yield the rows that are not in the chain; numbered ones get the chain's next numbers."""
    if not kept.sequence:
        held = {_key(kept, row) for row in theirs}
        yield from (row for row in ours if _key(kept, row) not in held)
        return
    (number,) = kept.key
    known = {tuple(value for name, value in row.items() if name != number) for row in theirs}
    last = max((row[number] for row in theirs), default=0)
    for row in sorted(ours, key=lambda one: int(one[number])):
        if tuple(value for name, value in row.items() if name != number) not in known:
            last += 1
            yield row | {number: last}
