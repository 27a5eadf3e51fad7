"""Cached answers: kept until their data change, removed when nobody needs them any more."""

from __future__ import annotations

import threading
import time
import traceback
from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import CancelledError, Future
from concurrent.futures import TimeoutError as StillWorking
from contextlib import suppress
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Any, Protocol

from matcher.errors import RankingLost, StoreBusy
from matcher.web.questions import PageQuestion, Reply

MOST_KEPT = 500
MOST_BYTES = 64_000_000
"""Size of all cached answers as received from the other process."""
GONE_S = 180.0
"""A visitor silent for this long is gone; a page in a background tab still asks once a minute."""
BUSY_S = 0.2
"""Wait before asking a busy store again."""
LOOK_S = 5.0
"""Interval of the check for visitors who have gone."""

Key = tuple[PageQuestion, str]


class Answerer(Protocol):
    """Process that computes answers: see `matcher.web.rankers.Ranker`."""

    def start(self) -> None: ...
    def ask(self, question: PageQuestion, stamp: str) -> Reply: ...
    def stop(self) -> None: ...
    @property
    def looking(self) -> str: ...
    def end(self) -> None: ...
    def close(self) -> None: ...


class Urgency(IntEnum):
    """Urgency of a question: lowest first; one ranker is always free for the lowest."""

    WAITED_FOR = 0
    BESIDE = 1
    AHEAD = 2


@dataclass(frozen=True, slots=True)
class Asker:
    """A visitor and a lane: the next question in a lane replaces the last."""

    visitor: str
    lane: Hashable


@dataclass
class Work:
    """One answer, possibly in progress."""

    question: PageQuestion
    stamp: str
    urgency: Urgency
    askers: set[Asker] = field(default_factory=set)
    future: Future[Any] = field(default_factory=Future)
    started: float = field(default_factory=time.monotonic)
    ranker: Answerer | None = None
    """Waiting visitors."""
    size: int = 0

    @property
    def seconds(self) -> int:
        """Seconds since it was requested."""
        return int(time.monotonic() - self.started)

    @property
    def looking(self) -> str:
        """Progress text; empty if unknown."""
        return self.ranker.looking if self.ranker is not None else ""

    @property
    def has_failed(self) -> bool:
        """Whether it ended in an error."""
        return self.future.done() and not _is_good(self.future)

    @property
    def key(self) -> Key:
        """Cache key."""
        return self.question, self.stamp

    def is_older_than(self, other: Work) -> bool:
        """Whether the two differ only in the job's state."""
        own, others = self.question, other.question
        return (own.job_id, own.papers) == (others.job_id, others.papers) and self.stamp != other.stamp


