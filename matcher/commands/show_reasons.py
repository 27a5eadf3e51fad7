"""Reasons on the terminal: the outcome in a sentence, then the details."""

from __future__ import annotations

from catalog_schema.answers import Line
from catalog_schema.whys import Brief, LimitPrices, MeasureFirst, PartReason, Relaxation, Why
from matcher.answers.messages import fit_headline
from matcher.answers.messages_measure import figure_says, measure_lines, together_says, unmeasured_says
from matcher.answers.messages_why import brief_says, gains_say
from matcher.commands.base import print_item, print_text
from matcher.commands.show_options import ALL_REASONS, show_slots

SHOWN = 3
"""Number of smallest changes printed without `--full`."""


def show_why(answer: Why, *, full: bool = False) -> None:
    """Print conflicts and the smallest changes that help, or the limits nearly used up, or the reason about a part.

    Parameters
    ----------
    full
        Also print how each conflict was checked, every smallest change, and why parts do not fit.
    """
    print_text(f"{answer.job_id}: {answer.says}")
    if answer.part is not None:
        _show_part(answer.part, answer.best)
        return
    if answer.best is not None:
        print(f"The best package has {brief_says(answer.best)}. Limits with least to spare:")
        for near in answer.near:
            print_item(f"- {near.says}")
    if answer.conflicts:
        print("\nRequirements that conflict: without one of a set the others of it can be met")
    for conflict in answer.conflicts:
        print_item(f"- {' + '.join(conflict.limits)}")
        if full:
            print_item(conflict.checks, "    ")
    if answer.relaxations:
        _show_relaxations(answer.relaxations[: None if full else SHOWN])
    if full:
        show_slots(answer.slots, ALL_REASONS)
    elif answer.conflicts:
        print(f"\nChecks, more changes, and why parts do not fit: boltback why {answer.job_id} --full")


def _show_relaxations(relaxations: list[Relaxation]) -> None:
    print("\nSmallest changes that give a package")
    for number, one in enumerate(relaxations, 1):
        print_item(f"{number}. {brief_says(one.package)}", "")
        for change in one.changes:
            print_item(f"- {change.says}", "   ")
        print_item(parts_of(one.package), "   ")


def parts_of(package: Brief) -> str:
    """Format the parts of a package on one line."""
    return "parts: " + ", ".join(_part(line) for line in package.lines if line.part_id)


def _part(line: Line) -> str:
    adapter = f" + {line.adapter_id}" if line.adapter_id else ""
    return f"{line.part_id}{adapter} at {line.opening_id or line.slot}"


def _show_part(reason: PartReason, best: Brief | None) -> None:
    for fit in reason.fits:
        print_text(f"\n{fit_headline(fit)}")
        for check in fit.checks:
            if check.verdict != "fits":
                print_item(f"- {check.rule}: {check.says}")
    if best is not None:
        print(f"\nThe best package has {brief_says(best)}.")
    if reason.package is not None and reason.difference is not None:
        print(f"The best with {reason.part_id} has {brief_says(reason.package)}:")
        for swap in reason.difference.swaps:
            print_item(f"- {swap.says}")
        if reason.difference.gains:
            print_item(f"- {gains_say(reason.difference.gains)}")


def show_limits(answer: LimitPrices) -> None:
    """Print the price of each limit, dearest first; then, if asked for, how stable the best package is."""
    best = f"the best package has {brief_says(answer.best)}" if answer.best else "no package meets every limit"
    print(f"{answer.job_id}: {best}")
    for one in answer.limits:
        if one.costs and one.package is not None:
            print()
            print_item(one.value, "")
            print_item(one.says)
    vain = [one.value for one in answer.limits if one.package is None]
    if vain:
        print("\nThere is no package even without one of these:")
        print_item("; ".join(vain))
    free = [one.value for one in answer.limits if one.package is not None and not one.costs]
    if free:
        print("\nThese cost nothing: without one of them the same package is best:")
        print_item("; ".join(free))
    if answer.weights:
        print("\nHow far the weight of each wish, 0 to 5, can change before another package wins")
    for wish in answer.weights:
        print_item(f"- {wish.says}")


def show_measure(answer: MeasureFirst) -> None:
    """Print the figures that could change the best package, the best on either side, and how to enter each."""
    print(f"{answer.job_id}: {answer.says}")
    if answer.best is not None:
        print_item(f"Best package now: {brief_says(answer.best)}", "")
    if answer.sure is not None and answer.sure != answer.best:
        print_item(f"Best package with nothing left to measure: {brief_says(answer.sure)}", "")
    for number, one in enumerate(answer.figures, 1):
        points = "1 point" if one.points == 1 else f"{one.points} points"
        print(f"\n{number}. {figure_says(one.figure)}: {points} at stake")
        for line in measure_lines(one):
            print_item(line, "   ")
        if one.also:
            print_item(f"if these are good as well: {'; '.join(map(figure_says, one.also))}", "   ")
        print_item(f"enter it: {one.enter}", "   ")
    if answer.unmeasured:
        print("\nMeasure these openings first:")
        print_item(unmeasured_says(answer.unmeasured))
    if answer.together is not None:
        print("\nSeveral figures together could bring more:")
        print_item(together_says(answer.together))
    if answer.not_weighed:
        print("\nAlso open, but no single value decides:")
        print_item("; ".join(map(figure_says, answer.not_weighed)))
