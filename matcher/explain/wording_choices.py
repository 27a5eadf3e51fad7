"""The sentences of choices, of what changed since, and of set-up."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from catalog_schema.choices import ChoiceChange, ChoiceChanges, GainTarget
from matcher.explain.calc import cautions
from matcher.explain.wording import VERDICT_WORDS, amount

SETUP_CAUTIONS = [cautions.METER_FIRST, cautions.HEARING]


def to_measure(gains: Sequence[GainTarget]) -> list[str]:
    """What a set-up has to measure, in the order of the work."""
    return [
        "polarity of every opening",
        "the head unit's output by volume step, and where it clips",
        *(f"gain at {gain.opening_id}" for gain in gains if gain.target_v is not None),
        "current on music",
        "drain at rest",
    ]


def figure(value: str, tol: Decimal | None) -> str:
    """A figure with its own tolerance."""
    return value if tol is None else f"{value} ±{amount(tol)}"


def change_says(change: ChoiceChange) -> str:
    """One change since a choice, in a sentence."""
    name, before, after = change.subject, change.before, change.after
    match change.what:
        case "withdrawn":
            return f"{name} was withdrawn from the catalog"
        case "price":
            return f"{name}: the price moved from {before} to {after}"
        case "reading":
            return f"{name} {change.name}: measured {after}, was {before or 'not known'}"
        case "figure":
            return f"{name} {change.name}: {after or 'not known'} now, was {before or 'not known'}"
        case "lost":
            return "the package cannot be put together any more as it was chosen"
        case "better":
            return f"there is a better package now: {after}"
        case "breaks":
            return f"{change.name} breaks. {change.says}"
        case "clears":
            return f"{change.name} is cleared. {change.says}"
        case _:
            return f"{change.name} is to be measured. {change.says}"


def stands_says(found: ChoiceChanges) -> str:
    """How a choice stands today, in a sentence."""
    asked = f"asked again on version {found.catalog_now} of the catalog"
    if not found.changes:
        return f"{asked}: nothing has changed since it was chosen"
    if found.total_now is None:
        money = ""
    elif found.total_now == found.total_then:
        money = ", at the same price"
    else:
        money = f", {found.total_now:.2f} instead of {found.total_then:.2f}"
    count = len(found.changes)
    things = "one thing has" if count == 1 else f"{count} things have"
    verdict = f"it {'still holds' if found.stands else 'does not hold any more'}"
    return f"{asked}: {things} changed, {verdict} ({VERDICT_WORDS[found.verdict_now].lower()}){money}"
