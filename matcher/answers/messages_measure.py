"""Sentences about the figures to measure first."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.figure_labels import figure_label
from catalog_schema.whys import Brief, Measure, MeasureFirst, Together
from matcher.answers.messages import amount
from matcher.answers.messages_why import brief_says
from matcher.store.readings.subjects import split_figure


def entry_says(subject: str, field: str) -> str:
    """Return the command that enters a measured figure."""
    quoted = f"'{field}'" if " " in field else field
    return f"boltback reading add {subject} {quoted} VALUE"


def figure_says(figure: str) -> str:
    """Return a figure in words: the part, opening, pane or vehicle, and its label.

    >>> figure_says("opening:tern-8/door.depth_mm"), figure_says("vehicle:tern-8.charge_a")
    ('door, depth behind the panel', 'vehicle, charging current when driving')
    >>> figure_says("vehicle:tern-8.panes.rear-left.h_mm")
    'pane rear-left, height'
    """
    subject, field = split_figure(figure)
    kind, _, name = subject.partition(":")
    thing = field.partition(".")[2].rpartition(".")[0]
    if kind == "vehicle":
        where = [f"pane {thing}" if thing else kind]
    else:
        where = [name.rpartition("/")[2], *([thing] if thing else [])]
    return ", ".join([*where, figure_label(figure)])


def measure_lines(one: Measure) -> list[str]:
    """Describe how well a figure is known, and the best package on either side of the deciding value."""
    state = "not known" if one.is_missing else "not known closely enough"
    if one.within is not None:
        state += ": " + (f"±{amount(one.within, one.unit)} would do" if one.within else "too close for any reading")
    good, bad = "if it is good", "if it is not"
    if one.fits_from is not None:
        good, bad = f"{amount(_rounded(one.fits_from), one.unit)} or more", "less"
    elif one.fits_up_to is not None:
        good, bad = f"{amount(_rounded(one.fits_up_to), one.unit)} or less", "more"
    if one.outside is not None and (one.inside.score, _parts(one.inside)) == (one.outside.score, _parts(one.outside)):
        return [state, f"once known, {good} as well as {bad}: {_best(one.inside)}"]
    return [state, f"{good}: {_best(one.inside, one.outside)}", f"{bad}: {_best(one.outside, one.inside)}"]


def _parts(package: Brief) -> list[str | None]:
    return [line.part_id for line in package.lines]


def _rounded(number: Decimal) -> Decimal:
    return number.quantize(Decimal("0.01")) if number != number.quantize(Decimal("0.01")) else number


def _best(package: Brief | None, other: Brief | None = None) -> str:
    """Describe the best package by the parts that the other one lacks."""
    if package is None:
        return "no package"
    shared = {line.part_id for line in other.lines} if other else set()
    parts = ", ".join(line.part_id for line in package.lines if line.part_id and line.part_id not in shared)
    return f"{brief_says(package)}{f', with {parts}' if parts else ''}"


def unmeasured_says(openings: list[str]) -> str:
    """Describe openings that come before figures of parts there.

    >>> unmeasured_says(["door", "cargo"])
    'door, cargo: no part is sure to fit before they are measured; figures of parts there count only then'
    """
    pronoun, verb = ("it", "is") if len(openings) == 1 else ("they", "are")
    return (
        f"{', '.join(openings)}: no part is sure to fit before {pronoun} {verb} measured; "
        "figures of parts there count only then"
    )


def together_says(answer: Together) -> str:
    """Describe the gain if several figures turn out well together."""
    return f"{'; '.join(map(figure_says, answer.figures))}. If all of these are good: {_best(answer.package)}"


def first_says(answer: MeasureFirst, *, is_ranked: bool = True) -> str:
    """Describe the gain from measuring, or only the early stop if the ranking was stopped early."""
    if not is_ranked:
        return "ended before the best package was certain, so no figure was tried"
    rest = "" if answer.complete else f"; ended early: {_missed(answer)}"
    if not answer.figures:
        return f"no open figure {'would change' if answer.complete else 'tried so far changes'} the best package{rest}"
    many = "1 figure" if len(answer.figures) == 1 else f"{len(answer.figures)} figures"
    return f"{many} could change the best package, the most points at stake first{rest}"


def _missed(answer: MeasureFirst) -> str:
    if answer.best is None or answer.most_missed is None:
        return "it is not known how much the others could change"
    return f"any other package has at most {answer.most_missed} points once measured"


def looked_says(packages: int, figures: int) -> str:
    """Progress of the search for figures to measure first."""
    return f"{packages} packages tried; {figures} figures found that could change the best one"
