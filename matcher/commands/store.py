"""The store's file: held against what it must be, copied, taken back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, say, store_path

store_app = typer.Typer(help="The store's file: check it, copy it, take a copy back.", no_args_is_help=True)

CopyArgument = Annotated[Path, typer.Argument(help="The copy's file.", show_default=False)]


@store_app.command("check")
def check(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Read everything in the store; say what is at fault, where, and what would do (then it ends with 3)."""
    from matcher.errors import StoreFault

    found = open_shop(store).check_store()
    if as_json:
        problems = [problem._asdict() for problem in found.problems]
        print_json({"sound": found.sound, "format": found.format, "rows": found.rows, "problems": problems})
    if not found.sound:
        if as_json:
            raise typer.Exit(StoreFault.exit_code)
        raise StoreFault(f"the store {store_path(store)} is at fault", problems=found.problems)
    if not as_json:
        rows = sum(found.rows.values())
        say(f"{store_path(store)} is sound: format {found.format}, {rows:,} rows of {len(found.rows)} tables read")


@store_app.command("backup")
def backup(
    file: CopyArgument,
    force: Annotated[bool, typer.Option("--force", help="Put it in place of a file that is there.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Copy the store into a file, as it stands at one moment."""
    made = open_shop(store).back_up(file, force=force)
    if as_json:
        print_json({"file": str(made), "bytes": made.stat().st_size})
    else:
        say(f"{made} holds the store: {made.stat().st_size / 1e6:.1f} MB; boltback store restore {made} takes it back")


@store_app.command("restore")
def restore(file: CopyArgument, by: ByOption = None, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Check a copy, then put it in the place of the store; what stood there is kept beside it."""
    done = open_shop(store).restore_store(file, by=by)
    kept = None if done.kept is None else str(done.kept)
    if as_json:
        print_json({"store": str(store_path(store)), "from": str(file), "kept": kept})
    else:
        say(f"{store_path(store)} is what {file} holds" + (f"; what stood there is {kept}" if kept else ""))
