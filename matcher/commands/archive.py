"""Archive jobs, vehicles, parts and openings, bring them back, or delete them."""

from __future__ import annotations

from typing import Annotated

import typer

from matcher.commands.base import ByOption, JsonOption, StoreOption, open_shop, print_json, print_table, say

SubjectArgument = Annotated[
    str, typer.Argument(help="job:ID, vehicle:ID, part:ID or opening:VEHICLE/OPENING.", show_default=False)
]
NoteOption = Annotated[str | None, typer.Option("--note", help="The reason, for the log.", show_default=False)]


def archive(
    subject: Annotated[
        str | None,
        typer.Argument(help="job:ID, vehicle:ID, part:ID or opening:VEHICLE/OPENING.", show_default=False),
    ] = None,
    note: NoteOption = None,
    anyway: Annotated[bool, typer.Option("--anyway", help="Archive it though something depends on it.")] = False,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take something out of lists, searches and rankings; first list anything that depends on it.

    Without a subject, list everything archived; unarchive brings it back.
    """
    shop = open_shop(store)
    if subject is not None:
        shop.archive.put_away(subject, anyway=anyway, note=note, by=by)
        say(f"{subject} is archived: boltback unarchive {subject} brings it back")
    if as_json:
        print_json({"archived": shop.archive.all()})
    elif subject is None:
        print_table(["archived"], [[one] for one in shop.archive.all()])


def unarchive(
    subject: SubjectArgument, by: ByOption = None, store: StoreOption = None, as_json: JsonOption = False
) -> None:
    """Bring an archived subject back into lists, searches and rankings."""
    shop = open_shop(store)
    shop.archive.take_back(subject, by=by)
    if as_json:
        print_json({"archived": shop.archive.all()})
    else:
        say(f"{subject} is in use again")


def delete(
    subject: SubjectArgument,
    note: NoteOption = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Delete something that no job, choice or record needs; dependents are listed, and the log keeps its document."""
    open_shop(store).archive.delete(subject, note=note, by=by)
    if as_json:
        print_json({"deleted": subject})
    else:
        say(f"{subject} is deleted; boltback log keeps what it was")