class AnswerCache:
    """Answers questions in other processes, each once, and caches the answers by the data they depend on.

    Parameters
    ----------
    rankers
        Processes that compute answers, one at a time each.
    told
        Called once with each answer.
    """

    def __init__(
        self,
        rankers: Sequence[Answerer],
        told: Callable[[PageQuestion, Any], None] = lambda question, answer: None,
        gone_s: float = GONE_S,
    ) -> None:
        self._kept: OrderedDict[Key, Work] = OrderedDict()
        self._waiting: list[Work] = []
        self._seen: dict[str, float] = {}
        self._changed = threading.Condition()
        self._closed = False
        self._rankers, self._told, self._gone_s = rankers, told, gone_s
        for number, ranker in enumerate(rankers):
            threading.Thread(target=self._work, args=(ranker,), name=f"ranker-{number}", daemon=True).start()
        threading.Thread(target=self._look_after, name="rankers", daemon=True).start()

    def ask(
        self, question: PageQuestion, stamp: str, wait_s: float, asker: Asker, urgency: Urgency = Urgency.WAITED_FOR
    ) -> tuple[Any | None, Work]:
        """Return the answer, or None if it takes longer than ``wait_s`` seconds: it is then in progress.

        An error is raised once, for one of the visitors; the next request asks again.

        Parameters
        ----------
        stamp
            Fingerprint of the data it depends on, as of now.
        asker
            The visitor and lane; his previous question in the lane is dropped.
        """
        with self._changed:
            one = self._kept.get((question, stamp))
            if one is None or (one.has_failed and asker not in one.askers):
                one = self._begin(Work(question, stamp, urgency))
            self._seen[asker.visitor] = time.monotonic()
            one.askers.add(asker)
            if urgency < one.urgency:
                one.urgency = urgency
                self._changed.notify_all()  # the ranker that is left for who waits may take it now
            self._leave(asker, one)
            self._kept.move_to_end(one.key)
        try:
            return one.future.result(wait_s), one
        except (StillWorking, CancelledError):
            return None, one
        except Exception:
            with self._changed:
                self._forget(one)
            raise

    def kept(self, question: PageQuestion, stamp: str) -> Any | None:
        """Return the answer if it is cached; start nothing."""
        with self._changed:
            one = self._kept.get((question, stamp))
        return one.future.result() if one is not None and _is_good(one.future) else None

    def stop(self, visitor: str, job_id: str) -> None:
        """End the searches of a job that nobody else waits for, keeping their results so far."""
        with self._changed:
            for one in self._kept.values():
                alone = {asker.visitor for asker in one.askers} == {visitor}
                if one.question.job_id == job_id and one.ranker is not None and alone:
                    one.ranker.stop()

    def seen(self, visitor: str) -> None:
        """Note that a visitor is present."""
        with self._changed:
            self._seen[visitor] = time.monotonic()

    def close(self) -> None:
        """End all work."""
        self._closed = True
        for ranker in self._rankers:
            ranker.close()

    def _begin(self, one: Work) -> Work:
        self._kept[one.key] = one
        self._waiting.append(one)
        self._changed.notify_all()
        return one

    def _leave(self, asker: Asker, stays: Work) -> None:
        """Drop a visitor's previous question in this lane, or about an older state of the job, if nobody else waits."""
        for one in list(self._kept.values()):
            if one.future.done() or one is stays:
                continue
            stale = one.is_older_than(stays)
            left = {who for who in one.askers if who == asker or (stale and who.visitor == asker.visitor)}
            one.askers -= left
            if left and not one.askers:
                self._let_go(one)

    def _let_go(self, one: Work) -> None:
        """Drop questions that nobody waits for."""
        self._forget(one)
        if one in self._waiting:
            self._waiting.remove(one)
            one.future.cancel()
        elif one.ranker is not None:
            one.ranker.end()

    def _forget(self, one: Work) -> None:
        if self._kept.get(one.key) is one:
            del self._kept[one.key]

    def _look_after(self) -> None:
        """Periodically drop questions whose visitors have gone."""
        while True:
            time.sleep(min(LOOK_S, self._gone_s))
            with self._changed:
                late = time.monotonic() - self._gone_s
                self._seen = {name: at for name, at in self._seen.items() if at > late}
                for one in list(self._kept.values()):
                    if not one.future.done() and not any(asker.visitor in self._seen for asker in one.askers):
                        self._let_go(one)

    def _work(self, ranker: Answerer) -> None:
        """Answer queued questions one after another."""
        while not self._closed:
            with suppress(RankingLost):  # it is raised again when something is asked
                ranker.start()
            one = self._next(ranker)
            self._settle(one, self._reply(one, ranker))

    def _next(self, ranker: Answerer) -> Work:
        """The most urgent queued question; those without a visitor leave one ranker free."""
        with self._changed:
            while True:
                busy = sum(one.ranker is not None for one in self._kept.values() if one.urgency)
                able = [one for one in self._waiting if not one.urgency or busy < max(1, len(self._rankers) - 1)]
                if able:
                    one = min(able, key=lambda one: one.urgency)
                    self._waiting.remove(one)
                    one.ranker = ranker
                    one.future.set_running_or_notify_cancel()
                    return one
                self._changed.wait()

    def _reply(self, one: Work, ranker: Answerer) -> Reply:
        while True:
            try:
                return ranker.ask(one.question, one.stamp)
            except StoreBusy as busy:
                if self._kept.get(one.key) is not one or one.seconds > self._gone_s:
                    return Reply(one.stamp, error=busy)
                time.sleep(BUSY_S)
            except Exception as error:  # it is for anyone who asked: the next question wants its answer anyway
                return Reply(one.stamp, error=error)

    def _settle(self, one: Work, reply: Reply) -> None:
        """Cache the result of a question, by the state of the store."""
        with self._changed:
            one.ranker = None
            is_wanted = self._kept.get(one.key) is one
            one.size = reply.size
            if reply.error is not None and is_wanted:
                one.future.set_exception(reply.error)
            elif not is_wanted or reply.stamp != one.stamp:
                self._forget(one)
                one.future.set_exception(CancelledError())
            else:
                one.future.set_result(reply.answer)
            if reply.error is None and reply.stamp != one.stamp:
                self._keep_later(one, reply)
            self._make_room()
            self._changed.notify_all()
        if reply.error is None and reply.answer is not None:
            try:
                self._told(one.question, reply.answer)
            except Exception:
                traceback.print_exc()

    def _keep_later(self, one: Work, reply: Reply) -> None:
        """Whether the result is also valid for the store's current state."""
        later = Work(one.question, reply.stamp, one.urgency, size=reply.size)
        later.future.set_result(reply.answer)
        self._kept.setdefault(later.key, later)

    def _make_room(self) -> None:
        """Remove the least recently used answers beyond the limit."""
        done = [one for one in self._kept.values() if one.future.done()]
        size = sum(one.size for one in done)
        for one in done:
            if len(self._kept) <= MOST_KEPT and size <= MOST_BYTES:
                break
            self._forget(one)
            size -= one.size


def _is_good(future: Future[Any]) -> bool:
    return future.done() and not future.cancelled() and future.exception() is None
