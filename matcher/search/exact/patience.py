"""How long a ranking may look, and how much it may keep: it then ends with the best so far."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

ENTRY_BYTES = 1000
"""What an entry of a slot takes in memory, with the candidate that it holds: measured, and rounded up."""


GRACE_S = 0.5
"""So long what was read is looked into, however late it is: else it were read for nothing."""
AGAIN_S = 0.05
"""How often what still reads after the time is told to stop: it may be between two statements."""


@dataclass
class Patience:
    """The bounds that a user sets on a search, and who is told how it goes."""

    until: float | None = None
    """By the monotonic clock."""
    most_entries: int | None = None
    tell: Callable[[int, int | None], None] = lambda waiting, best: None
    """Told how many cores and bundles still wait, and the best score so far in hundredths."""
    kept: int = 0
    _told: float = field(default_factory=time.monotonic)

    @classmethod
    def of(
        cls, seconds: float | None, memory_mb: int | None, tell: Callable[[int, int | None], None] | None = None
    ) -> Patience:
        """So many seconds from now on; half of the memory, the store has the other half."""
        until = None if seconds is None else time.monotonic() + seconds
        most = None if memory_mb is None else memory_mb * 1_000_000 // 2 // ENTRY_BYTES
        return cls(until, most) if tell is None else cls(until, most, tell)

    def report(self, waiting: int, best: int | None) -> None:
        """Tell how it goes, once a second."""
        now = time.monotonic()
        if now - self._told >= 1:
            self._told = now
            self.tell(waiting, best)

    def is_over(self) -> bool:
        """Whether it is time to end."""
        late = self.until is not None and time.monotonic() >= self.until
        return late or (self.most_entries is not None and self.kept > self.most_entries)

    def with_grace(self) -> Patience:
        """The same, but that a moment is left in any case."""
        return self if self.until is None else replace(self, until=max(self.until, time.monotonic() + GRACE_S))

    @contextmanager
    def reading(self, stop: Callable[[], None]) -> Iterator[None]:
        """Within it what is read is stopped where time is over, again and again: `stop` breaks off what runs."""
        if self.until is None:
            yield
            return
        left, done = self.until - time.monotonic(), threading.Event()

        def watch() -> None:
            if not done.wait(max(left, 0)):
                while not done.wait(AGAIN_S):
                    stop()

        watcher = threading.Thread(target=watch, name="patience", daemon=True)
        watcher.start()
        try:
            yield
        finally:
            done.set()
            watcher.join()
