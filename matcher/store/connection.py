"""Opening the store: briefly, for one command or one request, and saying who holds it."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import duckdb

from matcher.errors import BoltbackError, InputError, StoreBusy, StoreFault
from matcher.store.format import FORMAT
from matcher.store.reading_copy import ReadingCopy

if TYPE_CHECKING:
    from matcher.store.chain.joined import Change
    from matcher.store.chain.server import Server

Connection = duckdb.DuckDBPyConnection
Interrupted = duckdb.InterruptException
"""What a statement ends with that another thread breaks off."""

CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "storage_compatibility_version": "v1.2.0",  # a store of today opens in the DuckDB of last year
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}
PATIENCE_S = 5.0
"""So long a question or a change waits for another process to let go of the store: most commands take less."""
TURN_S = 20.0
"""So long a change waits for another one of the same process: a long list takes about that."""


@contextmanager
def aside(**settings: str | int) -> Iterator[Connection]:
    """A database of its own in memory, for what is worked out beside a store.

    What it cannot hold it spills where the system keeps such things, never into the folder that one works in.
    """
    from tempfile import gettempdir  # a question to a store needs neither
    from uuid import uuid4

    spill = Path(gettempdir()) / f"boltback-{uuid4().hex}"  # made by the database once it needs it, and taken away
    with duckdb.connect(":memory:", config={**CONFIG, **settings, "temp_directory": str(spill)}) as con:
        con.execute("set enable_progress_bar = false")
        yield con


class Store:
    """One store file. A connection lives as long as one question or one change.

    Threads may share it: each question has a connection of its own, and changes take turns.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._confined_to: Path | None = None
        self._server: Server | None = None
        self._still = False
        self._copy: ReadingCopy | None = None
        self._opening = threading.Lock()
        self._turn = threading.RLock()

    def confine(self, folder: Path) -> None:
        """From now on reach no file but the store's own and what lies in ``folder``; for a process that serves others.

        The database keeps to it as long as one connection is open, and each new one is bound again.
        """
        self._confined_to = folder.resolve()

    def keep_still(self) -> None:
        """From now on ask the file as it is, whatever its chain changes: for a copy that is asked beside the store."""
        self._still = True

    def exists(self) -> bool:
        """Whether there is a file at this path; asking makes none."""
        return self.path.is_file()

    @property
    def file(self) -> Path:
        """The file that answers questions: the store's own, or a copy of one that can only be read."""
        return self.path if self._copy is None else self._copy.file

    def check_exists(self) -> None:
        """Refuse to go on without a store.

        Raises
        ------
        InputError
            if there is none at this path.
        """
        if not self.exists():
            raise self._no_store()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection to ask with; a store on media that cannot be written is asked in a copy.

        Raises
        ------
        InputError
            where there is no store at this path.
        StoreBusy
            where another process holds it.
        StoreFault
            where the file is no store of ours, or of another format.
        ChainGone
            where it stands in a chain whose database does not answer.
        """
        self.check_exists()
        con = self._connect(to_ask=True)
        try:
            older = self._older_format(con)
            if older is not None:
                from matcher.store.migrate import lay_over

                lay_over(con, older)
            self._catch_up(con)
            with _told(self.path, "cannot be read"):
                yield con
        finally:
            con.close()

    @contextmanager
    def still(self) -> Iterator[Connection]:
        """A connection during which nobody changes the store, and all of it is in its one file; see `reading`."""
        with self.turn(), self.reading() as con:
            with _told(self.path, "cannot be written"):
                con.execute("checkpoint")
            yield con

    @contextmanager
    def changing(self, *, own: bool = False) -> Iterator[Connection]:
        """A connection inside one transaction: all of it is kept, or none.

        Parameters
        ----------
        own
            Whether it changes nothing but what no chain keeps, the catalog above all: it waits for no turn then.

        Raises
        ------
        StoreBusy
            where another process holds the store, or this one, or another counter of its chain, is long at a change.
        ChainGone
            where it stands in a chain whose database does not answer.
        """
        unchanged = "is as it was: the change cannot be written"
        with self.turn(), _told(self.path, unchanged), self._changing(partial(self._chain_change, own)) as con:
            yield con

    @contextmanager
    def changing_alone(self) -> Iterator[Connection]:
        """As `changing`, of the file alone, in whatever chain it stands: to bring it into one, or out of it."""
        unchanged = "is as it was: the change cannot be written"
        with self.turn(), _told(self.path, unchanged), self._changing(lambda con: nullcontext()) as con:
            yield con

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Let no other change of this process come between what is looked at and what is made of it.

        Raises
        ------
        StoreBusy
            where this process is long at another change.
        """
        if not self._turn.acquire(timeout=TURN_S):
            raise StoreBusy("the store is being changed, by a long list perhaps", cure="try again in a minute")
        try:
            yield
        finally:
            self._turn.release()

    @contextmanager
    def _changing(
        self, in_its_chain: Callable[[Connection], AbstractContextManager[Change | None]]
    ) -> Iterator[Connection]:
        fresh = not self.path.exists()
        if fresh and not self.path.parent.is_dir():
            raise InputError(f"there is no folder {self.path.parent}", cure="make the folder, or name another")
        con = self._connect()
        try:
            fresh = fresh or _is_empty(con)  # the process that began it was killed
            older = None if fresh else self._older_format(con)
            if older is not None:
                from matcher.store.migrate import keep_backup

                keep_backup(con, self.path, older)
            with nullcontext() if fresh else in_its_chain(con) as change:
                con.execute("begin transaction")
                if older is not None:
                    from matcher.store.migrate import bring_up

                    bring_up(con, older)
                if fresh:
                    from matcher.store.tables import create_tables  # a question needs no models

                    create_tables(con)
                if change is not None:
                    change.begin()
                yield con
                if change is not None:
                    change.keep()
            self._commit(con, kept_in_chain=change is not None and change.kept)
        except BaseException as error:
            _roll_back(con)
            if isinstance(error, RuntimeError) and "Query interrupted" in str(error):
                raise KeyboardInterrupt from None  # the database's word for Ctrl-C
            raise
        finally:
            con.close()
            if fresh:
                self._drop_if_empty()

    def _commit(self, con: Connection, *, kept_in_chain: bool) -> None:
        try:
            with _told(self.path, "cannot be written"):
                con.execute("commit")
        except BoltbackError as error:
            if not kept_in_chain:
                raise
            raise InputError(
                f"the change is kept in the chain, and this store has yet to take it: {error.what}", cure=error.cure
            ) from None

    def chain(self, con: Connection) -> Server | None:
        """The chain in which the store stands, none where it stands by itself."""
        if self._still or not in_chain(con):
            return None
        from matcher.store.chain.joined import server_of

        self._server = server_of(con, self._server)
        return self._server

    def _catch_up(self, con: Connection) -> None:
        """Bring the file up to the last turn of the chain in which it stands, if in any."""
        chain = self.chain(con)
        if chain is not None:
            from matcher.store.chain.joined import catch_up, has_news

            if has_news(chain, con):
                with self.turn(), _told(self.path, "cannot take what its chain has changed"):
                    catch_up(chain, con)

    def _chain_change(self, own: bool, con: Connection) -> AbstractContextManager[Change | None]:
        chain = self.chain(con)
        if chain is None:
            return nullcontext()
        from matcher.store.chain.joined import OwnChange, turn

        return nullcontext(OwnChange(con)) if own else turn(chain, con, self.path)

    def _no_store(self) -> InputError:
        return InputError(
            f"there is no store at {self.path}",
            cure="`boltback demo` makes one with demo data, `boltback catalog load` makes one from your lists",
        )

    def _connect(self, *, to_ask: bool = False) -> Connection:
        deadline = time.monotonic() + PATIENCE_S
        while True:
            try:
                return self._open(self.file if to_ask else self.path)
            except duckdb.IOException as error:
                text = str(error)
                if said := DENIED.search(text):
                    if to_ask and (copy := ReadingCopy.of(self.path)) is not None:
                        self._copy = copy
                        continue
                    raise InputError(
                        f"{self.path} cannot be opened: {said[0].lower()}",
                        cure="it has to be readable and writable for you, and its folder too",
                    ) from None
                if "lock" not in text:
                    raise StoreFault(
                        f"{self.path} is not a store that can be opened",
                        cure="name another file with --store, or take back a backup: boltback store restore FILE",
                    ) from None
                if time.monotonic() > deadline:
                    holder = re.search(r"PID (\d+)", text)
                    raise _busy(self.path, f"process {holder[1]}" if holder else "another process") from None
                time.sleep(0.05)
            except (duckdb.Error, RuntimeError) as error:
                raise StoreFault(
                    f"{self.path} cannot be opened: {str(error).splitlines()[0]}",
                    cure="name another file with --store, or take back a backup: boltback store restore FILE",
                ) from None

    def _open(self, file: Path) -> Connection:
        with self._opening:  # two that bind the database at once would each find it bound by the other
            con = duckdb.connect(str(file), config=CONFIG)
            con.execute("set enable_progress_bar = false")  # stdout is for answers
            if self._confined_to is not None:
                _bind(con, self._confined_to)
            return con

    def _older_format(self, con: Connection) -> int | None:
        """The store's format where it is older than ours; a newer one, and what is no store, is refused."""
        try:
            found = con.execute("select format from meta").fetchone()
        except duckdb.Error:
            found = None
        if found is None and _is_empty(con):
            raise self._no_store()
        if found is None:
            raise StoreFault(f"{self.path} is a database, but no store of ours", cure="name another file with --store")
        if not isinstance(found[0], int) or found[0] < 1:
            raise StoreFault(
                f"{self.path} says that its format is {found[0]}, and the first is 1",
                cure="take back a backup: boltback store restore FILE",
            )
        if found[0] > FORMAT:
            raise StoreFault(
                f"{self.path} is a store of format {found[0]}, this program reads formats up to {FORMAT}",
                cure="use the newer program that wrote it, or take back a backup from before it",
            )
        return int(found[0]) if found[0] < FORMAT else None

    def _drop_if_empty(self) -> None:
        """Leave no file behind where the first change failed."""
        if self.path.is_file():
            con = self._connect()
            empty = _is_empty(con)
            con.close()
            if empty:
                self.path.unlink()


