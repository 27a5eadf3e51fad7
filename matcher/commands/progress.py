"""Progress on stderr, for anything that takes over a second."""

from __future__ import annotations

import sys
import time
from threading import Timer
from types import TracebackType

import typer

from matcher.commands.base import say

PATIENCE_S = 1.0


class Progress:
    """Says what is being done, once a second has passed; silent about what is quick.

    Parameters
    ----------
    for_eyes
        Whether it talks to a terminal alone, not into a file.
    """

    def __init__(self, *, for_eyes: bool = False) -> None:
        self._silent = for_eyes and not sys.stderr.isatty()
        self._started = time.monotonic()
        self._text = ""
        self._talks = False
        self._timer = Timer(PATIENCE_S, self._begin)
        self._timer.daemon = True

    def __enter__(self) -> Progress:
        self._timer.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._timer.cancel()
        if kind is KeyboardInterrupt:
            say("stopped: the store is as it was")
            raise typer.Exit(2) from None
        if self._talks and kind is None:
            say(f"done in {time.monotonic() - self._started:.1f} s")

    def tell(self, text: str) -> None:
        """Remember what is being done, and say it where it takes long."""
        self._text = text
        if self._talks:
            say(f"{text} ...")

    def _begin(self) -> None:
        self._talks = not self._silent
        if self._text and self._talks:
            say(f"{self._text} ...")
