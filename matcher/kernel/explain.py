"""Rules evaluated for single rows: the available and required values, the tolerance, and missing figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, NamedTuple

import numpy as np

from catalog_schema.checks import Check, Verdict
from matcher.kernel.columns import Column, Columns
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import MICRO, Mask, from_micro, plain
from matcher.kernel.verdicts import codes
from matcher.rules.layouts import Laid, OfPattern
from matcher.rules.rule import FITS, MEASURE, NO, SKIP, Rule
from matcher.rules.terms import Condition, Either, FigureTerm, SettingTerm, Term
from matcher.settings import Settings

VERDICTS: dict[int, Verdict] = {NO: "no", **dict.fromkeys(MEASURE.values(), "measure"), FITS: "fits"}


def explain(rules: Sequence[Rule], columns: Columns, settings: Settings, rows: int = 1) -> list[list[Check]]:
    """For each row, return a check for every rule that applies to it, in the order of the rules.

    Parameters
    ----------
    columns
        Figures of this many rows; a single value applies to all of them.
    """
    at = Evaluation(columns, settings)
    checks: list[list[Check]] = [[] for _ in range(rows)]
    for rule in rules:
        for row, check in enumerate(_checks(rule, at, rows)):
            if check is not None:
                checks[row].append(check)
    return checks


def _checks(rule: Rule, at: Evaluation, rows: int) -> Iterator[Check | None]:
    have, need = at.value(rule.have), at.value(rule.need)
    bound = at.bound(rule.need)
    tol = at.tol(rule.have) + at.tol(rule.need)
    when_known: Mask = True if rule.when is None else at.holds(rule.when).known
    arrays = (codes(rule, at), bound, tol, when_known, have.values, have.known, need.values, need.known)
    for row, values in enumerate(zip(*(_listed(array, rows) for array in arrays), strict=True)):
        code, bounded, off, is_when_known, has, is_had, needs, is_needed = values
        if code == SKIP:
            yield None
            continue
        is_measure = NO < code < FITS
        is_needed = is_needed and not (bounded and is_measure)  # a lower bound is not the required value
        # An unknown choice could change the answer.
        is_open = bounded or not is_when_known
        unsure = is_measure and (is_open or not is_had or not is_needed)
        terms = (*rule.terms[2:], rule.have, rule.need) if unsure else ()
        wanting = dict.fromkeys(name for term in terms for name in missing(term, at, row))
        check = Check(
            rule=rule.name,
            verdict=VERDICTS[code],
            have=from_micro(has) if is_had else None,
            need=from_micro(needs) if is_needed else None,
            margin=from_micro(has - needs) if is_had and is_needed and not unsure else None,
            tol=from_micro(off),
            unit=rule.unit,
            missing=list(wanting),
            loose=_loosest(rule, at, row) if is_measure and not unsure else [],
            source=str(rule.source),
        )
        decider = _decider(rule, check.missing[0], at, row) if len(wanting) == 1 else None
        if decider is not None:
            name = "fits_from" if decider.is_least else "fits_up_to"
            check = replace(check, **{name: decider.value})  # type: ignore[arg-type]
        yield check


def _listed(array: Any, rows: int) -> list[Any]:
    """Return an array as one plain value per row; a single value is repeated."""
    flat: list[Any] = np.ravel(array).tolist()
    return flat * rows if len(flat) == 1 else flat


def cell(array: Any, row: int) -> Any:
    """Return the value of a row; a single value is shared by all rows."""
    flat = np.ravel(array)
    return flat[0] if flat.size == 1 else flat[row]


def _loosest(rule: Rule, at: Evaluation, row: int) -> list[str]:
    """Return the measured figures of a rule, widest tolerance first; exact ones only if all are exact."""
    figures = {str(one): one for one in (*rule.have.figures(), *rule.need.figures())}
    tols = {name: cell(at.columns[figures[name]].tol, row) for name in rule.measures()}
    return [name for name in sorted(tols, key=lambda name: -tols[name]) if tols[name]] or list(tols)


def missing(term: Term, at: Evaluation, row: int) -> Iterator[str]:
    """Return the missing figures that leave a term without a value in a row, as ``subject.field``."""
    if isinstance(term, FigureTerm):
        if not cell(at.columns[term].known, row):
            yield str(term)
    elif isinstance(term, Condition):
        if not cell(at.holds(term).known, row):
            for figure in term.figures():
                yield from missing(figure, at, row)
    elif isinstance(term, OfPattern):
        if not cell(at.value(term).known, row):
            yield str(term.own)
    elif isinstance(term, Either | Laid):
        yield from _missing_branch(term, at, row)
    elif not (isinstance(term, SettingTerm) and term.otherwise is not None):
        for part in term.made_of():
            yield from missing(part, at, row)


def _missing_branch(term: Either | Laid, at: Evaluation, row: int) -> Iterator[str]:
    """Return the missing figures of the condition and of the branch it selects."""
    condition, then, otherwise = term.made_of()
    if isinstance(term, Laid):
        then, otherwise = otherwise, then
    assert isinstance(condition, Condition)
    yield from missing(condition, at, row)
    yes, no = at.holds(condition)
    if cell(yes, row):
        yield from missing(then, at, row)
    elif cell(no, row) or isinstance(term, Either):
        yield from missing(otherwise, at, row)


COARSE = np.arange(4096, dtype=np.int64) * MICRO
"""Values at which a rule is tried: every millimeter up to about four meters."""
FINE = np.arange(1001, dtype=np.int64) * (MICRO // 1000)
"""Values between two of these: every thousandth."""
MEASURED = frozenset({"part", "opening", "adapter", "mouth", "hole", "pair"})
"""Subjects whose figures are read directly, not computed from others."""
UNITS = ("_mm", "_kg", "_in")
"""Suffixes of figures that are measured."""


class Decider(NamedTuple):
    """The value of a figure, to a thousandth, at which a rule just holds."""

    value: Decimal
    is_least: bool
    """Whether the rule holds from that value up; otherwise it holds up to that value."""


def _decider(rule: Rule, name: str, at: Evaluation, row: int) -> Decider | None:
    """Return the value at which the only missing figure decides, if there is exactly one: by trying all of them."""
    figures = (*rule.have.figures(), *rule.need.figures())
    if not any(str(one) == name and one.subject in MEASURED and one.field.endswith(UNITS) for one in figures):
        return None
    own = at.columns.take(slice(row, row + 1))

    def holds(values: Any) -> Any:
        tried = Evaluation(own | {name: Column(values)}, at.settings)
        return np.broadcast_to(codes(rule, tried) >= FITS, len(values))  # or the rule does not apply

    switches = np.flatnonzero(np.diff(coarse := holds(COARSE)))
    if len(switches) != 1:
        return None
    at_last, values = int(switches[0]), COARSE[switches[0]] + FINE
    some = values[holds(values)]
    is_least = not coarse[at_last]
    value = some.min() if is_least else some.max()
    return Decider(plain(from_micro(value)), is_least) if value > 0 else None
