"""A chain's tables in PostgreSQL: made once, and held to the format that this program knows."""

from __future__ import annotations

from importlib.resources import files

from matcher.errors import InputError, StoreFault
from matcher.store.chain.address import Address
from matcher.store.chain.server import FORMAT, Session


def make(session: Session) -> None:
    """Make the tables, where the database has none yet."""
    session.ask("start transaction isolation level read committed")
    session.ask("select pg_advisory_xact_lock(1651270769, 1)")  # as await_turn will: two may begin one chain at once
    if not has_tables(session):
        session.ask(files(__package__).joinpath("schema.sql").read_text(encoding="utf-8"))
        session.ask("insert into boltback.chain (format) values (:format)", format=FORMAT)
    session.ask("commit")


def has_tables(session: Session) -> bool:
    """Whether a database holds the tables of a chain, of whatever format."""
    return bool(session.ask("select 1 from pg_namespace where nspname = 'boltback'"))


def chain_id(session: Session, address: Address) -> str:
    """The chain's own name, given when it was made.

    Raises
    ------
    InputError
        if the database holds no chain.
    StoreFault
        if its tables are of another format.
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
    """The refusal where a database holds no chain."""
    return InputError(f"{address} holds no chain", fix=f"`boltback store join {address}` makes one there")
