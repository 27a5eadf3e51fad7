"""Connections to a chain's PostgreSQL, opened on demand and reused; its errors, in our words."""

from __future__ import annotations

import threading
import weakref
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any, Literal

from matcher.errors import BoltbackError, ChainGone, InputError, StoreBusy, StoreFault
from matcher.store.chain.address import Address, password_of
from matcher.store.database.connection import TURN_S

if TYPE_CHECKING:
    from ssl import SSLContext

    from pg8000.native import Connection

FORMAT = 2
"""Format of the chain's tables; incremented with every change of them."""
SILENT_S = 30.0
"""Seconds of silence after which a server counts as gone; longer than a change may wait for its turn."""
OPEN_S = 60
"""Seconds that the server keeps the turn of a counter that has gone silent, as with a pulled cable."""

Row = tuple[Any, ...]


class Session:
    """One connection, used by one thread."""

    def __init__(self, address: Address) -> None:
        self.address = address
        self.whole = True
        """Whether it can be used again."""
        self.begun = False
        """Whether it is inside a transaction."""
        self._con = _connect(address)

    def ask(self, sql: str, **values: object) -> list[Row]:
        """Return the rows of a query; its named parameters follow a colon.

        Raises
        ------
        BoltbackError
            if the server is gone, refuses, is busy, or has unexpected data.
        """
        with self._errors_translated():
            rows = self._con.run(sql, **values) or ()
        self.begun = sql.startswith("start transaction") or (self.begun and sql not in ("commit", "rollback"))
        return [tuple(row) for row in rows]

    def close(self) -> None:
        """Close the connection, even a broken one."""
        from pg8000.exceptions import Error

        with suppress(Error, OSError, ValueError):  # a broken one is closed already
            self._con.close()

    @contextmanager
    def _errors_translated(self) -> Iterator[None]:
        from pg8000.exceptions import DatabaseError, Error

        try:
            yield
        except DatabaseError as error:
            fields = error.args[0] if error.args and isinstance(error.args[0], dict) else {}
            self.whole = bool(fields) and fields.get("S") != "FATAL"
            raise _translated(self.address, fields, str(error)) from None
        except (Error, OSError) as error:
            self.whole = False
            raise gone(self.address, error) from None
        except BaseException:  # interrupted within an answer: the next query would read the rest of it
            self.whole = False
            raise


class Server:
    """A chain's PostgreSQL, for the threads of one process."""

    def __init__(self, address: Address) -> None:
        self.address = address
        self._free: list[Session] = []
        self._lock = threading.Lock()
        weakref.finalize(self, _close_all, self._free)

    @contextmanager
    def session(self, first: str, **values: object) -> Iterator[tuple[Session, list[Row]]]:
        """Yield a session and the rows of a first query; uncommitted work is rolled back at the end.

        A stale idle connection is replaced; only ``first`` is ever repeated.
        """
        session, rows = self._begun(first, values)
        try:
            yield session, rows
        finally:
            self._put_back(session)

    def _begun(self, first: str, values: dict[str, object]) -> tuple[Session, list[Row]]:
        while True:
            with self._lock:
                session = self._free.pop() if self._free else None
            used = session is not None
            session = session or Session(self.address)
            try:
                return session, session.ask(first, **values)
            except BoltbackError:
                broken = not session.whole
                self._put_back(session)
                if not (used and broken):
                    raise

    def _put_back(self, session: Session) -> None:
        if session.whole and session.begun:
            with suppress(BoltbackError):
                session.ask("rollback")
        if session.whole:
            with self._lock:
                self._free.append(session)
        else:
            session.close()


def _close_all(sessions: list[Session]) -> None:
    for session in sessions:
        session.close()


def _connect(address: Address) -> Connection:
    driver = _driver()
    from pg8000.exceptions import DatabaseError, Error

    try:
        con: Connection = driver(
            address.user,
            host=address.host,
            port=address.port,
            database=address.database,
            password=password_of(address) or "",  # without one the server decides
            ssl_context=_ssl(address),
            timeout=SILENT_S,
            application_name="boltback",
        )
        con.run(f"set lock_timeout = '{TURN_S}s'")
        con.run(f"set idle_in_transaction_session_timeout = '{OPEN_S}s'")
    except DatabaseError as error:
        raise _translated(address, error.args[0] if isinstance(error.args[0], dict) else {}, str(error)) from None
    except (Error, OSError) as error:
        raise gone(address, error) from None
    return con


def _driver() -> Callable[..., Connection]:
    try:
        from pg8000.native import Connection
    except ImportError:
        raise InputError(
            "this store stands in a chain, and what speaks to PostgreSQL is not installed",
            fix="pip install 'boltback[postgres]'",
        ) from None
    made: Callable[..., Connection] = Connection
    return made


def _ssl(address: Address) -> SSLContext | Literal[False]:
    if address.ssl_mode == "disable":
        return False
    import ssl  # not needed for a chain on this machine

    try:
        context = ssl.create_default_context(cafile=address.ssl_root)
    except OSError as error:
        reason = error.strerror or str(error)
        raise InputError(f"sslrootcert {address.ssl_root} cannot be read: {reason.lower()}") from None
    if address.ssl_mode == "require":
        context.check_hostname = False
        context.verify_mode = ssl.CERT_NONE
    return context


def gone(address: Address, error: object) -> ChainGone:
    """Error for a server that does not answer, with the message of the system or the server."""
    cause = getattr(error, "__cause__", None) or error
    reason = getattr(cause, "verify_message", None)
    if reason:
        return ChainGone(
            f"what answers at {address} is not known: {reason.lower().rstrip('.')}",
            fix="name the certificate of who signed the server's: ?sslrootcert=FILE",
        )
    reason = (getattr(cause, "strerror", None) or str(cause) or "no answer").splitlines()[0].lower()
    return ChainGone(
        f"the chain's database at {address} does not answer: {reason}",
        fix="see that its server runs and can be reached from here, then try again",
    )


def _denied(address: Address) -> InputError:
    return InputError(
        f"the chain's database at {address} does not let {address.user} in",
        fix="put its password into ~/.pgpass (HOST:PORT:DATABASE:USER:PASSWORD, chmod 600), or into PGPASSWORD",
    )


def _translated(address: Address, fields: dict[str, str], text: str) -> BoltbackError:
    """Translate the server's refusals, by SQLSTATE."""
    code, message = fields.get("C", ""), fields.get("M", text).splitlines()[0]
    if code.startswith("28"):
        return _denied(address)
    if code == "3D000":
        return InputError(f"there is no database {address.database} at {address}", fix="createdb makes one")
    if code in ("55P03", "40001", "40P01"):
        return StoreBusy("another counter of the chain is long at a change", fix="try again in a minute")
    if code == "53300":
        return StoreBusy(f"the chain's database at {address} has no connection left", fix="raise its max_connections")
    if code.startswith(("08", "57P")) or code == "25P03":
        return gone(address, message)
    if code.startswith("53") or code.startswith("58"):
        return InputError(f"the chain's database at {address} cannot keep it: {message}", fix="make room on its disk")
    if code in ("42501", "25006"):
        return InputError(
            f"the chain's database at {address} does not allow it to {address.user}: {message}",
            fix="the counters' role needs: usage on schema boltback; select, insert, update on all its tables",
        )
    if code == "P0001":
        return InputError(f"the chain's database refuses it: {message}")
    return StoreFault(
        f"the chain's database at {address} cannot do it: {message}",
        fix="`boltback store check` tells what is at fault",
    )
