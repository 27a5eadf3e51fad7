"""Sentences about the figures to measure first."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.whys import Brief, Measure, MeasureFirst, Together
from matcher.answers.messages import amount
from matcher.answers.messages_why import brief_says


def entry_says(subject: str, field: str) -> str:
    """Return the command that enters a measured figure."""
    quoted = f"'{field}'" if " " in field else field
    return f"boltback reading add {subject} {quoted} VALUE"


def measure_says(one: Measure) -> str:
    """Describe a figure with the deciding value, and the winner on either side."""
    state = "not known" if one.is_missing else "not known well enough"
    return "; ".join(
        [
            f"{state}{_decides(one)}",
            f"then {_wins(one.inside, one.outside)}",
            f"otherwise {_wins(one.outside, one.inside)}",
            *([f"decided if it is known to ±{amount(one.within, one.unit)}"] if one.within is not None else []),
        ]
    )


def _decides(one: Measure) -> str:
    if one.fits_from is not None:
        return f", good from {amount(_rounded(one.fits_from), one.unit)} on"
    if one.fits_up_to is not None:
        return f", good up to {amount(_rounded(one.fits_up_to), one.unit)}"
    return ""


def _rounded(number: Decimal) -> Decimal:
    return number.quantize(Decimal("0.01")) if number != number.quantize(Decimal("0.01")) else number


def _wins(package: Brief | None, other: Brief | None = None) -> str:
    """Describe the best package by the parts that the other one lacks."""
    if package is None:
        return "there is no package"
    shared = {line.part_id for line in other.lines} if other else set()
    parts = ", ".join(line.part_id for line in package.lines if line.part_id and line.part_id not in shared)
    return f"the best has {brief_says(package)}{f', with {parts}' if parts else ''}"


def _missed(answer: MeasureFirst) -> str:
    if answer.best is None or answer.most_missed is None:
        return "what else could change it, and by how much, is not known"
    return f"measured, a package that was not looked at has {answer.most_missed} points at most"


def together_says(answer: Together) -> str:
    """Describe the gain if several figures turn out well together."""
    return f"were {', '.join(answer.figures)} all good, {_wins(answer.package)}"


def first_says(answer: MeasureFirst, *, is_ranked: bool = True) -> str:
    """Describe the gain from measuring, or only the early stop if the ranking was stopped early."""
    if not is_ranked:
        return "ended early: which package is the best of now is not sure, so no figure was looked at"
    looked = "" if answer.complete else f"; ended early, not all that could was looked at: {_missed(answer)}"
    if not answer.figures:
        return (
            f"no open figure {'would change' if answer.complete else 'that was looked at changes'} the winner{looked}"
        )
    many = "1 figure" if len(answer.figures) == 1 else f"{len(answer.figures)} figures"
    return f"{many} could change the winner, the most at stake first{looked}"


def looked_says(packages: int, figures: int) -> str:
    """Progress of the search for figures to measure first."""
    return f"packages looked at: {packages}; figures found that could change the winner: {figures}"