def _busy(path: Path, holder: str) -> StoreBusy:
    return StoreBusy(
        f"the store {path} is held by {holder}, still after {PATIENCE_S:.0f} seconds",
        cure="it lets go once it is done: try again in a moment",
    )


DENIED = re.compile("Permission denied|Read-only file system|Operation not permitted")
REFUSED = re.compile("No space left on device|File too large|Disk quota exceeded|Input/output error|" + DENIED.pattern)
"""What the system says where it does not take a write."""


@contextmanager
def _told(path: Path, what: str) -> Iterator[None]:
    """What the database refuses in the midst of something: said in our words, with what would do."""
    try:
        yield
    except (duckdb.IOException, duckdb.FatalException, duckdb.TransactionException, duckdb.InternalException) as error:
        said = REFUSED.search(str(error))
        if said is not None:
            raise InputError(
                f"{path} {what}: {said[0].lower()}", cure="make room on the disk, or see to its rights; then try again"
            ) from None
        if isinstance(error, duckdb.TransactionException):
            # A question that supposes figures writes them for as long as it takes, and takes them back.
            raise StoreBusy("the same figures are being worked with", cure="try again in a minute") from None
        raise StoreFault(
            f"{path} {what}: {str(error).splitlines()[0][:300]}",
            cure="`boltback store check` tells what is at fault, `boltback store restore FILE` takes back a backup",
        ) from None


