"""The command line: a file per group of commands, each thin over the shop."""

import gc

gc.set_threshold(100_000, 50, 50)  # what a command imports and builds is no garbage: do not look through it again

from matcher.commands.main import main  # noqa: E402

__all__ = ["main"]
