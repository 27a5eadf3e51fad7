"""Verdict codes of rules by row, as int8."""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import both, opposite
from matcher.rules.rule import FITS, SKIP, Rule

Codes = NDArray[np.int8]


def codes(rule: Rule, at: Evaluation) -> Codes:
    """Return a rule's code by row: SKIP, FITS, the code of its risk if something is to be measured, or NO.

    A row fits if the margin covers the tolerance and is refused if it misses by more than the tolerance. Otherwise, or
    if a figure is missing, it is to be measured. A need that is only a bound may refuse a row but never pass it. If it
    is unknown whether the rule applies, the row may fit but is never refused.
    """
    have, need = at.value(rule.have), at.value(rule.need)
    tol = at.tol(rule.have) + at.tol(rule.need)
    margin = have.values - need.values
    known = both(have.known, need.known)
    fits = both(both(margin >= tol, known), opposite(at.bound(rule.need)))
    refused = both(margin < -tol, known)
    if rule.when is None:
        return _coded(rule, fits, refused)
    applies, skipped = at.holds(rule.when)
    return np.where(skipped, np.int8(SKIP), _coded(rule, fits, both(refused, applies))).astype(np.int8, copy=False)


def _coded(rule: Rule, fits: Any, refused: Any) -> Codes:
    """Add up codes, with NO as 0: faster than np.select."""
    risk = np.int8(rule.measure)
    coded: Codes = risk + (np.int8(FITS) - risk) * np.asarray(fits, np.int8) - risk * np.asarray(refused, np.int8)
    return coded.astype(np.int8, copy=False)


def worst(rules: Iterable[Rule], at: Evaluation) -> Codes:
    """Return the worst code of several rules by row; FITS if none of them applies."""
    every = [np.asarray(np.int8(FITS)), *(codes(rule, at) for rule in rules)]
    found: Codes = reduce(np.minimum, every)
    return found
