"""Rules on sums: how much a rule lets through of what a search adds up, such as money or current."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from matcher.kernel.columns import Column, Columns
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.explain import cell
from matcher.rules.rule import Rule
from matcher.rules.terms import FigureTerm
from matcher.settings import Settings


def most_of(rule: Rule, others: Mapping[str, Column], settings: Settings, *, sure: bool) -> int | None:
    """The most, in micro-units, that the figure a rule needs may come to; None if the rule can refuse nothing.

    Parameters
    ----------
    others
        The other figures that the rule reads, of one row.
    sure
        Whether nothing may be left to measure; else whatever is not refused goes through.

    Raises
    ------
    ValueError
        if the rule needs more than the one figure, so that it is no limit on a sum.
    """
    if not isinstance(rule.need, FigureTerm):
        raise ValueError(f"{rule.name} is no limit on a sum: it needs {rule.need}")
    at = Evaluation(Columns(others) | {str(rule.need): Column(np.zeros(1, np.int64))}, settings)
    have, tol = at.value(rule.have), int(cell(at.tol(rule.have), 0))
    asked = True if rule.when is None else cell(at.holds(rule.when).yes, 0)
    if not (asked and cell(have.known, 0)):
        return None
    return int(cell(have.values, 0)) + (-tol if sure else tol)
