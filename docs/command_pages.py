"""The page of commands: the help of each, as the command itself prints it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import typer
from typer.main import get_command

from matcher.commands.main import app

WIDTH = 100
"""Columns of the help on the page, whatever the terminal has."""


def commands_page() -> str:
    """A section for each command and each group."""
    parts = [
        "# Commands\n",
        "What `--help` says of each. A command that answers takes `--json`: one JSON document on stdout and nothing "
        'else there; messages go to stderr. It ends with 0 when done (an answer of "no" is an answer), 2 for wrong '
        "use or input, 3 where stored data are at fault.\n",
    ]
    for name, help_text in helps():
        parts.append(f"{'#' * (2 + min(1, name.count(' ') // 2))} `{name}`\n\n```text\n{help_text}\n```\n")
    return "\n".join(parts)


def helps() -> Iterator[tuple[str, str]]:
    """Every command, named as it is typed, with its help."""
    yield from _helps(get_command(app), "boltback", None)


def _helps(command: Any, name: str, parent: Any) -> Iterator[tuple[str, str]]:
    context = typer.Context(
        command, info_name=name.rpartition(" ")[2], parent=parent, terminal_width=WIDTH, max_content_width=WIDTH
    )
    full = "\n".join(line.rstrip() for line in command.get_help(context).splitlines())
    yield name, full
    for word, inner in getattr(command, "commands", {}).items():
        if not inner.hidden:
            yield from _helps(inner, f"{name} {word}", context)
