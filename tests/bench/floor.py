"""What a command costs that does nothing: a fresh Typer command that opens a store and runs one query."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)


@app.command()
def show(
    name: Annotated[str, typer.Argument()],
    store: Annotated[Path, typer.Option("--store")],
    as_json: Annotated[bool, typer.Option("--json")] = False,
) -> None:
    """One row of the store, by its name."""
    import duckdb

    with duckdb.connect(str(store)) as con:
        row = con.execute("SELECT * FROM part WHERE part_id = ?", [name]).fetchone()
    print(json.dumps(row, default=str) if as_json else row)


if __name__ == "__main__":
    app()
