"""Shared by all commands: the store option, output as text or JSON, exit codes."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from catalog_schema.ladder import LADDER
from catalog_schema.places import KINDS

if TYPE_CHECKING:
    from rich.table import Table
    from rich.text import Text

    from matcher.shop import Shop

StoreOption = Annotated[
    Path | None,
    typer.Option(
        "--store", "-s", help="The store's file. [default: shop.duckdb, or BOLTBACK_STORE]", show_default=False
    ),
]
ByOption = Annotated[
    str | None,
    typer.Option("--by", help="Name for the log. [default: BOLTBACK_BY, or the system's user]", show_default=False),
]
ForceOption = Annotated[bool, typer.Option("--force", help="Replace files that are there; never a store.")]
AnywayOption = Annotated[
    bool, typer.Option("--anyway", help="Go on though something is open; the reason is given with --note.")
]
SureOption = Annotated[bool, typer.Option("--sure", help="The figures are right, however unusual they are.")]
JsonOption = Annotated[bool, typer.Option("--json", "-j", help="Answer with one JSON document.")]
AlterationOption = Annotated[
    str,
    typer.Option(
        "--alteration",
        "-a",
        help=f"The highest step allowed: {', '.join(LADDER)}.",
        autocompletion=lambda: list(LADDER),
    ),
]
ExitCodeOption = Annotated[
    bool,
    typer.Option("--exit-code", help="For scripts: end with 4 (no) or 5 (measure first)."),
]
EXIT_CODES = {"fits": 0, "no": 4, "measure": 5}


def _completed(names: Callable[[Shop], Iterable[str]], incomplete: str) -> list[str]:
    """Return names of the store here that begin so, for completion; none if it cannot be read."""
    from matcher.errors import BoltbackError

    try:
        return [name for name in names(open_shop(None)) if name.startswith(incomplete)]
    except BoltbackError:
        return []


def job_names(incomplete: str) -> list[str]:
    """Return the jobs of the store here, for completion."""
    return _completed(lambda shop: (row[0] for row in shop.jobs.all().cells), incomplete)


def opening_names(incomplete: str) -> list[str]:
    """Return the openings of the store here, for completion."""
    vehicle = incomplete.partition("/")[0]

    def named(shop: Shop) -> Iterator[str]:
        for name in (row[0] for row in shop.vehicles.all().cells if row[0].startswith(vehicle)):
            yield from (f"{name}/{row[0]}" for row in shop.vehicles.get(name).cells if row[1] in KINDS)

    return _completed(named, incomplete)


OpeningArgument = Annotated[
    str, typer.Argument(help="VEHICLE/OPENING.", show_default=False, autocompletion=opening_names)
]
JobArgument = Annotated[str, typer.Argument(help="The job's name.", show_default=False, autocompletion=job_names)]

DEFAULT_STORE = Path("shop.duckdb")

_chosen: dict[str, Path] = {}


def choose_store(path: Path | None) -> None:
    """Remember the store named before the command."""
    _chosen.clear()
    if path is not None:
        _chosen["store"] = path


def store_path(named: Path | None) -> Path:
    """Return the store of a command: named with it, before it, in the environment, or found here."""
    from_environment = os.environ.get("BOLTBACK_STORE")
    return named or _chosen.get("store") or (Path(from_environment) if from_environment else DEFAULT_STORE)


def open_shop(named: Path | None) -> Shop:
    """Open the shop on the store of a command."""
    from matcher.shop import Shop

    return Shop(store_path(named))


def pairs(texts: list[str] | None, option: str) -> dict[str, str]:
    """Return the values of a NAME=VALUE option by name.

    Raises
    ------
    InputError
        if one has no equals sign.
    """
    from matcher.errors import InputError

    found = [text.rpartition("=") for text in texts or []]
    for name, _, value in found:
        if not name or not value:
            raise InputError(f"{option} {value or name!r} is no answer", fix=f"write {option} 'NAME=VALUE'")
    return {name.strip(): value.strip() for name, _, value in found}


def print_json(document: Any) -> None:
    """One JSON document on stdout, nothing else."""
    sys.stdout.write(json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False) + "\n")


def say(text: str) -> None:
    """Print a message on stderr, apart from the answer."""
    print(text, file=sys.stderr)


WIDTH = 100
"""Columns of the output if no terminal gives its width."""
LONGEST = 120
"""Longest line of running text, however wide the terminal is."""
COLORS = {"FITS": "green", "MEASURE FIRST": "yellow", "DOES NOT FIT": "red", "NO PACKAGE": "red"}
"""Color of a verdict on a terminal; pipes and files get plain text."""


def print_table(heads: list[str], rows: list[list[str]], *, right: frozenset[int] = frozenset()) -> None:
    """Print a table as wide as the terminal; long cells wrap.

    Parameters
    ----------
    right
        Positions of the columns that are aligned right.
    """
    from rich.box import Box
    from rich.table import Table

    table = Table(box=Box("    \n    \n ── \n" + "    \n" * 5), show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for at, head in enumerate(heads):
        table.add_column(head, justify="right" if at in right else "left", overflow="fold", header_style="not bold")
    for row in rows:
        table.add_row(*map(_colored, row))
    _print_rich(table, _columns())


def print_item(text: str, indent: str = "  ") -> None:
    """Print an item of a list, wrapped, with further lines indented by two more."""
    import textwrap

    print_text(
        textwrap.fill(
            text,
            min(_columns(), LONGEST),
            initial_indent=indent,
            subsequent_indent=indent + "  ",
            break_on_hyphens=False,
        )
    )


def print_text(text: str) -> None:
    """Print a text without wrapping it, its verdicts colored."""
    _print_rich(_colored(text), max(map(len, text.split("\n"))) + 1)


def _colored(text: str) -> Text:
    from rich.text import Text

    colored = Text(text)
    for verdict, color in COLORS.items():
        colored.highlight_words([verdict], color)
    return colored


def _columns() -> int:
    return shutil.get_terminal_size((WIDTH, 40)).columns


def _print_rich(what: Table | Text, width: int) -> None:
    """Print without trailing blanks, so that a copied line is only its text."""
    from rich.console import Console

    console = Console(width=width, highlight=False, markup=False, emoji=False)
    with console.capture() as captured:
        console.print(what)
    sys.stdout.write("".join(line.rstrip() + "\n" for line in captured.get().splitlines()))
