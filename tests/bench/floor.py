"""The floor of a fresh command: import Typer, NumPy and DuckDB, open the store, run one query."""

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
    """Print one row of the store, by its name."""
    import duckdb
    import numpy as np

    with duckdb.connect(str(store), read_only=True) as con:
        row = con.execute("SELECT * FROM part WHERE part_id = ?", [name]).fetchone()
    print(json.dumps([np.__version__, *(row or ())], default=str) if as_json else row)


if __name__ == "__main__":
    app()
