"""The command itself: its groups, its options before any command, and how it ends."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from matcher.commands import ask, calc, catalog, demo, documents, reading, rules
from matcher.commands.base import choose_store, say

app = typer.Typer(
    name="boltback",
    help="Which parts go into this car, within what its owner allows, and what does each wish cost?",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command("demo")(demo.demo)
app.add_typer(catalog.catalog_app, name="catalog")
app.add_typer(documents.vehicle_app, name="vehicle")
app.add_typer(documents.job_app, name="job")
app.add_typer(reading.reading_app, name="reading")
app.command("fit")(ask.fit)
app.command("options")(ask.options)
app.add_typer(calc.app, name="calc")
app.command("rules")(rules.rules)
app.command("settings")(rules.settings)


def _print_version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        print(f"boltback {version('boltback')}")
        raise typer.Exit


@app.callback()
def before(
    store: Annotated[
        Path | None, typer.Option("--store", help="The store's file, for any command.", show_default=False)
    ] = None,
    version: Annotated[
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="Say which version this is."),
    ] = False,
) -> None:
    """Options that stand before a command."""
    choose_store(store)


def main() -> None:
    """Run a command; end with 0 (done), 2 (wrong use or input) or 3 (stored data at fault)."""
    from matcher.errors import BoltbackError

    try:
        app()
    except BoltbackError as error:
        say(str(error))
        sys.exit(error.exit_code)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except OSError as error:
        say(f"{error.filename or 'the system'}: {error.strerror or error}")
        sys.exit(2)
