"""Questions at the counter and in the bay: does it fit, and which packages are best."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import (
    EXIT_CODES,
    AlterationOption,
    ByOption,
    ExitCodeOption,
    JobArgument,
    JsonOption,
    OpeningArgument,
    StoreOption,
    open_shop,
    print_json,
    print_table,
    print_text,
)
from matcher.commands.progress import Progress
from matcher.commands.terms import on_terms

if TYPE_CHECKING:
    from catalog_schema.answers import Fit


def fit(
    part: Annotated[str, typer.Argument(help="The part's number.", show_default=False)],
    opening: OpeningArgument,
    adapter: Annotated[str | None, typer.Option(help="An adapter between them, by its part number.")] = None,
    alteration: AlterationOption = "bolt_on",
    exit_code: ExitCodeOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Check one part at one opening: fits, does not fit, or measure first, by how much and why."""
    answer = open_shop(store).fit(part, opening, adapter=adapter, alteration=alteration)
    if as_json:
        print_json(answer.to_dict())
    else:
        show_fit(answer)
    if exit_code:
        raise typer.Exit(EXIT_CODES[answer.verdict])


def show_fit(answer: Fit) -> None:
    """Print the verdict, then every check, worst first."""
    from matcher.answers.messages import alteration_says, fit_headline, without_says

    print_text(fit_headline(answer))
    print(alteration_says(answer))
    if answer.without is not None:
        print(without_says(answer))
    print()
    show_checks(answer)
    for note in (*answer.readings, *(claim.says for claim in answer.claims), *answer.cautions):
        print(f"note: {note}")


def show_checks(answer: Fit) -> None:
    """Print every check of a fit, worst first."""
    from catalog_schema.checks import VERDICT_ORDER
    from matcher.answers.messages import VERDICT_WORDS, amount

    checks = sorted(answer.checks, key=lambda check: VERDICT_ORDER[check.verdict])
    rows = [
        [check.rule, VERDICT_WORDS[check.verdict], amount(check.margin, check.unit) if check.unit else "", check.says]
        for check in checks
    ]
    print_table(["rule", "verdict", "margin", "why"], rows, right=frozenset({2}))


@on_terms
def options(
    job: JobArgument,
    top: Annotated[int, typer.Option("--top", "-n", min=1, max=1000, help="How many packages to list.")] = 5,
    full: Annotated[bool, typer.Option("--full", help="Add the best parts per opening, checks, undoing.")] = False,
    catalog: Annotated[
        int | None, typer.Option(min=1, help="Ask on an earlier version of the catalog.", show_default=False)
    ] = None,
    *,
    terms: dict[str, Any],
    keep: Annotated[bool, typer.Option("--keep", help="Also save these terms in the job.")] = False,
    by: ByOption = None,
    exit_code: ExitCodeOption = False,
    seconds: Annotated[
        float | None,
        typer.Option(min=0, help="End the search after so long, with the best so far.", show_default=False),
    ] = None,
    memory_mb: Annotated[
        int | None,
        typer.Option("--memory-mb", min=64, help="End it where it would keep more than this.", show_default=False),
    ] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Rank whole packages inside the job's limits, and the best at each budget.

    Terms given here apply to this question only, unless --keep saves them in the job; the value none takes a term out.
    """
    shop = open_shop(store)
    if keep:
        shop.jobs.edit(job, terms, by=by)
    with Progress(for_eyes=True) as progress:
        answer = shop.options(
            job,
            top=top,
            version=catalog,
            terms=None if keep else terms,
            seconds=seconds,
            memory_mb=memory_mb,
            tell=progress.tell,
            is_stopped=progress.end_on_interrupt(),
        )
    if full and answer.packages and catalog is None:
        answer = replace(answer, alternatives=shop.alternatives(job, terms=None if keep else terms))
    if as_json:
        print_json(answer.to_dict())
    else:
        from matcher.commands.show_options import show_options

        show_options(answer, full=full)
    if exit_code:
        raise typer.Exit(EXIT_CODES[answer.packages[0].verdict if answer.packages else "no"])