def _bind(con: Connection, folder: Path) -> None:
    """Close the database to every file but its own and those in a folder; it cannot be opened again while it runs."""
    bound = con.execute("select not current_setting('enable_external_access')").fetchone()
    if bound == (False,):
        quoted = str(folder).replace("'", "''")
        con.execute(f"set allowed_directories = ['{quoted}']")
        con.execute("set enable_external_access = false")


def _is_empty(con: Connection) -> bool:
    """Whether the file is a database that nothing was ever kept in."""
    return con.execute("select count(*) from duckdb_tables() where database_name = current_database()").fetchone() == (
        0,
    )


def in_chain(con: Connection) -> bool:
    """Whether the store stands in a chain."""
    try:
        return con.execute("select 1 from chain").fetchone() is not None
    except duckdb.CatalogException:  # of a format that knew none
        return False


def records(con: Connection, sql: str, *params: object) -> list[dict[str, Any]]:
    """Rows as dicts."""
    cursor = con.execute(sql, list(params))
    names = [column[0] for column in cursor.description or ()]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def _roll_back(con: Connection) -> None:
    try:
        con.execute("rollback")
    except duckdb.Error:
        return  # the transaction ended with the error that brought us here


@contextmanager
def within_memory(con: Connection, memory_mb: int | None) -> Iterator[None]:
    """Hold a connection to half of some memory, the other half being the asker's.

    Raises
    ------
    InputError
        where that is not enough to read what is asked.
    """
    if memory_mb is not None:
        con.execute(f"SET memory_limit = '{memory_mb // 2}MB'")
    try:
        yield
    except duckdb.OutOfMemoryException:
        raise InputError(
            f"{memory_mb} MB is not enough memory to read what fits", cure="allow more with --memory-mb, or none"
        ) from None
    finally:
        if memory_mb is not None:
            con.execute("RESET memory_limit")
