"""The page's control of the processes that rank beside it."""

from __future__ import annotations

import pickle
import threading
from dataclasses import replace
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

from matcher import Shop
from matcher.errors import RankingLost
from matcher.web.questions import LOOKING, STOP, PageQuestion, Reply
from matcher.web.ranker import answer_questions


class Ranker:
    """One process, and its copy of the store.

    Parameters
    ----------
    folder
        Folder of the copy, the only one that the process can access.
    """

    def __init__(self, shop: Shop, folder: Path) -> None:
        self.shop = shop
        self.copy = folder / "store.duckdb"
        self._process: tuple[BaseProcess, Connection] | None = None
        self._ended = self._let_go = False
        self._lock = threading.Lock()
        self._asking = threading.Lock()

    def start(self) -> None:
        """Start the process if it is not running, so that it is ready for the next question."""
        with self._lock:
            self._let_go = False
        self._running()

    def ask(self, question: PageQuestion, stamp: str) -> Reply:
        """Return the reply to a question, on the store's state of ``stamp`` or a later one.

        Raises
        ------
        RankingLost
            if the process was ended, or ended by itself.
        StoreBusy
            if the store cannot be copied now.
        """
        if self.copy.exists():
            reply = self._told(question, stamp)
            if reply.stamp == stamp:
                return reply
        self.shop.maintenance.lend(self.copy)
        return self._told(question, None)

    def stop(self) -> None:
        """End the current search, which answers with its results so far."""
        (self.copy.parent / STOP).touch()

    @property
    def looking(self) -> str:
        """Return the progress of its search; empty if there is none yet."""
        told = self.copy.parent / LOOKING
        return told.read_text("utf-8") if told.exists() else ""

    def end(self) -> None:
        """End the process with its current question; a question that has not arrived yet is dropped."""
        with self._lock:
            self._let_go = True
            if self._process is not None:
                process, _ = self._process
                self._process = None
                process.kill()
                process.join()

    def close(self) -> None:
        """End the process for good."""
        self._ended = True
        self.end()

    def _told(self, question: PageQuestion, stamp: str | None) -> Reply:
        process, connection = self._running()
        with self._asking:
            for left in (LOOKING, STOP):
                (self.copy.parent / left).unlink(missing_ok=True)
            try:
                connection.send((question, stamp))
                data = connection.recv_bytes()
            except (EOFError, OSError):
                raise _lost(process) from None
        reply: Reply = pickle.loads(data)
        return replace(reply, size=len(data))

    def _running(self) -> tuple[BaseProcess, Connection]:
        with self._lock:
            if self._ended:
                raise RankingLost("the page is being ended")
            if self._let_go:  # while the store was copied for it
                raise RankingLost("nobody waits for it any more", fix="ask again")
            if self._process is None or not self._process[0].is_alive():
                try:
                    self._process = _started(self.copy)
                except OSError as error:
                    raise RankingLost(f"no process can be started: {error.strerror}", fix="ask again later") from None
            return self._process


def _lost(process: BaseProcess) -> RankingLost:
    process.join(1)
    process.kill()
    process.join()
    code = process.exitcode
    how = f"by signal {-code}" if code is not None and code < 0 else f"with {code}"
    return RankingLost(
        f"the process that worked on it ended {how}, from a lack of memory perhaps",
        fix="ask again: a new one has been started",
    )


def _started(copy: Path) -> tuple[BaseProcess, Connection]:
    """Start a process with the page's code, and return it with the page's end of the connection."""
    context = get_context("spawn")
    ours, its_own = context.Pipe()
    with its_own:  # closed here once the process has it, so that the end of one is seen by the other
        process = context.Process(target=answer_questions, args=(copy, its_own), daemon=True)
        process.start()
    return process, ours
