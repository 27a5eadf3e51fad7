"""Reasons on the terminal: the outcome in a sentence, then what stands behind it."""

from __future__ import annotations

from catalog_schema.answers import Line
from catalog_schema.whys import Brief, LimitPrices, MeasureFirst, PartReason, Relaxation, Why
from matcher.commands.base import print_item
from matcher.commands.show_options import show_slots
from matcher.explain.wording import fit_headline
from matcher.explain.wording_measure import together_says
from matcher.explain.wording_why import brief_says, gains_say


def show_why(answer: Why) -> None:
    """Clashes and what would help; or what is nearly full; or the reason about one part."""
    print(f"{answer.job_id}: {answer.says}")
    if answer.part is not None:
        _show_part(answer.part, answer.best)
        return
    if answer.best is not None:
        print(f"The best package has {brief_says(answer.best)}. What limits it first:")
        for near in answer.near:
            print_item(f"- {near.says}")
    for clash in answer.clash:
        print()
        print_item(clash.says, "")
        print_item(clash.checks)
    if answer.relaxations:
        _show_relaxations(answer.relaxations)
    show_slots(answer.slots)


def _show_relaxations(relaxations: list[Relaxation]) -> None:
    print("\nWhat would help, each no more than it has to be and ranked again")
    for number, one in enumerate(relaxations, 1):
        print(f"{number}. then the best package has {brief_says(one.package)}")
        for change in one.changes:
            print_item(f"- {change.says}", "   ")
        print_item(parts_of(one.package), "   ")


def parts_of(package: Brief) -> str:
    """The parts of a package in a line."""
    return "parts: " + ", ".join(_part(line) for line in package.lines)


def _part(line: Line) -> str:
    adapter = f" + {line.adapter_id}" if line.adapter_id else ""
    return f"{line.part_id or line.label}{adapter} at {line.opening_id or line.slot}"


def _show_part(reason: PartReason, best: Brief | None) -> None:
    for fit in reason.fits:
        print(f"\n{fit_headline(fit)}")
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
    """What each limit costs, the dearest first; then, where it was asked for, how stable the winner is."""
    best = f"the best package has {brief_says(answer.best)}" if answer.best else "no package meets every limit"
    print(f"{answer.job_id}: {best}")
    for one in answer.limits:
        if one.costs and one.package is not None:
            print()
            print_item(one.value, "")
            print_item(one.says)
    vain = [one.value for one in answer.limits if one.package is None]
    if vain:
        print("\nWithout any one of these there is no package either:")
        print_item("; ".join(vain))
    free = [one.value for one in answer.limits if one.package is not None and not one.costs]
    if free:
        print("\nThese cost nothing, the same package is best without any one of them:")
        print_item("; ".join(free))
    if answer.weights:
        print("\nHow far each wish may weigh otherwise, 0 to 5, before another package wins")
    for wish in answer.weights:
        print_item(f"- {wish.says}")


def show_measure(answer: MeasureFirst) -> None:
    """The figures that could change the winner, each with what wins on either side and how to enter it."""
    print(f"{answer.job_id}: {answer.says}")
    if answer.best is not None:
        print(f"Now the best package has {brief_says(answer.best)}.")
    if answer.sure is not None and answer.sure != answer.best:
        print(f"With nothing left to measure it has {brief_says(answer.sure)}.")
    for number, one in enumerate(answer.figures, 1):
        print(f"\n{number}. {one.figure}: {one.points} points at stake ({one.rule})")
        print_item(one.says, "   ")
        if one.also:
            print_item(f"if these are good as well: {', '.join(one.also)}", "   ")
        print_item(f"enter it: {one.enter}", "   ")
    if answer.together is not None:
        print("\nSeveral together could bring more")
        print_item(together_says(answer.together))
    if answer.untold:
        print("\nOpen as well, without a value that could be said to decide:")
        print_item(", ".join(answer.untold))
