"""The command line: a module per group of commands, each a thin layer over the shop."""

from matcher.collecting import collect_rarely

collect_rarely()  # before the other imports

from matcher.commands.main import main  # noqa: E402

__all__ = ["main"]
