"""Limits of a search: its time, and the memory it may keep."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field


class SearchEnded(Exception):
    """A search has used up its budget."""


PROGRESS_S = 1.0
"""Interval of progress reports."""


@dataclass
class SearchBudget:
    """Bounds that a user sets on a search, and a listener to its progress.

    Parameters
    ----------
    until
        The end by the monotonic clock, in seconds; None: no end.
    most_bytes
        Memory that the search may keep; None: unlimited.
    tell
        Called once a second with the number of open branches and the highest bound on points still to come.
    is_stopped
        Whether the user wants the search to end now, with the results so far.
    """

    until: float | None = None
    most_bytes: int | None = None
    tell: Callable[[int, int], None] = lambda waiting, bound: None
    is_stopped: Callable[[], bool] = lambda: False
    _reported: float = field(default_factory=time.monotonic)

    @classmethod
    def of(
        cls,
        seconds: float | None,
        memory_mb: int | None = None,
        tell: Callable[[int, int], None] = lambda waiting, bound: None,
        is_stopped: Callable[[], bool] = lambda: False,
    ) -> SearchBudget:
        """Return a budget of some seconds from now and half the memory: the database has the other half."""
        until = None if seconds is None else time.monotonic() + seconds
        most = None if memory_mb is None else memory_mb * 1_000_000 // 2
        return cls(until, most, tell, is_stopped)

    def is_spent(self, kept_bytes: int = 0) -> bool:
        """Whether the search has to end."""
        late = self.until is not None and time.monotonic() >= self.until
        return late or self.is_stopped() or (self.most_bytes is not None and kept_bytes > self.most_bytes)

    def check(self) -> None:
        """Raise SearchEnded if the search has to end."""
        if self.is_spent():
            raise SearchEnded

    def progress(self, waiting: int, bound: int) -> None:
        """Call the listener if a second has passed since the last call."""
        now = time.monotonic()
        if now - self._reported >= PROGRESS_S:
            self._reported = now
            self.tell(waiting, bound)
