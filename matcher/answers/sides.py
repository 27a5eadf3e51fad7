"""Good and bad values of an open figure: the values on either side of the deciding one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from catalog_schema.answers import Check
from catalog_schema.kinds import ChoiceKind, FigureKind, FlagKind, WordsKind
from catalog_schema.problems import FieldError
from matcher.answers.assuming import AssumedRankings
from matcher.kernel.exact import from_micro
from matcher.rules.rule import Rule, rule_named
from matcher.rules.terms import FigureTerm
from matcher.search.catalog.parts import Parts
from matcher.search.what_if.assumed import Value
from matcher.search.what_if.unmeasured import ONE_WAY
from matcher.store.readings.subjects import split_figure

STEP = Decimal("0.1")
"""Smallest step beyond a deciding value, in the figure's unit."""


@dataclass(frozen=True, slots=True)
class Sides:
    """Values of a figure on either side of the deciding one."""

    good: Value
    bad: Value
    decides: Decimal | None = None
    is_least: bool = False
    """Whether it fits from the deciding value up; otherwise it fits up to that value."""
    within: Decimal | None = None
    """Precision needed to decide it at its present value; None if the value is unknown."""
    end: Decimal | None = None
    """Best possible value of a figure that decides only if others are at their best."""
    is_one_way: bool = False
    """Whether more is better in every rule."""
    is_far: bool = False
    """Whether no linear margin gives a deciding value: the sides are then the extremes in the store for its kind."""

    @property
    def best(self) -> Value:
        """Assumed value while another figure is weighed."""
        return self.good if self.end is None else self.end


def is_no_better(worse: Mapping[str, Sides], shared: Mapping[str, Sides]) -> bool:
    """Whether both assume the same figures and the first is nowhere better, so its fits hold for the second."""
    return worse.keys() == shared.keys() and all(
        side == shared[name] or (side.is_one_way and _is_less(side.best, shared[name].best))
        for name, side in worse.items()
    )


def _is_one_way(asking: AssumedRankings, name: str) -> bool:
    if not name.startswith("opening:"):
        return False
    kind = asking.subject(name).table.removeprefix("opening_")
    return split_figure(name)[1] in ONE_WAY.get(kind, ())


def _is_less(one: Value, other: Value) -> bool:
    return isinstance(one, Decimal) and isinstance(other, Decimal) and one <= other


def is_read(name: str) -> bool:
    """Whether readings are taken of a figure's subject."""
    return name.partition(":")[0] in ("part", "opening", "vehicle")


def sides_of(asking: AssumedRankings, checks: list[Check]) -> dict[str, Sides]:
    """Return the good and bad value of each open figure in some checks; the strictest check decides."""
    found: dict[str, Sides] = {}
    for check in checks:
        for name in (*check.missing, *check.loose):
            side = _sides(asking, name, check) if is_read(name) else None
            if (
                side is not None
                and _can_be(asking, name, side)
                and (name not in found or _is_stricter(side, found[name]))
            ):
                found[name] = replace(side, is_one_way=_is_one_way(asking, name))
    return found


def _can_be(asking: AssumedRankings, name: str, side: Sides) -> bool:
    """Whether the field can hold both values: no length is negative."""
    kind = asking.column(name).kind
    try:
        kind.read(side.good), kind.read(side.bad)
    except FieldError:
        return False
    return True


def _is_stricter(side: Sides, other: Sides) -> bool:
    if side.decides is None or other.decides is None:
        return other.decides is None and side.decides is not None
    if side.is_least != other.is_least:
        return False
    return side.decides > other.decides if side.is_least else side.decides < other.decides


def _sides(asking: AssumedRankings, name: str, check: Check) -> Sides | None:
    column = asking.column(name)
    if check.fits_from is not None:
        return Sides(check.fits_from, max(check.fits_from - 2 * check.tol - STEP, STEP), check.fits_from, is_least=True)
    if check.fits_up_to is not None:
        return Sides(check.fits_up_to, check.fits_up_to + 2 * check.tol + STEP, check.fits_up_to)
    if check.margin is not None:
        return _loose_sides(asking, name, check)
    if (side := _plain_sides(name, check)) is not None:
        return side
    match column.kind:
        case WordsKind():
            must = ";".join(asking.job.limits.must or ())
            return Sides(must, "none") if must and not column.kind.choices else None
        case FlagKind():
            return Sides(True, False)
        case ChoiceKind():
            return None
        case FigureKind():
            return _far_sides(asking, name, rule_named(check.rule))
    return None


