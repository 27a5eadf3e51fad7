"""Rules on sums: the most that a rule allows of a quantity that the search adds up, such as money or current."""

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
    """Return the largest allowed value of the figure that a rule needs, in micro-units; None if it can refuse nothing.

    Parameters
    ----------
    others
        The other figures that the rule reads, for one row.
    sure
        Whether the sum must pass for certain; otherwise it only must not be refused.

    Raises
    ------
    ValueError
        if the rule needs more than this one figure, so that it is no limit on a sum.
    """
    if not isinstance(rule.need, FigureTerm):
        raise ValueError(f"{rule.name} is no limit on a sum: it needs {rule.need}")
    at = Evaluation(Columns(others) | {str(rule.need): Column(np.zeros(1, np.int64))}, settings)
    have, tol = at.value(rule.have), int(cell(at.tol(rule.have), 0))
    applies = True if rule.when is None else cell(at.holds(rule.when).yes, 0)
    if not (applies and cell(have.known, 0)):
        return None
    return int(cell(have.values, 0)) + (-tol if sure else tol)
