"""What every command shares: which store, how it answers, how it ends."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

StoreOption = Annotated[
    Path | None,
    typer.Option("--store", help="The store's file. [default: shop.duckdb, or BOLTBACK_STORE]", show_default=False),
]
ByOption = Annotated[
    str | None,
    typer.Option("--by", help="Who does it. [default: BOLTBACK_BY, or the system's user]", show_default=False),
]
ForceOption = Annotated[bool, typer.Option("--force", help="Replace files that are there; never a store.")]
AnywayOption = Annotated[
    bool, typer.Option("--anyway", help="Go on though something is open; the reason is given with --note.")
]
SureOption = Annotated[bool, typer.Option("--sure", help="The figures are right, however unusual they are.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Answer with one JSON document.")]

DEFAULT_STORE = Path("shop.duckdb")

_chosen: dict[str, Path] = {}


def choose_store(path: Path | None) -> None:
    """Remember the store named before the command."""
    _chosen.clear()
    if path is not None:
        _chosen["store"] = path


def store_path(named: Path | None) -> Path:
    """The store a command works on: named with it, before it, in the environment, or the one here."""
    from_environment = os.environ.get("BOLTBACK_STORE")
    return named or _chosen.get("store") or (Path(from_environment) if from_environment else DEFAULT_STORE)


def open_shop(named: Path | None) -> Any:
    """The shop on the store that a command works on."""
    from matcher.shop import Shop

    return Shop(store_path(named))


def pairs(texts: list[str] | None, option: str) -> dict[str, str]:
    """The values of an option that is given as NAME=VALUE, by name.

    Raises
    ------
    InputError
        if one has no equals sign.
    """
    from matcher.errors import InputError

    found = [text.rpartition("=") for text in texts or []]
    for name, _, value in found:
        if not name or not value:
            raise InputError(f"{option} {value or name!r} is no answer", cure=f"write {option} 'NAME=VALUE'")
    return {name.strip(): value.strip() for name, _, value in found}


def print_json(document: Any) -> None:
    """One JSON document on stdout, nothing else."""
    sys.stdout.write(json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False) + "\n")


def say(text: str) -> None:
    """A message for the person, beside the answer: on stderr."""
    print(text, file=sys.stderr)


def print_table(heads: list[str], rows: list[list[str]], *, right: frozenset[int] = frozenset()) -> None:
    """A table in at most the terminal's width, 100 columns where there is none; long cells wrap."""
    from matcher.commands.table import table_lines

    for line in table_lines(heads, rows, right=right):
        print(line)


def print_item(text: str, indent: str = "  ") -> None:
    """One item of a list, wrapped to the width of the tables."""
    import textwrap

    from matcher.commands.table import line_width

    print(textwrap.fill(text, line_width(), initial_indent=indent, subsequent_indent=indent + "  "))
