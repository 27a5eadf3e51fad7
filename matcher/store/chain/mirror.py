"""Update a store's file to its chain's last turn: the rows written since, and everything derived from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from catalog_schema.documents import DocumentError
from catalog_schema.parts import FAMILIES
from matcher.errors import StoreFault
from matcher.store.catalog.overlay import lay_over_openings, lay_over_parts, take_off_parts
from matcher.store.catalog.vehicle_tables import VEHICLE_TABLES, lay_out_vehicle
from matcher.store.chain.session import Row, Session
from matcher.store.chain.shared_tables import KEPT, ChainTable, number_beyond
from matcher.store.database.connection import Connection

LAST = """
select t.number, t.mark::text, exists (select from boltback.turn o where o.number = :number and o.mark::text = :mark)
from boltback.turn t order by t.number desc limit 1
"""
"""SQL for the chain's last turn, and whether the file's turn is one of the chain's."""


DOCUMENTS = "select vehicle_id, document from vehicle"


@dataclass(frozen=True, slots=True)
class ChainPosition:
    """The last turn of its chain in a store's file."""

    address: str
    chain_id: str
    number: int
    """Number of the last turn in the file; 0: none."""
    mark: str


@dataclass(frozen=True, slots=True)
class News:
    """Rows that a chain has written since."""

    number: int
    mark: str
    anew: bool
    """Whether the file's turn is not one of the chain's: then all rows were read, to replace the file's."""
    rows: dict[str, list[Row]]


def position_of(con: Connection) -> ChainPosition | None:
    """Return a store's chain and the file's last turn; None if it is in no chain."""
    row = con.execute("select address, chain_id, number, mark from chain").fetchone()
    return None if row is None else ChainPosition(*row)


def is_up(last: list[Row], at: ChainPosition) -> bool:
    """Whether a file has the chain's last turn."""
    return (last[0][:2] if last else (0, "")) == (at.number, at.mark)


def read_news(session: Session, at: ChainPosition, last: list[Row]) -> News:
    """Return the rows that the chain has written since, within the running transaction."""
    number, mark, known = last[0] if last else (0, "", at.number == 0)
    anew = not (known or at.number == 0)
    since = 0 if anew else at.number
    return News(int(number), mark, anew, {kept.name: rows_since(session, kept, since) for kept in KEPT})


def rows_since(session: Session, kept: ChainTable, number: int) -> list[Row]:
    """Return the rows of a table written by later turns."""
    key = ", ".join(kept.key)
    return session.ask(
        f"select {kept.names} from boltback.{kept.name} where turn > :number order by {key}", number=number
    )


def take(con: Connection, news: News) -> None:
    """Write the chain's rows into a store's file, in the current transaction."""
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
    set_position(con, news.number, news.mark)


def _lay_out(con: Connection, name: str, document: str) -> None:
    try:
        lay_out_vehicle(con, document)
    except DocumentError as error:
        raise StoreFault(
            f"the vehicle {name} of the chain cannot be read: {error}",
            fix="somebody wrote it there by hand: set it right in the same way, or take back a dump with pg_restore",
        ) from None


def forget(con: Connection) -> None:
    """Delete the chain's data and everything derived from them from the file."""
    for kept in KEPT:
        con.execute(f"delete from {kept.name} where {kept.only}")
    for table in VEHICLE_TABLES:
        con.execute(f"delete from {table}")
    take_off_parts(con)


def set_position(con: Connection, number: int, mark: str) -> None:
    """Record the file's turn."""
    con.execute("update chain set number = ?, mark = ?", [number, mark])


def _write(con: Connection, kept: ChainTable, rows: list[Row]) -> None:
    columns = [list(column) for column in zip(*rows, strict=True)]
    lists = ", ".join(f"unnest(${place}::{kind}[])" for place, kind in enumerate(kept.columns.values(), start=1))
    con.execute(f"insert or replace into {kept.name} ({kept.names}) select {lists}", columns)


def _lay_over(con: Connection, news: News) -> None:
    """Apply the chain's readings to parts, openings and vehicles with new data."""
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
    """Return the vehicle of a reading's subject; empty if there is none."""
    kind, _, name = subject.partition(":")
    return name.partition("/")[0] if kind in ("opening", "vehicle") else ""


def lay_out_again(con: Connection) -> None:
    """Rebuild every vehicle and every measured part, after default tolerances have changed."""
    for name, document in con.execute(DOCUMENTS).fetchall():
        _lay_out(con, name, document)
    lay_over_openings(con)
    for family in FAMILIES:
        lay_over_parts(con, family)
