"""The log: each change with its author and time, and who signed a job off."""

from __future__ import annotations

from typing import Annotated

import typer

from matcher.commands.base import (
    AnywayOption,
    ByOption,
    JobArgument,
    JsonOption,
    StoreOption,
    open_shop,
    print_json,
    print_table,
    say,
)


def log(
    job: Annotated[
        str | None, typer.Option("--job", help="What was done to one job and its vehicle.", show_default=False)
    ] = None,
    since: Annotated[
        str | None, typer.Option("--since", help="From then on: 2026-03-01, or 2026-03-01 14:30.", show_default=False)
    ] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """List who changed what and when, oldest first."""
    found = open_shop(store).log(job, since=since)
    if as_json:
        print_json(found.to_dict())
        return
    print_table(
        ["at", "by", "what", "of", "detail"],
        [[one.at, one.by, one.what, one.subject, one.detail] for one in found.entries],
    )


def sign(
    job: JobArgument,
    by: ByOption = None,
    note: Annotated[
        str | None, typer.Option("--note", help="What was handed over, or why it is signed anyway.", show_default=False)
    ] = None,
    anyway: AnywayOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Sign a job off: its terms, choice, set-up and readings stay as they are; another job can replace it.

    If something is open it is listed, and the job is not signed.
    """
    shop = open_shop(store)
    shop.choices.sign(job, by=by, note=note, anyway=anyway)
    signed = shop.jobs.get(job).to_dict()["signed"]
    if as_json:
        print_json({"job": job, "signed": signed})
    else:
        say(f"job {job} is signed off by {signed['by']} at {signed['at']}")
