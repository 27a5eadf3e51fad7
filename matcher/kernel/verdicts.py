"""Verdict codes: what rules say of each row, as int8."""

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
    """Verdict code of a rule for each row: SKIP, FITS, its risk if it is to be measured, or NO.

    It fits where the margin covers the tolerance, and is refused where it misses by more; elsewhere, and where a
    figure is missing, it is to be measured. A need that is only a bound may refuse, never fit. Where it is not
    known whether the rule is asked, it may fit, never refuse.
    """
    have, need = at.value(rule.have), at.value(rule.need)
    tol = at.tol(rule.have) + at.tol(rule.need)
    margin = have.values - need.values
    known = both(have.known, need.known)
    fits = both(both(margin >= tol, known), opposite(at.bound(rule.need)))
    refused = both(margin < -tol, known)
    if rule.when is None:
        return _coded(rule, fits, refused)
    asked, skipped = at.holds(rule.when)
    return np.where(skipped, np.int8(SKIP), _coded(rule, fits, both(refused, asked))).astype(np.int8, copy=False)


def _coded(rule: Rule, fits: Any, refused: Any) -> Codes:
    """By sums of codes, of which NO is 0: faster than choosing."""
    risk = np.int8(rule.measure)
    coded: Codes = risk + (np.int8(FITS) - risk) * np.asarray(fits, np.int8) - risk * np.asarray(refused, np.int8)
    return coded.astype(np.int8, copy=False)


def worst(rules: Iterable[Rule], at: Evaluation) -> Codes:
    """The worst that some rules say of each row; FITS where none of them is asked."""
    every = [np.asarray(np.int8(FITS)), *(codes(rule, at) for rule in rules)]
    found: Codes = reduce(np.minimum, every)
    return found