def _plain_sides(name: str, check: Check) -> Sides | None:
    """Return the sides of a figure that is one whole side of a rule, from the rule's other side."""
    rule, field_name = rule_named(check.rule), split_figure(name)[1]
    have, need = (isinstance(term, FigureTerm) and field_name.endswith(term.field) for term in (rule.have, rule.need))
    if need and check.have is not None:
        return Sides(check.have - check.tol, check.have + check.tol + STEP, check.have - check.tol)
    if have and check.need is not None:
        least = check.need + check.tol
        return Sides(least, max(least - 2 * check.tol - STEP, STEP), least, is_least=True)
    return None


def _loose_sides(asking: AssumedRankings, name: str, check: Check) -> Sides | None:
    """Return the values at which a known but imprecise figure would decide its check."""
    subject, column = split_figure(name)[0], asking.column(name)
    value, tol = asking.stored(subject, column.name)
    in_need, in_have = _sides_of_rule(rule_named(check.rule), name)
    if value is None or tol is None or check.margin is None or in_need == in_have:
        return None
    sign = -1 if in_have else 1
    others = check.tol - tol
    decides = value + sign * (check.margin - others)
    refused = value + sign * (check.margin + others + STEP)
    if abs(decides - value) > tol and abs(refused - value) > tol:
        # The other tolerances leave it open however precise this figure is: it decides if they are at their best.
        if check.margin + others >= tol:
            return Sides(value, value)  # no better precision is needed
        least = value + sign * (check.margin + others)
        return Sides(least, value + sign * tol, least, is_least=in_have, end=value - sign * tol)
    return Sides(decides, refused, decides, is_least=in_have, within=abs(check.margin - others))


ABOUT = {"part": ("part", "adapter"), "opening": ("opening", "mouth", "hole")}
"""Subjects in rules for each subject of readings."""


def _sides_of_rule(rule: Rule, name: str) -> tuple[bool, bool]:
    """Whether a figure is on the needed side of a rule, and on the available side."""
    return _is_in(rule.need.figures(), name), _is_in(rule.have.figures(), name)


def _is_in(figures: Sequence[FigureTerm], name: str) -> bool:
    """Whether a figure is on a side of a rule; an opening may store it under a longer name."""
    kind, field_name = name.partition(":")[0], split_figure(name)[1]
    return any(one.subject in ABOUT.get(kind, ()) and field_name.endswith(one.field) for one in figures)


def _far_sides(asking: AssumedRankings, name: str, rule: Rule) -> Sides | None:
    """Return the extremes in the store as sides of a figure without a linear margin."""
    subject, field_name = split_figure(name)
    if not subject.startswith("part:"):
        return None
    ends = _ends(asking.catalog.parts(asking.subject(name).table), field_name)
    if ends is None:
        return None
    least, most = ends
    # If required, or if a load or a current, the smallest is best; otherwise the largest.
    in_need, in_have = _sides_of_rule(rule, name)
    is_less = in_need if in_need != in_have else field_name.endswith(("_ohm", "_ma", "_a"))
    return Sides(least, most, is_far=True) if is_less else Sides(most, least, is_far=True)


def _ends(parts: Parts, field_name: str) -> tuple[Decimal, Decimal] | None:
    """Return the smallest and largest stated value of a figure among some parts; None if all are equal."""
    column = parts.cells["stated_w" if (parts.family, field_name) == ("head_unit", "amp_w") else field_name]
    known = column.values[column.known]
    if not len(known) or known.min() == known.max():
        return None
    return from_micro(known.min()), from_micro(known.max())


HALVINGS = 6
"""Number of bisections of a figure's range to find where the winner changes."""


def between(asking: AssumedRankings, name: str, side: Sides, company: Mapping[str, Value]) -> Sides:
    """Return the value between two sides at which the winner changes, to about 1/64 of the range."""
    good, bad = side.good, side.bad
    assert isinstance(good, Decimal) and isinstance(bad, Decimal)
    (first, last) = (asking.best({**company, name: end}) for end in (good, bad))
    if (first and first.name) == (last and last.name):
        return side
    if first is None or (last is not None and last.order < first.order):
        good, bad, first = bad, good, last
    is_least = good > bad
    for _ in range(HALVINGS):
        middle = ((good + bad) / 2).quantize(Decimal("0.001"))
        found = asking.best({**company, name: middle})
        if (found and found.name) == (first and first.name):
            good = middle
        else:
            bad = middle
    return Sides(good, bad, good, is_least=is_least)
