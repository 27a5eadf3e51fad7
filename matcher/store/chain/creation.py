"""A chain's tables in PostgreSQL: creation and format check."""

from __future__ import annotations

from importlib.resources import files

from matcher.errors import InputError, StoreFault
from matcher.store.chain.address import Address
from matcher.store.chain.session import FORMAT, Session


def make(session: Session) -> None:
    """Create the tables if the database has none."""
    session.ask("start transaction isolation level read committed")
    session.ask(
        "select pg_advisory_xact_lock(1651270769, 1)"
    )  # the lock of await_turn: two counters may create the chain at once
    if not has_tables(session):
        session.ask(files(__package__).joinpath("schema.sql").read_text(encoding="utf-8"))
        session.ask("insert into boltback.chain (format) values (:format)", format=FORMAT)
    session.ask("commit")


def has_tables(session: Session) -> bool:
    """Whether a database has a chain's tables, in any format."""
    return bool(session.ask("select 1 from pg_namespace where nspname = 'boltback'"))


def chain_id(session: Session, address: Address) -> str:
    """Return the chain's id, assigned at creation.

    Raises
    ------
    InputError
        if the database has no chain.
    StoreFault
        if its tables have another format.
    """
    if not has_tables(session):
        raise no_chain(address)
    found = session.ask("select chain_id::text, format from boltback.chain")
    if not found:
        raise StoreFault(f"{address} is no whole chain", fix="take back a dump of it: pg_restore")
    ((name, number),) = found
    if number != FORMAT:
        raise StoreFault(
            f"the chain at {address} is of format {number}, this program knows format {FORMAT}",
            fix="use the same version of the program at every counter",
        )
    return str(name)


def no_chain(address: Address) -> InputError:
    """Error for a database without a chain."""
    return InputError(f"{address} holds no chain", fix=f"`boltback store join {address}` makes one there")
