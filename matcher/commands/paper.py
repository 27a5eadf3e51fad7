"""Papers of a job as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import ForceOption, JobArgument, JsonOption, StoreOption, open_shop, print_json, say

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matcher.papers.paper import Paper
    from matcher.shop import Shop


def paper_kinds(incomplete: str) -> list[str]:
    """Return the kinds of paper, for completion."""
    from matcher.papers.paper import KINDS

    return [kind for kind in (*KINDS, "all") if kind.startswith(incomplete)]


def paper(
    job: JobArgument,
    kind: Annotated[
        str,
        typer.Argument(
            help="proposal, measuring, fitting, setup, handover-car, handover-owner, or all.",
            show_default=False,
            autocompletion=paper_kinds,
        ),
    ],
    package: Annotated[
        int | None,
        typer.Option(min=1, max=1000, help="The rank of the package it is about. [default: the chosen, or the first]"),
    ] = None,
    out: Annotated[Path, typer.Option(help="The folder that gets the files.")] = Path(),
    format: Annotated[str, typer.Option(help="html, pdf, or both with a comma between.")] = "html,pdf",
    quick: Annotated[
        bool,
        typer.Option("--quick", help="Leave out what the job is ranked again for: limits, deciding figures."),
    ] = False,
    force: ForceOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write a paper of a job: for the customer, or for measuring, fitting, set-up, handover."""
    from matcher.papers.paper import KINDS, check_asked

    formats = [one.strip() for one in format.split(",") if one.strip()]
    kinds = list(KINDS) if kind == "all" else [kind]
    check_asked(kinds, formats)
    shop = open_shop(store)
    with shop.store.reading():  # keep the file open between questions
        further = {} if quick else _ranked_again(shop, job, kinds, package)
        made = shop.papers.many(job, kinds, package=package, formats=formats, **further)
    files = write_papers(made, out, force=force)
    for one in made:
        for warning in one.warnings:
            say(f"note: {warning}")
    if as_json:
        print_json({"files": files, "warnings": [warning for one in made for warning in one.warnings]})
    else:
        for file in files:
            print(file)


def _ranked_again(shop: Shop, job: str, kinds: list[str], package: int | None) -> dict[str, Any]:
    """Return what needs further rankings: prices of limits for a proposal, figures to measure for a measuring sheet."""
    if not {"proposal", "measuring"} & set(kinds):
        return {}
    say("ranking again without each limit, on either side of each open figure; --quick leaves that out")
    from matcher.papers.limits import NOT_SOLD
    from matcher.shop.reasons import LOOKS

    options = shop.options(job, top=max(package or 1, 5))
    if not options.packages:
        return {"options": options, "why": shop.why(job)}
    answers: dict[str, Any] = {"options": options}
    if "proposal" in kinds:
        answers["limits"] = shop.limits(job, besides=NOT_SOLD)
    if "measuring" in kinds and any(one.verdict == "measure" for one in options.packages):
        answers["measure"] = shop.measure(job, looks=LOOKS)
    return answers


def write_papers(papers: Iterable[Paper], folder: Path, *, force: bool) -> list[str]:
    """Write papers into a folder, all or none, creating it if needed; return their paths."""
    from matcher.store.database.durable import check_target, write_file

    folder.mkdir(parents=True, exist_ok=True)
    written = {folder / one.name: one.data for one in papers}
    for path in written:
        check_target(path, force=force)
    for path, data in written.items():
        write_file(path, data)
    return [str(path) for path in written]
