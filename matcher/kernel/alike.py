"""Equivalence classes of rows: rows for which every term the rules compute from one side alone is equal."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any

import numpy as np

from matcher.kernel.columns import Column, row_keys, word_of
from matcher.kernel.distinct import DistinctSets, Numbers, distinct
from matcher.kernel.evaluate import Evaluation
from matcher.rules.rule import Rule
from matcher.rules.terms import Condition, Term, read_by


def alike(rules: Sequence[Rule], subjects: Collection[str], at: Evaluation, rows: int) -> DistinctSets:
    """Return one representative of each class of rows that the rules cannot tell apart.

    For example, parts of different sizes with the same orientation and flange are one class to a rule about flanges.

    Parameters
    ----------
    at
        An evaluation over these subjects alone, one row per thing.
    """
    terms = dict.fromkeys(one for rule in rules for term in rule.terms for one in _own(term, subjects))
    arrays = [np.broadcast_to(array, rows) for term in terms for array in _arrays_of(term, at)]
    return distinct(arrays, rows)


def _own(term: Term, subjects: Collection[str]) -> Iterator[Term]:
    """Return the largest subterms of a term that read only these subjects."""
    figures = read_by(term)
    if not any(one.subject in subjects for one in figures):
        return
    if all(one.subject in subjects for one in figures):
        yield term
        return
    for part in term.made_of():
        yield from _own(part, subjects)


def _arrays_of(term: Term, at: Evaluation) -> Iterator[Numbers]:
    """Return every array of a term that affects the terms above it: truth masks, or value, tolerance and bound."""
    if isinstance(term, Condition):
        yes, no = at.holds(term)
        yield _whole(yes)
        yield _whole(no)
        return
    values, known = at.value(term)
    yield from distinguishing_keys(Column(np.asarray(values), known, at.tol(term)))
    yield _whole(at.bound(term))


def distinguishing_keys(column: Column) -> list[Numbers]:
    """Return a column as arrays that distinguish rows: values (words by spelling, not by code) and tolerances."""
    values = column.values
    if values.dtype == np.int32:
        codes, at = np.unique(np.where(column.known, values, -1), return_inverse=True)
        values = np.argsort(np.argsort(["" if code < 0 else word_of(code) for code in codes.tolist()]))[at]
    return row_keys(column._replace(values=values))


def _whole(array: Any) -> Numbers:
    return np.asarray(array).astype(np.int64)
