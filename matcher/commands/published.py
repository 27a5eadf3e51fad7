"""The catalog of one shop for others: published into a folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, say

FolderArgument = Annotated[Path, typer.Argument(help="The folder of published catalogs.", show_default=False)]


def publish(
    folder: FolderArgument,
    keep: Annotated[int, typer.Option("--keep", min=2, help="Versions that stay in the folder.")] = 10,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Publish the catalog and the vehicles as the next version in a folder, for any number of shops to attach."""
    made = open_shop(store).publish(folder, by=by, keep=keep)
    rows = {name: table.rows for name, table in made.tables.items()}
    if as_json:
        print_json(
            {"folder": str(made.folder), "version": made.version, "catalog_version": made.catalog_version, "rows": rows}
        )
    else:
        say(f"version {made.version} is in {made.folder}: {sum(rows.values()):,} rows of {len(rows)} tables")
