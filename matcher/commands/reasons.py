"""The reasons behind an answer: conflicts, changes that help, prices of limits, figures to measure first."""

from __future__ import annotations

from typing import Annotated

import typer

from matcher.commands.base import JobArgument, JsonOption, StoreOption, open_shop, print_json
from matcher.commands.progress import Progress


def why(
    job: JobArgument,
    part: Annotated[str | None, typer.Argument(help="Why not this part? By its number.", show_default=False)] = None,
    full: Annotated[bool, typer.Option("--full", help="Print checks, every change, and why parts do not fit.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Explain why a job has no package and what would help, or why a part is not in the best one."""
    with Progress(for_eyes=True) as progress:
        progress.tell("ranking with one limit after another lifted")
        answer = open_shop(store).why(job, part=part)
    if as_json:
        print_json(answer.to_dict())
    else:
        from matcher.commands.show_reasons import show_why

        show_why(answer, full=full)


def limits(
    job: JobArgument,
    weights: Annotated[
        bool, typer.Option("--weights", help="Tell too how far each wish may weigh otherwise before another wins.")
    ] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the price of each limit: the best package without it, ranked again, and the difference."""
    with Progress(for_eyes=True) as progress:
        progress.tell("ranking without each limit")
        answer = open_shop(store).limits(job, weights=weights)
    if as_json:
        print_json(answer.to_dict())
    else:
        from matcher.commands.show_reasons import show_limits

        show_limits(answer)


def measure(
    job: JobArgument,
    looks: Annotated[
        int | None,
        typer.Option(min=1, help="Look at so many packages that could still win. [default: all]", show_default=False),
    ] = None,
    seconds: Annotated[
        float | None, typer.Option(min=0, help="End after about so long, with what is found.", show_default=False)
    ] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """List what to measure first: open figures that could change the best package, and the best on either side.

    Every figure that a rule reads is tried, by itself and together with everything else open about the same part.
    Combinations across parts are not tried, except for one set. A deciding figure without a value is listed as
    open. If the search ends early, the answer shows that, and what it may miss if that is known.
    """
    with Progress(for_eyes=True) as progress:
        progress.tell("looking for figures that could change the best package")
        answer = open_shop(store).measure(
            job, looks=looks, seconds=seconds, tell=progress.tell, is_stopped=progress.end_on_interrupt()
        )
    if as_json:
        print_json(answer.to_dict())
    else:
        from matcher.commands.show_reasons import show_measure

        show_measure(answer)
