"""Outcome of several rules for each row: the first that refuses it, and the worst, as one sortable number.

From the most significant part: the verdict; whether the rule compares lengths, which come first; margin minus tolerance
in millionths, with an unknown margin first; the position of the rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.distinct import distinct
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import Mask, both, opposite
from matcher.kernel.verdicts import codes
from matcher.rules.rule import FITS, NO, SKIP, STOPS, Rule

Numbers = NDArray[Any]
WORD = 1 << 60
"""The verdict's part of a key."""
OTHER = 1 << 59
"""Added if the rule compares no lengths."""
FAR = 1 << 48
NO_RULE = (FITS + 1) * WORD
"""Key if no rule applies."""
MOST_RULES = 256
"""More than the number of rules in a question: the last part of a key is the rule's position."""
LIMIT = 0
"""Position of the alteration limit among the rules of a question."""
FREE, DOUBT = 127, 126
"""In one byte instead of the first rule that refuses: none does; none does but one is open."""
UNKNOWN = int(np.iinfo(np.int64).min)
"""An unknown margin."""


class RowVerdicts(NamedTuple):
    """Outcome of some rules for some rows: the first that refuses each, and the worst."""

    first: Numbers
    key: Numbers
    margin: Numbers
    """In millionths, as the tolerance."""
    tol: Numbers

    def take(self, rows: Any) -> RowVerdicts:
        """Return the outcomes of some rows."""
        return RowVerdicts(*(each[rows] for each in self))


def no_verdicts(shape: int | tuple[int, ...]) -> RowVerdicts:
    """Return the outcome of rows to which no rule applies."""
    first, key = np.full(shape, FREE, np.int8), np.full(shape, NO_RULE)
    return RowVerdicts(first, key, np.full(shape, UNKNOWN), np.zeros(shape, np.int64))


def verdicts_of(rules: Sequence[Rule], places: Sequence[Rule], at: Evaluation, shape: tuple[int, ...]) -> RowVerdicts:
    """Return the outcomes of some rules for rows of a shape; `places` are all rules of the question."""
    found = no_verdicts(shape)
    for rule in rules:
        place, code = places.index(rule), codes(rule, at)
        code = np.broadcast_to(np.where((code > NO) & (code < FITS), np.int8(STOPS), code), shape)
        tol = np.broadcast_to(at.tol(rule.have) + at.tol(rule.need), shape)
        margin = at.value(rule.have).values - at.value(rule.need).values
        margin = np.where(np.broadcast_to(_has_margin(rule, at, code), shape), margin, UNKNOWN)
        tol = np.where(margin == UNKNOWN, 0, tol)  # parts alike where a figure is missing differ in it
        np.minimum(found.first, np.where(code == NO, place, FREE), out=found.first, casting="unsafe")
        room = np.clip(np.where(margin == UNKNOWN, 0, margin) - tol, -FAR, FAR) + FAR + 1
        ranked = np.where(margin == UNKNOWN, 0, room) * MOST_RULES + place
        key = code.astype(np.int64) * WORD + (0 if rule.unit == "mm" else OTHER) + ranked
        worse = (code != SKIP) & (key < found.key)
        for mine, new in zip(found[1:], (key, margin, tol), strict=True):
            np.copyto(mine, new, where=worse)
    found.first[(found.first == FREE) & (found.key // WORD == STOPS)] = DOUBT
    return found


def _has_margin(rule: Rule, at: Evaluation, code: Numbers) -> Mask:
    """Whether a check has a margin: not if a figure is unknown, or if a choice decides."""
    is_known = both(at.value(rule.have).known, at.value(rule.need).known)
    sure = opposite(at.bound(rule.need))
    sure = sure if rule.when is None else both(sure, at.holds(rule.when).known)
    return is_known if sure is True else both(is_known, sure | (code != STOPS))


def worst_of(one: RowVerdicts, other: RowVerdicts) -> RowVerdicts:
    """Return the worst of both, row by row."""
    worse = other.key < one.key
    worst = (np.where(worse, *each) for each in zip(other[1:], one[1:], strict=True))
    return RowVerdicts(np.minimum(one.first, other.first), *worst)


def worst_along(verdicts: RowVerdicts, axis: int) -> RowVerdicts:
    """Return the worst outcome along an axis."""
    at = np.expand_dims(verdicts.key.argmin(axis=axis), axis)
    worst = (np.take_along_axis(part, at, axis=axis).squeeze(axis) for part in verdicts[1:])
    return RowVerdicts(verdicts.first.min(axis=axis), *worst)


class RankedOutcomes(NamedTuple):
    """Distinct outcomes sorted by key, worst first."""

    rank: Numbers
    """Rank of each outcome, by its number."""
    refused: int
    """Number of outcomes that refuse."""
    sure: int
    """Rank of the first outcome with nothing open."""
    columns: Numbers
    """Key, margin and tolerance of each, shape (outcomes, 3)."""


class NumberedOutcomes:
    """Outcomes at a kind of opening so far, numbered; 0 means refused without details."""

    def __init__(self) -> None:
        self._found = [np.array([[-1, UNKNOWN, 0]])]
        self._many = 1

    def numbers(self, verdicts: RowVerdicts) -> Numbers:
        """Return the numbers of some outcomes."""
        found = distinct(verdicts[:0:-1], len(verdicts.key))
        self._found.append(np.stack([each[found.first] for each in verdicts[1:]], axis=1))
        self._many += len(found.first)
        return (found.number + (self._many - len(found.first))).astype(np.int32)

    def ranked(self) -> RankedOutcomes:
        """Return all outcomes, sorted."""
        every = np.concatenate(self._found)
        order = np.lexsort(every.T[::-1])
        rank = np.empty(len(order), np.int32)
        rank[order] = np.arange(len(order))
        refused, sure = np.searchsorted(every[order, 0], (STOPS * WORD, FITS * WORD)).tolist()
        return RankedOutcomes(rank, refused, sure, every[order])
