"""Sentences about the price of limits and the stability of weights."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalog_schema.whys import Beyond, Difference, LimitPrice, Stability
from matcher.answers.messages import amount, requirement_says
from matcher.answers.messages_beside import ROUTE_WORDS
from matcher.answers.messages_why import brief_says, words

if TYPE_CHECKING:
    from matcher.search.question import JobQuestion


def limit_says(question: JobQuestion, name: str) -> str:
    """Return a limit's name and value."""
    job, (stem, _, what) = question.job, name.partition(".")
    match stem:
        case "charging":
            return f"spare charging current: {amount(question.headroom.over_a, 'A')}"
        case "keep_clear":
            return f"{what} stays clear"
        case "security_routes":
            return f"{ROUTE_WORDS[what]} covered"
        case "per_opening" if job.limits.per_opening.get(what) is None:
            return f"alteration at {what} at most {job.limits.alteration}"
        case _:
            return words(requirement_says(job, name)) if stem == "must" else requirement_says(job, name)


def price_says(price: LimitPrice) -> str:
    """Describe the price of a limit."""
    if price.package is None:
        return "without it there is no package either"
    if price.difference is None:
        return f"without it there is a package: {brief_says(price.package)}"
    if not price.costs:
        return "costs nothing: without it the same package is best"
    return f"without it {difference_says(price.difference)}"


def difference_says(difference: Difference) -> str:
    """Describe the changes from one package to another."""
    changes = [*(swap.says for swap in difference.swaps), *(gain.says for gain in difference.gains)]
    return f"{points_say(difference.points)}: {'; '.join(changes)}" if changes else points_say(difference.points)


def points_say(points: int) -> str:
    """Format a difference of points in words."""
    if not points:
        return "no whole point more"
    return f"{abs(points)} {'point' if abs(points) == 1 else 'points'} {'more' if points > 0 else 'less'}"


def stability_says(one: Stability) -> str:
    """Describe how far a weight can change."""
    if one.below is None and one.above is None:
        return f"{words(one.wish)} {one.weight}: the same package wins whatever it weighs, 0 to 5"
    held = f"from {one.least} to {one.most}" if one.least != one.most else f"at {one.least} alone"
    beyond = [_wins(other) for other in (one.below, one.above) if other is not None]
    return "; ".join([f"{words(one.wish)} {one.weight}: the same package wins {held}", *beyond])


def _wins(beyond: Beyond) -> str:
    swaps = ", ".join(swap.says for swap in beyond.swaps)
    return f"at {beyond.weight} another: {swaps}"
