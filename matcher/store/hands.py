"""More hands at one question: threads that ask the store at once, each on a connection of its own.

Planning a statement takes the database longer than asking it of some thousand parts, and it plans on one core. So what
does not hang on each other is asked side by side.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import count
from typing import TYPE_CHECKING, Any, TypeVar

from matcher.store.connection import Connection
from matcher.store.shelf import Shelf

if TYPE_CHECKING:
    from concurrent.futures import Future, ThreadPoolExecutor

T = TypeVar("T")

MOST = 3
"""More hands than that would wait for each other: what they read is made into candidates by one at a time."""
AGAIN_S = 0.05
"""How often those who still ask are told to stop: one may be between two statements."""
_SHELVES = count(1)


class Hands:
    """Those who are at one question: the one who asks, and others beside.

    Parameters
    ----------
    con
        The connection of the one who asks. What it has laid over the store, the others would not see.
    many
        How many there are in all.
    """

    def __init__(self, con: Connection, many: int) -> None:
        self._own, self._many = con, many
        self._asker = threading.get_ident()
        self._others = threading.local()
        self._connections: list[Connection] = []
        self._pool: ThreadPoolExecutor | None = None
        self._waiting: list[Callable[[], object]] = []
        self._ahead: list[Future[None]] = []
        self.shelf = _new_shelf(con)

    @property
    def con(self) -> Connection:
        """The connection of the thread that asks for it."""
        if threading.get_ident() == self._asker:
            return self._own
        con: Connection | None = getattr(self._others, "con", None)
        if con is None:
            con = self._others.con = self._own.cursor()
            self._connections.append(con)
        return con

    def together(self, tasks: list[Callable[[], T]]) -> list[T]:
        """What each of some tasks finds, in their order; an error of one breaks off the others."""
        begun: list[Future[T]] = [self._hands().submit(task) for task in tasks[1:]]
        try:
            found = {at: task() for at, task in enumerate(tasks[:1])}
            for at, one in reversed(list(enumerate(begun, 1))):
                if one.cancel():  # nobody is at it yet: instead of waiting, do it
                    found[at] = tasks[at]()
            return [found[at] if at in found else begun[at - 1].result() for at in range(len(tasks))]
        except BaseException:
            self._break_off(begun)
            raise
        finally:
            self._begin_waiting()

    def ahead(self, task: Callable[[], object]) -> None:
        """Begin what will be asked for later, once what is asked together next is done.

        If it fails, it will fail again where it is asked for.
        """
        self._waiting.append(task)

    def _begin_waiting(self) -> None:
        waiting, self._waiting = self._waiting, []
        self._ahead += [self._hands().submit(_quietly, task) for task in waiting]

    def rest(self) -> None:
        """Wait until nobody is at anything; what was to be done ahead and is not begun is left."""
        self._waiting.clear()
        _end(self._ahead)
        self._ahead.clear()

    def clear(self) -> None:
        """Let go of all that was laid."""
        self.rest()
        self._own.execute(f"DETACH {self.shelf.name}")
        self.shelf = _new_shelf(self._own)

    def interrupt(self) -> None:
        """Break off what anybody asks at this moment."""
        for con in (self._own, *self._connections):
            con.interrupt()

    def leave(self) -> None:
        """Break off what is still asked, and let go of all."""
        self._break_off(self._ahead)
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)
        for con in self._connections:
            con.close()
        with suppress(Exception):  # an error of the database itself has ended the connection
            self._own.execute(f"DETACH {self.shelf.name}")

    def _break_off(self, begun: Sequence[Future[Any]]) -> None:
        """End what the others are at, and leave what they have not begun."""
        while any(not one.done() and not one.cancel() for one in begun):
            for con in self._connections:
                con.interrupt()
            time.sleep(AGAIN_S)

    def _hands(self) -> ThreadPoolExecutor:
        if self._pool is None:
            from concurrent.futures import ThreadPoolExecutor

            self._pool = ThreadPoolExecutor(self._many - 1, thread_name_prefix="hand")
        return self._pool


@contextmanager
def many_hands(con: Connection) -> Iterator[Hands | None]:
    """As many hands as the machine has cores for; none beside the asker where that is one, or sees more than others."""
    many = min(os.cpu_count() or 1, MOST)
    if many == 1 or _sees_more(con):
        yield None
        return
    hands = Hands(con, many)
    try:
        yield hands
    finally:
        hands.leave()


def _new_shelf(con: Connection) -> Shelf:
    """A database in memory that all connections see, for what is laid for a question."""
    shelf = Shelf(f"shelf_{next(_SHELVES)}")
    con.execute(f"ATTACH ':memory:' AS {shelf.name}")
    return shelf


def _sees_more(con: Connection) -> bool:
    """Whether something lies over the store on this connection alone, or it is in the midst of a change."""
    before, now = (con.execute("SELECT txid_current()").fetchone() for _ in range(2))
    if before == now:
        return True
    return con.execute("SELECT 1 FROM duckdb_views() WHERE temporary AND NOT internal LIMIT 1").fetchone() is not None


def _quietly(task: Callable[[], object]) -> None:
    with suppress(Exception):
        task()


def _end(begun: list[Future[Any]]) -> None:
    """Wait for what was begun, whatever becomes of it."""
    for one in begun:
        if not one.cancel():
            one.exception()
