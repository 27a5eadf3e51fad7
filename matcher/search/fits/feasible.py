"""Feasible mountings: every way in which a family's parts go into an opening, as arrays.

A group of rules reads the same figures of a part. It is evaluated once for each distinct set of them against the
interfaces of the opening: a verdict matrix. Parts to which all groups say the same go in alike, by ways that are
worked out once for all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, reduce
from operator import and_
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import columns_told
from matcher.kernel.distinct import Numbers, distinct
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.rule import FITS, NO, Rule, figures_of, rules_of
from matcher.rules.terms import FigureTerm
from matcher.search.catalog.parts import Parts
from matcher.search.fits.interfaces import Interfaces, lifted, money_cents, rules_at
from matcher.search.fits.mates import LEAST, Mates, Met, WayIn
from matcher.search.fits.place import DRILLED, Place, is_allowed
from matcher.search.fits.refusing import refused_or_not
from matcher.settings import Settings

if TYPE_CHECKING:
    from matcher.search.catalog.kit import KitItem


class RuleGroup(NamedTuple):
    """Rules that read the same measures of a part, evaluated together."""

    rules: tuple[Rule, ...]
    by_drill: bool
    """Whether new screw holes lift them."""
    part: tuple[FigureTerm, ...]
    mouth: tuple[FigureTerm, ...]


@cache
def rule_groups(kind: str) -> tuple[list[Rule], list[RuleGroup]]:
    """The rules that say the same at every interface of an opening, and the others by the measures that they read."""
    own: list[Rule] = []
    groups: dict[object, list[Rule]] = {}
    for rule in rules_of(rules_at(kind)):
        figures = figures_of((rule,))
        if not any(figure.subject == "mouth" for figure in figures):
            own.append(rule)
            continue
        measures = frozenset(str(one) for one in figures if one.subject == "part" and one.field.endswith("_mm"))
        groups.setdefault((rule.lifted_at is not None, measures), []).append(rule)
    return own, [_group(rules) for rules in groups.values()]


def _group(rules: list[Rule]) -> RuleGroup:
    figures = figures_of(tuple(rules))
    part, mouth = (tuple(one for one in figures if one.subject == subject) for subject in ("part", "mouth"))
    return RuleGroup(tuple(rules), rules[0].lifted_at is not None, part, mouth)


class Outcomes(NamedTuple):
    """Verdicts of a rule group: the interfaces that pass, as strings of bits, by `LEAST` code."""

    distinct: Sequence[Sequence[int]]
    by_part: Numbers
    """By part: which of them."""


@dataclass
class Mountings:
    """Every way in which parts go into an opening: a row for each step and verdict code."""

    mates: Mates
    part: Numbers
    """Of each row its part, as a row of the family."""
    taken: Numbers
    """The step of the alteration ladder that it takes."""
    code: Numbers
    """The worst that is said of it."""
    through: Numbers
    """By which classes of adapters, as a place in `classes`."""
    ways: Numbers
    """Through how many adapters."""
    cents: Numbers
    """Price of the part there with its cheapest adapter, its labor and its kit."""
    classes: Sequence[int] = ()
    kit: tuple[KitItem, ...] = ()
    """Kit of any part there."""

    def __len__(self) -> int:
        return len(self.part)

    def replaced(self, rows: Sequence[int], own: Mountings) -> Mountings:
        """The same with the ways of some parts told otherwise; `own` counts these parts by their place in `rows`."""
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
        """The same with nothing left to measure of a part through an adapter: it was fitted so before."""
        mates, made = self.mates, self
        names = [{one["adapter_id"] for one in some} for some in mates.classes]
        bit = next((1 << at for at, some in enumerate(names) if adapter_id in some), 0)
        for row in np.flatnonzero((self.part == part) & (self.code != FITS))[::-1].tolist():
            every = self.classes[int(self.through[row])]
            if not every & bit:
                continue
            of_adapter = self.cents[row] - mates.first(every)["cents"] + mates.first(bit)["cents"]
            told = {"part": part, "taken": self.taken[row], "code": FITS, "through": len(made.classes)}
            told |= {"ways": mates.number(bit), "cents": of_adapter}
            arrays: dict[str, Any] = {name: np.insert(getattr(made, name), row, cell) for name, cell in told.items()}
            rest, keep = every & ~bit, np.ones(len(made) + 1, np.bool_)
            if rest:
                arrays["through"][row + 1], arrays["ways"][row + 1] = len(made.classes) + 1, mates.number(rest)
                arrays["cents"][row + 1] += mates.first(rest)["cents"] - mates.first(every)["cents"]
            keep[row + 1] = bool(rest)
            classes = [*made.classes, bit, rest or bit]
            made = replace(made, classes=classes, **{name: some[keep] for name, some in arrays.items()})
        return made

    @cached_property
    def _cheapest(self) -> list[dict[str, Any]]:
        """Of each string of classes the cheapest adapter."""
        return [self.mates.first(classes) for classes in self.classes]

    @cached_property
    def adapter_cents(self) -> Numbers:
        """Price of the cheapest adapter of each row."""
        cents: Numbers = np.array([one["cents"] for one in self._cheapest], np.int64)[self.through]
        return cents

    @cached_property
    def names(self) -> Numbers:
        """The place of each row in the order of names: by part, then by its cheapest adapter."""
        first = [one["adapter_id"] or "" for one in self._cheapest]
        rank = {name: at for at, name in enumerate(sorted(set(first)))}
        adapter = np.array([rank[name] for name in first], np.int64)[self.through]
        return self.part * (len(rank) + 1) + adapter


def feasible(place: Place, parts: Parts, pieces: int, met: Interfaces, alone: Any, settings: Settings) -> Mountings:
    """The ways in of all parts of a family.

    Parameters
    ----------
    alone
        The worst that is said of each part beside the rules of its fit; FITS where nothing is.
    """
    own, groups = rule_groups(place.kind)
    at = Evaluation(parts.columns | met.opening, settings)
    by_itself = [
        np.broadcast_to(refused_or_not(np.minimum(worst(lifted(own, drill), at), FITS if drill else alone)), len(parts))
        for drill in (False, True)
    ]
    can_drill = is_allowed(DRILLED, place.allowed)
    left = (by_itself[0] != NO) & ((by_itself[1] != NO) | can_drill)
    told: list[tuple[RuleGroup, Outcomes]] = []
    for group in groups:
        outcomes = _outcomes(group, parts, met, settings)
        told.append((group, outcomes))
        if not (group.by_drill and can_drill):
            nothing = np.array([can == 0 for can, *_ in outcomes.distinct], np.bool_)
            left = left & ~nothing[outcomes.by_part]
    return _ways(place, np.flatnonzero(left), by_itself, told, met.mates, money_cents(parts, pieces, settings))


def _outcomes(group: RuleGroup, parts: Parts, met: Interfaces, settings: Settings) -> Outcomes:
    """Verdicts of each set of figures against each different row of an interface, then by part."""
    sets = parts.sets(group.part)
    rows = distinct([part for one in group.mouth for part in columns_told(met.columns[one])], len(met.mates.mouths))
    figures = parts.columns.take(sets.first).down() | met.columns.take(rows.first).across() | met.opening
    codes = refused_or_not(worst(group.rules, Evaluation(figures, settings)))
    codes = np.broadcast_to(codes, (len(sets.first), len(rows.first)))
    bits = np.array([met.mates.at(mouth) for mouth in met.mates.mouths])
    masks = [0] * len(rows.first)
    for mouth, row in enumerate(rows.number.tolist()):
        masks[row] |= 1 << int(bits[mouth])
    told = distinct(_packed(codes), len(codes))
    found = [[_bits(codes[row] >= least, masks) for least in LEAST] for row in told.first.tolist()]
    return Outcomes(found, told.number[sets.number])


def _packed(codes: NDArray[np.int8]) -> list[Numbers]:
    """Rows of codes as columns of whole numbers, 26 codes in each."""
    at_once = 26
    weights = np.int64(FITS + 1) ** np.arange(at_once, dtype=np.int64)
    worn = np.minimum(codes, FITS)
    return [
        worn[:, first : first + at_once].astype(np.int64) @ weights[: worn[:, first : first + at_once].shape[1]]
        for first in range(0, codes.shape[1], at_once)
    ]


def _bits(hold: NDArray[np.bool_], masks: Sequence[int]) -> int:
    found = 0
    for row in np.flatnonzero(hold).tolist():
        found |= masks[row]
    return found


def _ways(
    place: Place,
    left: Numbers,
    by_itself: Sequence[Any],
    told: Sequence[tuple[RuleGroup, Outcomes]],
    mates: Mates,
    money: Numbers,
) -> Mountings:
    """Work out the ways in once for all parts of which the same is said."""
    said = [each[left].astype(np.int64) for each in by_itself] + [outcomes.by_part[left] for _, outcomes in told]
    alike = distinct(said, len(left))
    ways: list[tuple[WayIn, int, int]] = []
    first, many = [], []
    for row in alike.first.tolist():
        found = list(mates.ways_in(_met(mates, told, [int(each[row]) for each in said])))
        first.append(len(ways))
        many.append(len(found))
        ways += [(way, mates.number(way.classes), mates.first(way.classes)["cents"]) for way in found]
    starts, counts = np.array(first, np.int64), np.array(many, np.int64)
    each = counts[alike.number]
    part = np.repeat(left, each)
    within = np.arange(len(part)) - np.repeat(np.cumsum(each) - each, each)
    through = np.repeat(starts[alike.number], each) + within
    taken = np.array([way.taken for way, _, _ in ways], np.int64)
    code = np.array([way.code for way, _, _ in ways], np.int64)
    number, cents = (np.array([way[at] for way in ways], np.int64) for at in (1, 2))
    return Mountings(
        mates,
        part,
        taken[through] if len(ways) else through,
        code[through] if len(ways) else through,
        through,
        number[through] if len(ways) else through,
        money[part] + (cents[through] if len(ways) else 0),
        [way.classes for way, _, _ in ways],
    )


def _met(mates: Mates, told: Sequence[tuple[RuleGroup, Outcomes]], said: Sequence[int]) -> Met:
    """The interfaces that a part meets: by the rules that a drill cannot lift, and by those of the bolts."""
    outcomes: dict[bool, list[Sequence[int]]] = {False: [mates.firmly], True: [mates.bolted]}
    for (group, one), number in zip(told, said[2:], strict=True):
        outcomes[group.by_drill].append(one.distinct[number])
    both = (
        [0 if code < least else reduce(and_, each) for least, each in zip(LEAST, zip(*some, strict=True), strict=True)]
        for code, some in zip(said[:2], (outcomes[False], outcomes[True]), strict=True)
    )
    return Met(*both)
