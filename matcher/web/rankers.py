"""The page's hold on the processes that rank beside it: started, asked, ended."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import matcher
from matcher import Shop
from matcher.errors import RankingLost
from matcher.web.questions import LOOKING, STOP, PageQuestion, Reply, framed, unframed


class Ranker:
    """One process, and the copy of the store that it asks.

    Parameters
    ----------
    folder
        Where its copy lies: a folder of its own, and all that it can reach.
    """

    def __init__(self, shop: Shop, folder: Path) -> None:
        self.shop = shop
        self.copy = folder / "store.duckdb"
        self._process: subprocess.Popen[bytes] | None = None
        self._ended = self._let_go = False
        self._lock = threading.Lock()
        self._asking = threading.Lock()

    def start(self) -> None:
        """Have the process there for the next question, if it is not: it needs a moment before it can answer."""
        with self._lock:
            self._let_go = False
        self._running()

    def ask(self, question: PageQuestion, stamp: str) -> Reply:
        """Reply to a question, on the store's state that ``stamp`` names or a later one.

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
        """Have the search end that it is at: it answers with what it has found so far."""
        (self.copy.parent / STOP).touch()

    @property
    def looking(self) -> str:
        """How far the search is that it is at; empty if it has not told yet."""
        told = self.copy.parent / LOOKING
        return told.read_text("utf-8") if told.exists() else ""

    def end(self) -> None:
        """End what it is at, and the process with it; a question that has not come to it yet comes to none."""
        with self._lock:
            self._let_go = True
            process, self._process = self._process, None
            if process is None:
                return
            process.kill()
            process.wait()
        if self._asking.acquire(blocking=False):  # else anyone who waits for its answer closes it
            _close(process)
            self._asking.release()

    def close(self) -> None:
        """End it for good."""
        self._ended = True
        self.end()

    def _told(self, question: PageQuestion, stamp: str | None) -> Reply:
        process = self._running()
        assert process.stdin is not None
        assert process.stdout is not None
        with self._asking:
            for left in (LOOKING, STOP):
                (self.copy.parent / left).unlink(missing_ok=True)
            try:
                process.stdin.write(framed((question, stamp)))
                process.stdin.flush()
                reply: Reply
                reply, size = unframed(process.stdout)
            except (EOFError, OSError, ValueError):  # the last where it was ended before it was asked
                raise self._lost(process) from None
        return replace(reply, size=size)

    def _running(self) -> subprocess.Popen[bytes]:
        with self._lock:
            if self._ended:
                raise RankingLost("the page is being ended")
            if self._let_go:  # while the store was copied for it
                raise RankingLost("nobody waits for it any more", fix="ask again")
            if self._process is not None and self._process.poll() is not None:
                _close(self._process)
                self._process = None
            if self._process is None:
                try:
                    self._process = _begun(self.copy)
                except OSError as error:
                    raise RankingLost(f"no process can be started: {error.strerror}", fix="ask again later") from None
            return self._process

    def _lost(self, process: subprocess.Popen[bytes]) -> RankingLost:
        with suppress(subprocess.TimeoutExpired):
            process.wait(1)
        process.kill()
        process.wait()
        _close(process)
        code = process.returncode
        how = f"by signal {-code}" if code is not None and code < 0 else f"with {code}"
        return RankingLost(
            f"the process that worked on it ended {how}, from a lack of memory perhaps",
            fix="ask again: a new one has been started",
        )


def _close(process: subprocess.Popen[bytes]) -> None:
    """Let go of what one spoke with a process by that has ended."""
    for stream in (process.stdin, process.stdout):
        with suppress(OSError):  # what was still to be sent is for nobody
            if stream is not None:
                stream.close()


def _begun(copy: Path) -> subprocess.Popen[bytes]:
    """A process that runs the same code as the page, and leaves whatever it writes beside its copy."""
    code = Path(matcher.__file__).parents[1]
    path = os.pathsep.join(filter(None, [str(code), os.environ.get("PYTHONPATH")]))
    return subprocess.Popen(
        [sys.executable, "-P", "-m", "matcher.web.ranker", str(copy)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=copy.parent,
        env=os.environ | {"PYTHONPATH": path, "TMPDIR": str(copy.parent)},
    )
