"""The store's file: check, back up, restore; join a chain and leave it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, say, store_path

store_app = typer.Typer(
    help="The store's file: check it, copy it, take a copy back; bring it into a chain.", no_args_is_help=True
)

CopyArgument = Annotated[Path, typer.Argument(help="The copy's file.", show_default=False)]


@store_app.command("check")
def check(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Check everything in the store; list each fault, its place and its fix (exit code 3 if there is one)."""
    from matcher.errors import StoreFault

    found = open_shop(store).maintenance.check()
    if as_json:
        problems = [problem._asdict() for problem in found.problems]
        checked = {"sound": found.sound, "format": found.format, "rows": found.rows, "problems": problems}
        print_json(checked | {"chain": found.chain})
    if not found.sound:
        if as_json:
            raise typer.Exit(StoreFault.exit_code)
        raise StoreFault(f"the store {store_path(store)} is at fault", problems=found.problems)
    if not as_json:
        rows = sum(found.rows.values())
        say(f"{store_path(store)} is sound: format {found.format}, {rows:,} rows of {len(found.rows)} tables read")
        if found.chain:
            say(f"what the chain at {found.chain} keeps is the same here, row by row")


@store_app.command("index")
def index(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Rebuild the catalog's index, which questions read. Every change updates it; this repairs it."""
    parts = open_shop(store).maintenance.write_index()
    if as_json:
        print_json({"parts": parts})
    else:
        say(f"the index of {parts:,} parts was written anew")


@store_app.command("backup")
def backup(
    file: CopyArgument,
    force: Annotated[bool, typer.Option("--force", help="Put it in place of a file that is there.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Copy the store into a file, as it is at one moment.

    For a store in a chain, the copy has its catalog and the chain's current data; pg_dump copies the chain itself.
    """
    made = open_shop(store).maintenance.back_up(file, force=force)
    if as_json:
        print_json({"file": str(made), "bytes": made.stat().st_size})
    else:
        say(f"{made} holds the store: {made.stat().st_size / 1e6:.1f} MB; boltback store restore {made} takes it back")


@store_app.command("restore")
def restore(file: CopyArgument, by: ByOption = None, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Check a copy, then put it in the place of the store; the replaced file is kept next to it.

    A copy that belongs to a chain is updated from the chain; pg_restore restores the chain itself.
    """
    done = open_shop(store).maintenance.restore(file, by=by)
    kept = None if done.kept is None else str(done.kept)
    if as_json:
        print_json({"store": str(store_path(store)), "from": str(file), "kept": kept})
    else:
        say(f"{store_path(store)} is what {file} holds" + (f"; what stood there is {kept}" if kept else ""))


@store_app.command("join")
def join(
    address: Annotated[
        str, typer.Argument(help="The chain's PostgreSQL: postgresql://USER@HOST/DATABASE", show_default=False)
    ],
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Join a chain: the store's vehicles, jobs, choices, readings and settings are shared with it from now on.

    The store's data go into the chain, all or nothing. The catalog stays the store's own. The password is taken
    from PGPASSWORD or ~/.pgpass.
    """
    done = open_shop(store).sharing.join(address, by=by)
    if as_json:
        print_json({"chain": done.address, "moved": done.moved, "held": done.held})
    else:
        say(f"{store_path(store)} stands in the chain at {done.address}")
        say(f"moved into it: {_counted(done.moved)}; it holds {_counted(done.held)}")


def _counted(rows: dict[str, int]) -> str:
    """Format the nonzero row counts, such as 1 vehicle, 6 jobs."""
    counts = [f"{count:,} {name.replace('_', ' ')}{'s'[: count != 1]}" for name, count in rows.items() if count]
    return ", ".join(counts) or "nothing"


@store_app.command("leave")
def leave(by: ByOption = None, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Leave the chain, with a copy of all its data, or of the last known data if it does not answer."""
    done = open_shop(store).sharing.leave(by=by)
    if as_json:
        print_json({"left": done.address, "unknown": done.unknown or None})
        return
    if done.unknown:
        say(f"{done.unknown}: what it holds since the last question is not here")
    say(f"{store_path(store)} stands by itself, with what it holds; the chain at {done.address} stays as it is")
