"""Verdict of several rules for each row: the first that refuses it, and the worst, as one number, the least worst.

From the most significant: what the rule says; whether it compares lengths, which come before anything else; how
much its margin has over its tolerance, in millionths, with an unknown margin below all; its place among the rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
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
"""A key's share of what the rule says."""
OTHER = 1 << 59
"""Added where the rule compares no lengths."""
FAR = 1 << 48
NO_RULE = (FITS + 1) * WORD
"""The key where no rule applies."""
MOST_RULES = 256
"""More than there are rules in a question: a rule's place among them is what is left of a key."""
LIMIT = 0
"""Where the limit on alteration stands among the rules of a question."""
FREE, DOUBT = 127, 126
"""In one byte instead of the first rule that says no: that none does, and that none does but one wants measuring."""
UNKNOWN = int(np.iinfo(np.int64).min)
"""A margin that is not known."""


class RowVerdicts(NamedTuple):
    """Verdict of some rules, for one row or for many: the first that refuses it, and the worst."""

    first: Any
    key: Any
    margin: Any
    """In millionths, as the tolerance."""
    tol: Any

    def at(self, row: Any) -> RowVerdicts:
        """Verdict of them for a row."""
        return RowVerdicts(*(int(part[row]) for part in self))

    def and_of(self, other: RowVerdicts) -> RowVerdicts:
        """The worst of both, of one row."""
        worst = min(self, other, key=lambda said: said.key)
        return worst._replace(first=min(self.first, other.first))


NOTHING = RowVerdicts(FREE, NO_RULE, UNKNOWN, 0)
"""Verdict if no rule applies."""


def said_of(rules: Sequence[Rule], places: Sequence[Rule], at: Evaluation, shape: tuple[int, ...]) -> RowVerdicts:
    """Verdicts of some rules for rows of a shape; `places` are all rules of the question."""
    told = RowVerdicts(*(np.full(shape, one, np.int8 if one == FREE else np.int64) for one in NOTHING))
    for rule in rules:
        place, code = places.index(rule), np.broadcast_to(_without_risk(codes(rule, at)), shape)
        tol = np.broadcast_to(at.tol(rule.have) + at.tol(rule.need), shape)
        margin = np.where(np.broadcast_to(_is_told(rule, at, code), shape), _margin(rule, at), UNKNOWN)
        tol = np.where(margin == UNKNOWN, 0, tol)  # parts alike where a figure is missing differ in it
        np.minimum(told.first, np.where(code == NO, place, FREE), out=told.first, casting="unsafe")
        key = key_of(code, margin, tol, rule.unit, place)
        worse = (code != SKIP) & (key < told.key)
        for mine, new in zip(told[1:], (key, margin, tol), strict=True):
            np.copyto(mine, new, where=worse)
    told.first[(told.first == FREE) & (told.key // WORD == STOPS)] = DOUBT
    return told


def _without_risk(code: Numbers) -> Numbers:
    """Codes in which all that is to be measured is one."""
    return np.where((code > NO) & (code < FITS), np.int8(STOPS), code)


def _margin(rule: Rule, at: Evaluation) -> Any:
    return at.value(rule.have).values - at.value(rule.need).values


def _is_told(rule: Rule, at: Evaluation, code: Numbers) -> Mask:
    """Whether a check tells its margin: not where a figure is not known, or a choice that decides."""
    is_known = both(at.value(rule.have).known, at.value(rule.need).known)
    sure = opposite(at.bound(rule.need))
    sure = sure if rule.when is None else both(sure, at.holds(rule.when).known)
    return is_known if sure is True else both(is_known, sure | (code != STOPS))


def key_of(code: Any, margin: Any, tol: Any, unit: str, place: int) -> Any:
    """The key of what a rule says."""
    room = np.clip(np.where(margin == UNKNOWN, 0, margin) - tol, -FAR, FAR) + FAR + 1
    ranked = np.where(margin == UNKNOWN, 0, room) * MOST_RULES
    return code.astype(np.int64) * WORD + (0 if unit == "mm" else OTHER) + ranked + place


def worst_of(one: RowVerdicts, other: RowVerdicts) -> RowVerdicts:
    """The worst of both, row by row."""
    worse = other.key < one.key
    worst = (np.where(worse, *each) for each in zip(other[1:], one[1:], strict=True))
    return RowVerdicts(np.minimum(one.first, other.first), *worst)


def worst_along(said: RowVerdicts, axis: int) -> RowVerdicts:
    """The worst of what is said along an axis."""
    at = np.expand_dims(said.key.argmin(axis=axis), axis)
    worst = (np.take_along_axis(part, at, axis=axis).squeeze(axis) for part in said[1:])
    return RowVerdicts(said.first.min(axis=axis), *worst)


@dataclass(eq=False)
class Telling:
    """Distinct outcomes of a share so far: of each a kind of opening, a key, and margin and tolerance in millionths."""

    kind: int = 0
    """The kind of opening that is asked about now."""
    many: int = 0
    found: list[tuple[Numbers, ...]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.number = cache(self._number)

    def numbers(self, key: Numbers, margin: Numbers, tol: Numbers) -> Numbers:
        """The numbers of what is told."""
        told = distinct([margin, tol, key], len(key))
        self.found.append((np.full(len(told.first), self.kind), *(each[told.first] for each in (key, margin, tol))))
        self.many += len(told.first)
        return told.number + (self.many - len(told.first))

    def _number(self, kind: int, key: int, margin: int, tol: int) -> int:
        """The number of one thing that is told."""
        self.found.append(tuple(np.array([value]) for value in (kind, key, margin, tol)))
        self.many += 1
        return self.many - 1

    def columns(self) -> dict[str, Numbers]:
        """All of it, in the order of its numbers."""
        names = ("kind", "key", "margin", "tol")
        return dict(zip(names, map(np.concatenate, zip(*self.found, strict=True)), strict=True))
