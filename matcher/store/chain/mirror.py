"""A store's file brought up to its chain's last turn: the rows that were written since, and what follows from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from catalog_schema.documents import DocumentError
from catalog_schema.parts import FAMILIES
from matcher.errors import StoreFault
from matcher.store.catalog.overlay import lay_over_openings, lay_over_parts, take_off_parts
from matcher.store.catalog.vehicle_tables import VEHICLE_TABLES, lay_out_vehicle
from matcher.store.chain.kept import KEPT, ChainTable, number_beyond
from matcher.store.chain.server import Row, Session
from matcher.store.database.connection import Connection

LAST = """
select t.number, t.mark::text, exists (select from boltback.turn o where o.number = :number and o.mark::text = :mark)
from boltback.turn t order by t.number desc limit 1
"""
"""The chain's last turn, and whether a turn that a file has come to is one of its own."""


DOCUMENTS = "select vehicle_id, document from vehicle"


@dataclass(frozen=True, slots=True)
class ChainPosition:
    """Last turn of its chain that a store's file contains."""

    address: str
    chain_id: str
    number: int
    """The last turn that is in the file; 0: none."""
    mark: str


@dataclass(frozen=True, slots=True)
class News:
    """Rows that a chain has written since."""

    number: int
    mark: str
    anew: bool
    """Whether the file's turn is none of the chain's: all of it was read, to take the place of what is there."""
    rows: dict[str, list[Row]]


def standing(con: Connection) -> ChainPosition | None:
    """The chain in which a store stands, and how far its file has come; None if it is in none."""
    row = con.execute("select address, chain_id, number, mark from chain").fetchone()
    return None if row is None else ChainPosition(*row)


def is_up(last: list[Row], at: ChainPosition) -> bool:
    """Whether a file has come to the chain's last turn."""
    return (last[0][:2] if last else (0, "")) == (at.number, at.mark)


def read_news(session: Session, at: ChainPosition, last: list[Row]) -> News:
    """Rows that the chain has written since, within the running transaction."""
    number, mark, known = last[0] if last else (0, "", at.number == 0)
    anew = not (known or at.number == 0)
    since = 0 if anew else at.number
    return News(int(number), mark, anew, {kept.name: rows_since(session, kept, since) for kept in KEPT})


def rows_since(session: Session, kept: ChainTable, number: int) -> list[Row]:
    """The rows of a table that turns after a number have written."""
    key = ", ".join(kept.key)
    return session.ask(
        f"select {kept.names} from boltback.{kept.name} where turn > :number order by {key}", number=number
    )


def take(con: Connection, news: News) -> None:
    """Lay out in a store's file what its chain has written, inside the transaction that is under way."""
    if news.anew:
        forget(con)
    for kept in KEPT:
        if rows := news.rows[kept.name]:
            if kept.name == "vehicle":
                for name, document in rows:
                    _lay_out(con, name, document)
            else:
                _write(con, kept, rows)
    number_beyond(con)
    _lay_over(con, news)
    set_standing(con, news.number, news.mark)


def _lay_out(con: Connection, name: str, document: str) -> None:
    try:
        lay_out_vehicle(con, document)
    except DocumentError as error:
        raise StoreFault(
            f"the vehicle {name} of the chain cannot be read: {error}",
            fix="somebody wrote it there by hand: set it right in the same way, or take back a dump with pg_restore",
        ) from None


def forget(con: Connection) -> None:
    """Take out of the file all that is the chain's, and all that was made of it."""
    for kept in KEPT:
        con.execute(f"delete from {kept.name} where {kept.only}")
    for table in VEHICLE_TABLES:
        con.execute(f"delete from {table}")
    take_off_parts(con)


def set_standing(con: Connection, number: int, mark: str) -> None:
    """Note the turn that a file has come to."""
    con.execute("update chain set number = ?, mark = ?", [number, mark])


def _write(con: Connection, kept: ChainTable, rows: list[Row]) -> None:
    columns = [list(column) for column in zip(*rows, strict=True)]
    lists = ", ".join(f"unnest(${place}::{kind}[])" for place, kind in enumerate(kept.columns.values(), start=1))
    con.execute(f"insert or replace into {kept.name} ({kept.names}) select {lists}", columns)


def _lay_over(con: Connection, news: News) -> None:
    """Lay the chain's readings over parts, openings and vehicles, where anything about them is new."""
    if any(str(name).startswith("tolerance_mm.") for name, _ in news.rows["setting"]):
        lay_out_again(con)
        return
    voided = {str(row[0]) for row in news.rows["voided_reading"]}
    subjects = {str(row[1]) for row in news.rows["reading"]} | voided
    again = sorted({_car_of(subject) for subject in voided} - {""})
    for name, document in con.execute(f"{DOCUMENTS} where list_contains($1, vehicle_id)", [again]).fetchall():
        _lay_out(con, name, document)
    cars = {str(name) for name, _ in news.rows["vehicle"]}
    cars |= {_car_of(subject) for subject in subjects} - {""}
    if cars:
        lay_over_openings(con, cars.pop() if len(cars) == 1 else None)
    parts = sorted(subject.partition(":")[2] for subject in subjects if subject.startswith("part:"))
    if parts:
        found: list[tuple[Any]] = con.execute(
            "select distinct family from part where part_id in (select unnest($1))", [parts]
        ).fetchall()
        for (family,) in found:
            lay_over_parts(con, family)


def _car_of(subject: str) -> str:
    """The vehicle that a reading is of, or of an opening of which; empty: of neither."""
    kind, _, name = subject.partition(":")
    return name.partition("/")[0] if kind in ("opening", "vehicle") else ""


def lay_out_again(con: Connection) -> None:
    """Every vehicle and every measured part anew: what a figure's tolerance is has changed."""
    for name, document in con.execute(DOCUMENTS).fetchall():
        _lay_out(con, name, document)
    lay_over_openings(con)
    for family in FAMILIES:
        lay_over_parts(con, family)
