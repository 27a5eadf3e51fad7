"""Every part against every opening, into a folder of Parquet files."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import AlterationOption, JsonOption, StoreOption, open_shop, print_json, print_table
from matcher.commands.progress import Progress


def matrix(
    out: Annotated[Path, typer.Option("--out", help="The folder that the matrix goes into.")] = Path("matrix"),
    vehicle: Annotated[str | None, typer.Option(help="Only this vehicle's openings.", show_default=False)] = None,
    family: Annotated[str | None, typer.Option(help="Only this family's parts.", show_default=False)] = None,
    alteration: AlterationOption = "bolt_on",
    every: Annotated[bool, typer.Option("--all", help="Write the pairs that do not go in, too.")] = False,
    adapters: Annotated[bool, typer.Option("--adapters", help="Try every adapter of the catalog, too.")] = False,
    on: Annotated[
        str | None, typer.Option("--on", help="Run it on a Dask scheduler: dask://HOST:PORT.", show_default=False)
    ] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Check every part at every opening of its kind, and write fits and margins as Parquet files.

    A run that was stopped or killed resumes when it is started again.
    """
    with Progress() as progress:
        made = open_shop(store).matrix(
            out,
            vehicle=vehicle,
            family=family,
            alteration=alteration,
            every=every,
            adapters=adapters,
            on=on,
            tell=progress.tell,
        )
    if as_json:
        print_json(made.to_dict())
        return
    print(f"{made.pairs:,} pairs of a part and an opening, asked at {made.asked}, in {made.folder}")
    print(f"{made.openings:,} openings, {made.places:,} of them not alike; {made.skipped} of {made.tasks} shares kept")
    print()
    rows = [[name, f"{pairs:,}"] for name, pairs in made.verdicts.items()]
    rows += [[f"  {rule}", f"{pairs:,}"] for rule, pairs in made.refused.items()]
    print_table(["verdict, and what refuses", "pairs"], rows, right=frozenset({1}))
