"""The command itself: its groups, global options, and exit codes."""

from __future__ import annotations

import errno
import os
import re
import sys
from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import choose_store, say
from matcher.commands.on_demand import group_of

COMMANDS = {
    "Begin": {"init": "init:init", "demo": "demo:demo", "catalog": "catalog:catalog_app", "settings": "rules:settings"},
    "The car and the wishes": {
        "vehicle": "documents:vehicle_app",
        "job": "documents:job_app",
        "reading": "reading:reading_app",
    },
    "Does it fit, and what is best": {
        "fit": "ask:fit",
        "options": "ask:options",
        "compare": "orders:compare",
        "why": "reasons:why",
        "limits": "reasons:limits",
        "measure": "reasons:measure",
        "matrix": "matrix:matrix",
        "draw": "draw:draw",
    },
    "From the choice to the hand-over": {
        "choose": "choose:choose",
        "choice": "choose:choice",
        "order": "orders:order",
        "paper": "paper:paper",
        "setup": "setup:setup",
        "sign": "log:sign",
    },
    "Reckon and look up": {"calc": "calc:app", "rules": "rules:rules", "log": "log:log"},
    "Put away": {"archive": "archive:archive", "unarchive": "archive:unarchive", "delete": "archive:delete"},
    "Run": {"serve": "serve:serve", "store": "store:store_app"},
}
"""Every command by its help group, in the order of a job: its module here, and its function or Typer in it.

A command's module is imported when the command is used, and by `--help`, which lists all.
"""

app = typer.Typer(
    name="boltback",
    cls=group_of(COMMANDS),
    help="Which parts go into this car, within the limits of its owner, and what does each wish cost?",
    epilog="Ends with 0 (done), 2 (wrong use or input) or 3 (stored data at fault).",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _print_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        print(f"boltback {version('boltback')}")
        raise typer.Exit


@app.callback()
def before(
    store: Annotated[
        Path | None, typer.Option("--store", "-s", help="The store's file, for any command.", show_default=False)
    ] = None,
    version: Annotated[
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    """Options given before a command."""
    choose_store(store)


def check_typed() -> None:
    """Refuse arguments that are not valid text: the system passes any bytes.

    Raises
    ------
    InputError
        with the first such argument or environment variable.
    """
    from matcher.errors import InputError

    variables = {name: word for name, word in os.environ.items() if name.startswith("BOLTBACK_")}
    for name, word in [*((f"argument {at}", word) for at, word in enumerate(sys.argv[1:], 1)), *variables.items()]:
        try:
            word.encode()
        except UnicodeEncodeError:
            shown = os.fsencode(word).decode("utf-8", "backslashreplace")
            raise InputError(
                f"{name}: '{shown}' holds bytes that are no UTF-8 text",
                fix="type it anew, or rename the file, in UTF-8",
            ) from None


def _run_in_any_case() -> None:
    """Run the command; names that are known in another case are typed again as they are known.

    A name that is not known ends a command before it has changed or printed anything.
    """
    from matcher.errors import NotKnown

    while True:
        try:
            app()
        except NotKnown as error:
            typed = [_as_known(word, error.name, error.meant or error.name) for word in sys.argv[1:]]
            if typed == sys.argv[1:]:
                raise
            sys.argv[1:] = typed


def _as_known(word: str, name: str, known: str) -> str:
    """Replace a name in an argument such as ``JOB``, ``VEHICLE/OPENING`` or ``part:ID``.

    >>> _as_known("opening:TERN-8/Dash", "TERN-8", "tern-8"), _as_known("tern-80", "tern-8", "TERN-8")
    ('opening:tern-8/Dash', 'tern-80')
    """
    return re.sub(rf"(?:(?<=^)|(?<=[:/])){re.escape(name)}(?=$|/)", lambda _: known, word)


def main() -> None:
    """Run a command; end with 0 (done), 2 (wrong use or input) or 3 (stored data at fault)."""
    from matcher.errors import BoltbackError

    try:
        check_typed()
        _run_in_any_case()
    except BoltbackError as error:
        say(str(error))
        sys.exit(error.exit_code)
    except SystemExit as end:
        # Typer exits with 1 if the reader closes the pipe early, as `head` does: that is no fault.
        sys.exit(0 if end.code == 1 else end.code)
    except OSError as error:
        say(f"{error.filename or 'the system'}: {error.strerror or error}")
        if error.errno in (errno.ENOSPC, errno.EFBIG, errno.EDQUOT):
            say("fix: make room on the disk; working files go where TMPDIR says")
        sys.exit(2)
