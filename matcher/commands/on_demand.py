"""Commands that are imported only when used, so that none waits for the others."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, MutableMapping
from importlib import import_module
from typing import Any, cast

import typer
from typer.core import TyperGroup
from typer.main import get_group

VALUES = {
    "text": "<text>",
    "integer": "<number>",
    "integer range": "<number>",
    "float": "<number>",
    "float range": "<number>",
    "path": "<path>",
}
"""The word for a value in the help, by the type that Typer reads it as."""


class OnDemand(Mapping[str, Any]):
    """Commands by name, each imported on first use.

    Parameters
    ----------
    places
        name on the command line to ``module:thing``: a module of `matcher.commands`, and in it a function
        (a command) or a Typer (a group of commands).
    """

    def __init__(self, places: Mapping[str, str]) -> None:
        self._places = places
        self._built: dict[str, Any] = {}

    def __getitem__(self, name: str) -> Any:
        if name not in self._built:
            module, _, thing = self._places[name].partition(":")
            self._built[name] = _built(name, getattr(import_module(f"matcher.commands.{module}"), thing))
        return self._built[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)


class Summarized(TyperGroup):
    """A group that lists its commands with their whole summaries."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        write_commands(formatter, "Commands", self.commands)


def write_commands(formatter: Any, heading: str, commands: Mapping[str, Any]) -> None:
    """Write a section of the help: each command with the first paragraph of its help."""
    with formatter.section(heading):
        formatter.write_dl(
            [(name, str(one.help or "").split("\n\n")[0].replace("\n", " ").strip()) for name, one in commands.items()]
        )


def _built(name: str, thing: Any) -> Any:
    """Turn a function or a Typer into a command."""
    holder = typer.Typer(add_completion=False, rich_markup_mode=None)
    if isinstance(thing, typer.Typer):
        holder.add_typer(thing, name=name, cls=Summarized)
    else:
        holder.command(name)(thing)
    command = get_group(holder).commands[name]
    for one in (command, *getattr(command, "commands", {}).values()):
        _name_values(one)
    return command


def _name_values(command: Any) -> None:
    """Say in the help what an option takes by a word of people, not by Python's type."""
    for option in command.params:
        if option.param_type_name == "option" and option.metavar is None and not option.is_flag:
            option.metavar = VALUES.get(option.type.name)


def group_of(sections: Mapping[str, Mapping[str, str]]) -> type[TyperGroup]:
    """Return a group class that lists its commands by section, each with its whole summary.

    Parameters
    ----------
    sections
        help heading to its commands, each with its module and name as `OnDemand` takes it.
    """
    places = {name: place for commands in sections.values() for name, place in commands.items()}

    class Group(TyperGroup):
        def __init__(self, **settings: Any) -> None:
            super().__init__(**settings)
            self.commands = cast("MutableMapping[str, Any]", OnDemand(places))

        def format_commands(self, ctx: Any, formatter: Any) -> None:
            for heading, names in sections.items():
                write_commands(formatter, heading, {name: self.commands[name] for name in names})

    return Group
