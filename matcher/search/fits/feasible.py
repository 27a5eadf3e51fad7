"""Feasible mountings: every way to mount a family's parts in an opening, as arrays.

A group of rules reads the same figures of a part. It is evaluated once per distinct set of them and interface of the
opening: a verdict matrix. Parts with equal verdicts from all groups have the same mountings, computed once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, reduce
from operator import and_
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.distinct import Numbers, distinct
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.rule import FITS, NO, Rule, figures_of, rules_of
from matcher.rules.terms import FigureTerm
from matcher.search.catalog.parts import Parts
from matcher.search.fits.interfaces import LEAST, Interfaces, lifted, money_cents, rules_at, strings_of
from matcher.search.fits.place import DRILLED, Place, is_allowed
from matcher.search.fits.refusing import refused_or_not
from matcher.settings import Settings

if TYPE_CHECKING:
    from matcher.search.catalog.kit import KitItem


class RuleGroup(NamedTuple):
    """Rules that read the same measures of a part, evaluated together."""

    rules: tuple[Rule, ...]

    @property
    def is_lifted(self) -> bool:
        """Whether drilling new screw holes lifts them."""
        return self.rules[0].lifted_at is not None

    def figures(self, subject: str) -> list[FigureTerm]:
        """Return all figures of a subject that they read."""
        return [one for one in figures_of(self.rules) if one.subject == subject]


def grouped(rules: Iterable[Rule]) -> list[RuleGroup]:
    """Return rules by the measures of a part that they read, those that a drill lifts apart."""
    groups: dict[object, list[Rule]] = {}
    for rule in rules:
        figures = RuleGroup((rule,)).figures("part")
        measures = frozenset(str(one) for one in figures if one.field.endswith("_mm"))
        groups.setdefault((rule.lifted_at is not None, measures), []).append(rule)
    return [RuleGroup(tuple(some)) for some in groups.values()]


@cache
def rule_groups(kind: str) -> tuple[list[Rule], list[RuleGroup]]:
    """Return the rules that say the same at every interface of an opening, and the others by group."""
    every = rules_of(rules_at(kind))
    own = [rule for rule in every if not RuleGroup((rule,)).figures("mouth")]
    return own, grouped(rule for rule in every if rule not in own)


class Outcomes(NamedTuple):
    """Verdicts of a rule group: bit strings of the interfaces that pass, by `LEAST` code."""

    by_drill: bool
    distinct: Sequence[Sequence[int]]
    by_part: Numbers
    """Index of the verdict, by part."""


COLUMNS = ("part", "taken", "code", "through", "ways", "cents")
"""Fields of `Mountings` with one cell per row."""


@dataclass
class Mountings:
    """Every mounting of some parts in an opening: one row per step and verdict code."""

    interfaces: Interfaces
    part: Numbers
    """Row of the part in its family."""
    taken: Numbers
    """Required step of the alteration ladder."""
    code: Numbers
    """Worst verdict code."""
    through: Numbers
    """Index into `classes` of adapters."""
    ways: Numbers
    """Number of adapters."""
    cents: Numbers
    """Price of the part there with its cheapest adapter, labor and kit."""
    classes: Sequence[int] = ()
    kit: tuple[KitItem, ...] = ()
    """Kit of any part there."""

    def __len__(self) -> int:
        return len(self.part)

    def some(self, rows: Any) -> Mountings:
        """Return some of the mountings, by a mask."""
        return replace(self, **{name: getattr(self, name)[rows] for name in COLUMNS})

    def replaced(self, rows: Sequence[int] | Numbers, own: Mountings) -> Mountings:
        """Replace the mountings of some parts; `own` numbers these parts by position in `rows`."""
        kept = np.flatnonzero(~np.isin(self.part, rows))
        part = np.concatenate([self.part[kept], np.array(rows, np.int64)[own.part]])
        order = np.argsort(part, kind="stable")

        def joined(name: str, more: int = 0) -> Any:
            each = getattr(own, name)
            return np.concatenate([getattr(self, name)[kept], each + more if more else each])[order]

        return replace(
            self,
            part=part[order],
            **{name: joined(name) for name in ("taken", "code", "ways", "cents")},
            through=joined("through", len(self.classes)),
            classes=[*self.classes, *own.classes],
        )

    def settled(self, part: int, adapter_id: str | None) -> Mountings:
        """Mark a part through an adapter as fitting: it was fitted this way before."""
        met, made = self.interfaces, self
        some = [at for at, every in enumerate(met.classes) if adapter_id in map(met.adapter_id, every)]
        bit = sum(1 << at for at in some)
        for row in np.flatnonzero((self.part == part) & (self.code != FITS))[::-1].tolist():
            every = self.classes[int(self.through[row])]
            if not every & bit:
                continue
            own_cents = self.cents[row] - met.cents[met.first(every)]
            row_cells = {"part": part, "taken": self.taken[row], "code": FITS, "through": len(made.classes)}
            row_cells |= {"ways": met.number(bit), "cents": own_cents + met.cents[met.first(bit)]}
            arrays: dict[str, Any] = {
                name: np.insert(getattr(made, name), row, cell) for name, cell in row_cells.items()
            }
            rest, keep = every & ~bit, np.ones(len(made) + 1, np.bool_)
            if rest:
                arrays["through"][row + 1], arrays["ways"][row + 1] = len(made.classes) + 1, met.number(rest)
                arrays["cents"][row + 1] = own_cents + met.cents[met.first(rest)]
            keep[row + 1] = bool(rest)
            classes = [*made.classes, bit, rest or bit]
            made = replace(made, classes=classes, **{name: each[keep] for name, each in arrays.items()})
        return made

    @cached_property
    def adapter(self) -> Numbers:
        """The cheapest adapter of each row."""
        return np.array(list(map(self.interfaces.first, self.classes)), np.int64)[self.through]

    @cached_property
    def names(self) -> Numbers:
        """Position of each row in the order of names: part, then cheapest adapter."""
        return self.part * len(self.interfaces.cents) + self.adapter


def feasible(place: Place, parts: Parts, pieces: int, met: Interfaces, alone: Any, settings: Settings) -> Mountings:
    """Return the mountings of all parts of a family.

    Parameters
    ----------
    alone
        Worst verdict code of each part apart from its fit; FITS if there is none.
    """
    own, groups = rule_groups(place.kind)
    at = Evaluation(parts.columns | met.opening, settings)
    by_itself = [
        np.broadcast_to(refused_or_not(np.minimum(worst(lifted(own, drill), at), FITS if drill else alone)), len(parts))
        for drill in (False, True)
    ]
    can_drill = is_allowed(DRILLED, place.allowed)
    left = (by_itself[0] != NO) & ((by_itself[1] != NO) | can_drill)
    outcomes = [_outcomes(group, parts, met, settings) for group in groups]
    for one in outcomes:
        if not (one.by_drill and can_drill):
            left = left & np.array([can != 0 for can, *_ in one.distinct], np.bool_)[one.by_part]
    return _ways(np.flatnonzero(left), by_itself, outcomes, met, money_cents(parts, pieces, settings))


def _outcomes(group: RuleGroup, parts: Parts, met: Interfaces, settings: Settings) -> Outcomes:
    """Verdicts of each set of figures and distinct interface row, then by part."""
    sets = parts.sets(group.figures("part"))
    rows, bits = met.alike(tuple(group.figures("mouth")))
    figures = parts.columns.take(sets.first).down() | met.columns.take(rows.first).across() | met.opening
    codes = refused_or_not(worst(group.rules, Evaluation(figures, settings)))
    codes = np.broadcast_to(codes, (len(sets.first), len(rows.first)))
    alike = distinct(_packed(codes), len(codes))
    return Outcomes(
        group.is_lifted, [strings_of(codes[row], bits) for row in alike.first.tolist()], alike.number[sets.number]
    )


def _packed(codes: NDArray[np.int8]) -> list[Numbers]:
    """Rows of codes packed into integers, 26 codes each."""
    at_once = 26
    weights = np.int64(FITS + 1) ** np.arange(at_once, dtype=np.int64)
    worn = np.minimum(codes, FITS).astype(np.int64)
    pieces = [worn[:, first : first + at_once] for first in range(0, codes.shape[1], at_once)]
    return [piece @ weights[: piece.shape[1]] for piece in pieces]


def _ways(
    left: Numbers, by_itself: Sequence[Any], outcomes: Sequence[Outcomes], met: Interfaces, money: Numbers
) -> Mountings:
    """Compute the mountings once for all parts with equal verdicts."""
    verdicts = [each[left].astype(np.int64) for each in by_itself] + [one.by_part[left] for one in outcomes]
    alike = distinct(verdicts, len(left))
    sits = [strings_of(np.array([one[at] for one in met.every]), met.bits) for at in (3, 4)]
    own = np.stack([each[alike.first] for each in verdicts], axis=1).tolist()
    ways_in = cache(lambda base, bolts: list(met.ways_in(base, bolts)))
    every = [ways_in(*_met(sits, outcomes, codes)) for codes in own]
    counts = np.array(list(map(len, every)), np.int64)
    ways = [way for some in every for way in some]
    each = counts[alike.number]
    part = np.repeat(left, each)
    within = np.arange(len(part)) - np.repeat(np.cumsum(each) - each, each)
    through = np.repeat((np.cumsum(counts) - counts)[alike.number], each) + within
    adapters = {classes: (met.number(classes), met.first(classes)) for classes in {way.classes for way in ways}}
    columns = np.array([(way.taken, way.code, *adapters[way.classes]) for way in ways], np.int64).reshape(-1, 4)
    taken, code, number, first = columns[through].T
    cents = money[part] + met.cents[first]
    return Mountings(met, part, taken, code, through, number, cents, [way.classes for way in ways])


def _met(
    sits: Sequence[Sequence[int]], outcomes: Sequence[Outcomes], verdicts: Sequence[int]
) -> Iterator[tuple[int, ...]]:
    """Interfaces that a part fits: by the rules that drilling cannot lift, and by the bolt rules."""
    for by_drill in (False, True):
        strings = [sits[by_drill]]
        strings += [
            one.distinct[at] for one, at in zip(outcomes, verdicts[2:], strict=True) if one.by_drill == by_drill
        ]
        least_of = zip(LEAST, zip(*strings, strict=True), strict=True)
        yield tuple(0 if verdicts[by_drill] < least else reduce(and_, each) for least, each in least_of)
