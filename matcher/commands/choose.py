"""Choose a package for a job, and show the current state of the choice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import (
    ByOption,
    JobArgument,
    JsonOption,
    StoreOption,
    open_shop,
    print_item,
    print_json,
    print_table,
    say,
)
from matcher.commands.terms import on_terms

if TYPE_CHECKING:
    from catalog_schema.choices import Choice, ChoiceChanges

LONGEST_RANK = 4
"""Digits of a rank; ids are longer."""


@on_terms
def choose(
    job: JobArgument,
    package: Annotated[str, typer.Argument(help="The package's id or rank, as options lists them.")],
    note: Annotated[str | None, typer.Option("--note", help="Why, or what was agreed.", show_default=False)] = None,
    top: Annotated[
        int | None,
        typer.Option(min=1, max=1000, help="The --top of the list that it is from.", show_default=False),
    ] = None,
    *,
    terms: dict[str, Any],
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Fix a package to a job, with its prices, reasons and figures; it replaces an earlier choice.

    To choose a package that was shown on one-time terms, give the same terms.
    """
    wanted = int(package) if package.isdecimal() and len(package) <= LONGEST_RANK else package
    choice = open_shop(store).choices.choose(job, wanted, terms=terms, note=note, by=by, top=top)
    if as_json:
        print_json(choice.to_dict())
        return
    say(f"package {choice.rank} of version {choice.catalog_version} is fixed to {job}: choice {choice.number}")
    show_choice(choice)


def choice(
    job: JobArgument,
    every: Annotated[bool, typer.Option("--all", help="Every choice of the job, the first first.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show a job's chosen package, and the changes since on today's catalog."""
    shop = open_shop(store)
    if every:
        found = shop.choices.all(job)
        if as_json:
            print_json({"choices": [one.to_dict() for one in found]})
        else:
            print_table(HEADS, [choice_cells(one) for one in found], right=frozenset({0, 3, 4, 5}))
        return
    chosen, changes = shop.choices.chosen(job), shop.choices.changes(job)
    if as_json:
        print_json({"choice": chosen.to_dict(), "changes": changes.to_dict()})
        return
    show_choice(chosen)
    show_changes(changes)


HEADS = ["choice", "at", "by", "package", "catalog", "total", "note"]


def choice_cells(one: Choice) -> list[str]:
    """Cells of a choice in the list of all."""
    total = f"{one.package.price.total:.2f}"
    return [str(one.number), one.chosen_at, one.by, str(one.rank), str(one.catalog_version), total, one.note or ""]


def show_choice(one: Choice) -> None:
    """Print who chose the package and when, then its parts."""
    print(f"{one.job_id}: package {one.rank} of version {one.catalog_version}, chosen by {one.by} at {one.chosen_at}")
    if one.note:
        print_item(f"note: {one.note}")
    if one.terms:
        from catalog_schema.terms import terms_say

        print_item(f"chosen on the terms: {'; '.join(terms_say(one.terms))}")
    rows = [
        [
            line.opening_id or line.slot,
            line.part_id or "original",
            line.adapter_id or "",
            line.label,
            f"{line.price:.2f}",
        ]
        for line in one.package.lines
    ]
    print_table(["where", "part", "adapter", "what", "price"], rows, right=frozenset({4}))
    price = one.package.price
    print(
        f"parts {price.parts:.2f}, labor {price.labour:.2f}, total {price.total:.2f}; {len(one.figures)} figures kept"
    )


def show_changes(found: ChoiceChanges) -> None:
    """Print the changes since the choice, or that there are none."""
    from matcher.jobs.messages import changes_says

    print(f"\n{changes_says(found)}")
    for change in found.changes:
        print_item(f"- {change.says}")
