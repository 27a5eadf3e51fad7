"""Answers that were worked out once: kept while what they hang on stays, worked out once however many ask."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import CancelledError, Future
from concurrent.futures import TimeoutError as StillWorking
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import Any

MOST_KEPT = 200
WORKERS = 2
"""Rankings at once: more would only take time from each other."""


@dataclass
class Work:
    """One answer, as far as it is."""

    future: Future[Any]
    lane: Hashable = None
    started: float = field(default_factory=time.monotonic)

    @property
    def seconds(self) -> int:
        """Seconds since it was asked for."""
        return int(time.monotonic() - self.started)


class Answers:
    """Remembers answers by what they hang on."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Hashable, Work] = OrderedDict()
        self._lock = threading.Lock()
        self._waiting: SimpleQueue[tuple[Future[Any], Callable[[], Any]]] = SimpleQueue()
        for number in range(WORKERS):
            # Nobody waits for a ranking when the page is stopped: it only reads, and can be asked again.
            threading.Thread(target=self._work, name=f"answers-{number}", daemon=True).start()

    def ask(
        self, key: Hashable, work: Callable[[], Any], wait_s: float, *, lane: Hashable = None
    ) -> tuple[Any | None, Work]:
        """The answer, or None where it is not there after ``wait_s`` seconds: it is worked on.

        An error is the answer of one asking: the next one asks again.

        Parameters
        ----------
        lane
            Who asks one thing after the other: what he asked before, and nobody has begun on, he wants no more.
        """
        with self._lock:
            one = self._kept.get(key)
            if one is None:
                self._let_go(lane)
                one = self._kept[key] = Work(Future(), lane)
                self._waiting.put((one.future, work))
            self._kept.move_to_end(key)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        try:
            return one.future.result(wait_s), one
        except (StillWorking, CancelledError):
            return None, one
        except BaseException:
            with self._lock:
                self._kept.pop(key, None)
            raise

    def _let_go(self, lane: Hashable) -> None:
        """Take out what is asked in a lane and waits to be begun."""
        waiting = [key for key, one in self._kept.items() if lane is not None and one.lane == lane]
        for key in waiting:
            if self._kept[key].future.cancel():
                del self._kept[key]

    def _work(self) -> None:
        """Work out one answer after the other."""
        while True:
            future, work = self._waiting.get()
            if future.set_running_or_notify_cancel():
                try:
                    future.set_result(work())
                except BaseException as error:
                    future.set_exception(error)
