"""The command line: a file per group of commands, each thin over the shop."""

from matcher.commands.main import main

__all__ = ["main"]
