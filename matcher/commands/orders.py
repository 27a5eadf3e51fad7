"""Tables for spreadsheets: the order list of a job, and its packages side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from matcher.commands.base import (
    AnywayOption,
    ByOption,
    ForceOption,
    JobArgument,
    JsonOption,
    StoreOption,
    open_shop,
    print_json,
    print_table,
    say,
)

if TYPE_CHECKING:
    from catalog_schema.choices import Sheet

OutOption = Annotated[Path | None, typer.Option("--out", help="A file to write, .xlsx or .csv.", show_default=False)]


FolderOption = Annotated[
    Path | None,
    typer.Option("--folder", help="A folder that gets a document for each supplier, PDF and XLSX.", show_default=False),
]


def order(
    job: JobArgument,
    out: OutOption = None,
    folder: FolderOption = None,
    force: ForceOption = False,
    anyway: AnywayOption = False,
    note: Annotated[str | None, typer.Option("--note", help="Why it is ordered anyway.", show_default=False)] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """List what to order for the chosen package, supplier by supplier: packs, stock, lead time, price.

    If something is open it is listed, and nothing is ordered.
    """
    give(
        open_shop(store).orders.sheets(job, out=out, folder=folder, force=force, anyway=anyway, note=note, by=by),
        out,
        UNSHOWN,
        as_json=as_json,
    )


def compare(
    job: JobArgument,
    top: Annotated[int, typer.Option(min=1, max=100, help="How many packages.")] = 5,
    out: OutOption = None,
    force: ForceOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compare a job's packages and tiers side by side."""
    give(open_shop(store).jobs.compare(job, top=top, out=out, force=force), out, as_json=as_json)


UNSHOWN = frozenset({"maker", "pack_of", "pieces", "price_chosen"})
"""Columns of the order that are in its file but too wide for the terminal."""


def give(sheets: list[Sheet], out: Path | None, unshown: frozenset[str] = frozenset(), *, as_json: bool) -> None:
    """Print tables, or JSON, or write them to a file and confirm it."""
    if as_json:
        print_json({sheet.name: sheet.rows() for sheet in sheets})
    elif out is not None:
        only = f" ({sheets[0].name} alone: CSV holds one table)" if out.suffix == ".csv" and len(sheets) > 1 else ""
        say(f"{out} is written{only}")
    else:
        for place, sheet in enumerate(sheets):
            print(f"{chr(10) if place else ''}{sheet.name}")
            heads, rows = sheet.table()
            kept = [at for at, head in enumerate(heads) if head not in unshown]
            print_table([heads[at] for at in kept], [[row[at] for at in kept] for row in rows])
