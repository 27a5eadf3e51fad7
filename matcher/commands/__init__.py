"""The command line: a file per group of commands, each thin over the shop."""

from matcher.collecting import collect_rarely

collect_rarely()  # not through what the rest imports either

from matcher.commands.main import main  # noqa: E402

__all__ = ["main"]
