"""The catalog of one shop for others: publish, attach, refresh, detach."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, print_table, say

if TYPE_CHECKING:
    from matcher.store.importing.report import LoadReport

FolderArgument = Annotated[Path, typer.Argument(help="The folder of published catalogs.", show_default=False)]


def publish(
    folder: FolderArgument,
    keep: Annotated[int, typer.Option("--keep", min=2, help="Versions that stay in the folder.")] = 10,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Publish the catalog and the vehicles as the next version in a folder, for any number of shops to attach."""
    made = open_shop(store).sharing.publish(folder, by=by, keep=keep)
    rows = {name: table.rows for name, table in made.tables.items()}
    if as_json:
        print_json(
            {"folder": str(made.folder), "version": made.version, "catalog_version": made.catalog_version, "rows": rows}
        )
    else:
        say(f"version {made.version} is in {made.folder}: {sum(rows.values()):,} rows of {len(rows)} tables")


def attach(
    folder: FolderArgument,
    supplier: Annotated[
        str | None, typer.Option("--supplier", help="What it is called here. [default: the folder's name]")
    ] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Attach a folder of published catalogs as a supplier; own parts, prices and readings take precedence."""
    _tell({supplier or folder.absolute().name: open_shop(store).sharing.attach(folder, supplier, by=by)}, as_json)


def attached(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """List the attached suppliers, with the published version in the store."""
    found = open_shop(store).sharing.attached()
    rows = [{"supplier": one.supplier, "version": one.version, "folder": str(one.folder)} for one in found]
    if as_json:
        print_json({"attached": rows})
    else:
        print_table(["supplier", "version", "folder"], [[str(cell) for cell in row.values()] for row in rows])


def refresh(
    supplier: Annotated[str | None, typer.Argument(help="A supplier; all where none is given.")] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Update attached suppliers to the version that is published now."""
    _tell(open_shop(store).sharing.refresh(supplier, by=by), as_json)


def detach(
    supplier: Annotated[str, typer.Argument(help="A supplier that is attached.", show_default=False)],
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Detach a supplier: its parts leave the catalog."""
    _tell({supplier: open_shop(store).sharing.detach(supplier, by=by)}, as_json)


COUNTS = ("version", "new", "changed", "unchanged", "withdrawn")


def _tell(reports: dict[str, LoadReport], as_json: bool) -> None:
    rows: list[dict[str, Any]] = [
        {"supplier": name} | {count: getattr(report, count) for count in COUNTS} | {"own": report.skipped.total()}
        for name, report in reports.items()
    ]
    if as_json:
        print_json({"attached": rows})
    else:
        heads = ["supplier", *COUNTS, "own parts kept"]
        print_table(heads, [[str(cell) for cell in row.values()] for row in rows], right=frozenset(range(1, 7)))
