"""Progress on stderr, for work that takes over a second."""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Callable
from threading import Timer
from types import FrameType, TracebackType
from typing import Any

import typer

from matcher.commands.base import say

PATIENCE_S = 1.0


class Progress:
    """Show the current step once a second has passed; quick work shows nothing.

    Parameters
    ----------
    for_eyes
        Whether to write to a terminal only, not to a file.
    """

    def __init__(self, *, for_eyes: bool = False) -> None:
        self._silent = for_eyes and not sys.stderr.isatty()
        self._started = time.monotonic()
        self._text = ""
        self._talks = False
        self._timer = Timer(PATIENCE_S, self._begin)
        self._timer.daemon = True
        self._before: Any = None
        self._is_stopped = False

    def __enter__(self) -> Progress:
        self._timer.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._timer.cancel()
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)
        if kind is KeyboardInterrupt:
            say("stopped: the store is as it was")
            raise typer.Exit(2) from None
        if self._talks and kind is None:
            say(f"done in {time.monotonic() - self._started:.1f} s")

    def tell(self, text: str) -> None:
        """Remember the current step, and show it if the work takes long."""
        self._text = text
        if self._talks:
            say(f"{text} ...")

    def end_on_interrupt(self) -> Callable[[], bool]:
        """Let Ctrl-C end a search with its result so far and a second one abort it; return whether it was pressed."""
        self._before = signal.signal(signal.SIGINT, self._interrupted)
        return lambda: self._is_stopped

    def _interrupted(self, number: int, frame: FrameType | None) -> None:
        self._is_stopped = True
        signal.signal(signal.SIGINT, signal.default_int_handler)
        say("ending with what was found so far; Ctrl-C again stops at once")

    def _begin(self) -> None:
        self._talks = not self._silent
        if self._text and self._talks:
            say(f"{self._text} ...")
