"""Open the store, briefly: for one command or one request."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import duckdb

from matcher.errors import BoltbackError, InputError, StoreBusy, StoreFault
from matcher.lengths import tell_lengths_in
from matcher.store.database.connection import (
    TURN_S,
    Connection,
    NotWritable,
    file_errors,
    in_chain,
    is_empty,
    open_file,
    roll_back,
)
from matcher.store.database.format import FORMAT
from matcher.store.database.reading_copy import ReadingCopy

if TYPE_CHECKING:
    from matcher.store.chain.joined import ChainChange
    from matcher.store.chain.session import Server


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
        self._reading = threading.local()
        """The connection of this thread's outer reading."""
        self._turn = threading.RLock()

    def confine(self, folder: Path) -> None:
        """Restrict file access to the store's own file and ``folder``, for a process that serves others.

        The database keeps the limit while a connection is open, and each new one sets it again.
        """
        self._confined_to = folder.resolve()

    def keep_still(self) -> None:
        """Ignore later changes of the chain, for a copy that workers read."""
        self._still = True

    def exists(self) -> bool:
        """Whether the store's file exists."""
        return self.path.is_file()

    @property
    def file(self) -> Path:
        """The file to read: the store's own, or a copy of a read-only one."""
        return self.path if self._copy is None else self._copy.file

    def check_exists(self) -> None:
        """Refuse a missing store.

        Raises
        ------
        InputError
            if there is none at this path.
        """
        if not self.exists():
            raise self._no_store()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Open a connection for questions; a store on read-only media is read in a copy.

        Within another reading of the same thread it is another cursor of that one.

        Raises
        ------
        InputError
            if there is no store at this path.
        StoreBusy
            if another process holds it.
        StoreFault
            if the file is not a store, or has another format.
        ChainGone
            if it is in a chain whose database does not answer.
        """
        outer: Connection | None = getattr(self._reading, "con", None)
        if outer is not None:
            with outer.cursor() as con, file_errors(self.path, "cannot be read"):
                con.execute("set enable_progress_bar = false")
                yield con
            return
        self.check_exists()
        con = self._connect(to_ask=True)
        try:
            older = self._older_format(con)
            if older is not None:
                from matcher.store.database.migrate import lay_over

                lay_over(con, older)
            self._catch_up(con)
            with file_errors(self.path, "cannot be read"):
                _show_lengths(con)
                self._reading.con = con if older is None else None
                yield con
        finally:
            self._reading.con = None
            con.close()

    @contextmanager
    def still(self) -> Iterator[Connection]:
        """Open a connection while no change runs and the one file is complete; see `reading`."""
        with self.turn(), self.reading() as con:
            with file_errors(self.path, "cannot be written"):
                con.execute("checkpoint")
            yield con

    @contextmanager
    def changing(self, *, own: bool = False) -> Iterator[Connection]:
        """Open a connection inside one transaction: all of it is kept, or none.

        Parameters
        ----------
        own
            Whether it changes only the store's own data, mainly the catalog: then it needs no turn in the chain.

        Raises
        ------
        StoreBusy
            if another process, thread or counter of the chain holds the store too long.
        ChainGone
            if it is in a chain whose database does not answer.
        """
        unchanged = "is as it was: the change cannot be written"
        with (
            self.turn(),
            file_errors(self.path, unchanged),
            self._changing(partial(self._chain_change, own)) as con,
        ):
            yield con

    @contextmanager
    def changing_alone(self) -> Iterator[Connection]:
        """Like `changing`, but of the file only, in order to join or leave a chain."""
        unchanged = "is as it was: the change cannot be written"
        with self.turn(), file_errors(self.path, unchanged), self._changing(lambda con: nullcontext()) as con:
            yield con

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Keep other changes of this process out between reading and writing.

        Raises
        ------
        StoreBusy
            if another change of this process takes too long.
        """
        if not self._turn.acquire(timeout=TURN_S):
            raise StoreBusy("the store is being changed, by a long list perhaps", fix="try again in a minute")
        try:
            yield
        finally:
            self._turn.release()

    @contextmanager
    def _changing(
        self, in_its_chain: Callable[[Connection], AbstractContextManager[ChainChange | None]]
    ) -> Iterator[Connection]:
        fresh = not self.path.exists()
        if fresh and not self.path.parent.is_dir():
            raise InputError(f"there is no folder {self.path.parent}", fix="make the folder, or name another")
        con = self._connect()
        try:
            fresh = fresh or is_empty(con)  # the process that created it was killed
            older = None if fresh else self._older_format(con)
            if older is not None:
                from matcher.store.database.migrate import keep_backup

                keep_backup(con, self.path, older)
            with nullcontext() if fresh else in_its_chain(con) as change:
                con.execute("begin transaction")
                if older is not None:
                    from matcher.store.database.migrate import bring_up

                    bring_up(con, older)
                if fresh:
                    from matcher.store.database.tables import create_tables  # not needed for questions

                    create_tables(con)
                if change is not None:
                    change.begin()
                _show_lengths(con)
                yield con
                if change is not None:
                    change.keep()
            self._commit(con, kept_in_chain=change is not None and change.kept)
        except BaseException as error:
            roll_back(con)
            if isinstance(error, RuntimeError) and "Query interrupted" in str(error):
                raise KeyboardInterrupt from None  # the database reports Ctrl-C this way
            raise
        finally:
            con.close()
            if fresh:
                self._drop_if_empty()

    def _commit(self, con: Connection, *, kept_in_chain: bool) -> None:
        try:
            with file_errors(self.path, "cannot be written"):
                con.execute("commit")
        except BoltbackError as error:
            if not kept_in_chain:
                raise
            raise InputError(
                f"the change is kept in the chain, and this store has yet to take it: {error.what}", fix=error.fix
            ) from None

    def chain(self, con: Connection) -> Server | None:
        """Return the chain of the store; None if it is in none."""
        if self._still or not in_chain(con):
            return None
        from matcher.store.chain.joined import server_of

        self._server = server_of(con, self._server)
        return self._server

    def _catch_up(self, con: Connection) -> None:
        """Update the file to the last turn of its chain, if any."""
        chain = self.chain(con)
        if chain is not None:
            from matcher.store.chain.joined import catch_up, has_news

            if has_news(chain, con):
                with self.turn(), file_errors(self.path, "cannot take what its chain has changed"):
                    catch_up(chain, con)

    def _chain_change(self, own: bool, con: Connection) -> AbstractContextManager[ChainChange | None]:
        chain = self.chain(con)
        if chain is None:
            return nullcontext()
        from matcher.store.chain.joined import OwnChange, turn

        return nullcontext(OwnChange(con)) if own else turn(chain, con, self.path)

    def _no_store(self) -> InputError:
        return InputError(
            f"there is no store at {self.path}",
            fix="`boltback demo` makes one with demo data, `boltback catalog load` makes one from your lists",
        )

    def _connect(self, *, to_ask: bool = False) -> Connection:
        try:
            return self._open(self.file if to_ask else self.path)
        except NotWritable:
            copy = ReadingCopy.of(self.path) if to_ask else None
            if copy is None:
                raise
        self._copy = copy
        return self._open(copy.file)

    def _open(self, file: Path) -> Connection:
        return open_file(file, self._opening, self._confined_to)

    def _older_format(self, con: Connection) -> int | None:
        """Return the store's format if it is older than ours; refuse a newer one, and other files."""
        try:
            found = con.execute("select format from meta").fetchone()
        except duckdb.Error:
            found = None
        if found is None and is_empty(con):
            raise self._no_store()
        if found is None:
            raise StoreFault(f"{self.path} is a database, but no store of ours", fix="name another file with --store")
        if not isinstance(found[0], int) or found[0] < 1:
            raise StoreFault(
                f"{self.path} says that its format is {found[0]}, and the first is 1",
                fix="take back a backup: boltback store restore FILE",
            )
        if found[0] > FORMAT:
            raise StoreFault(
                f"{self.path} is a store of format {found[0]}, this program reads formats up to {FORMAT}",
                fix="use the newer program that wrote it, or take back a backup from before it",
            )
        return int(found[0]) if found[0] < FORMAT else None

    def _drop_if_empty(self) -> None:
        if self.path.is_file():
            con = self._connect()
            empty = is_empty(con)
            con.close()
            if empty:
                self.path.unlink()


def _show_lengths(con: Connection) -> None:
    """Show lengths in the store's unit."""
    row = con.execute("select word from word_setting where name = 'units'").fetchone()
    tell_lengths_in(row[0] if row else "mm")
