"""Rejections of a slot's parts by rule: counts, and the closest miss."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from matcher.kernel.columns import Columns
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import from_micro
from matcher.kernel.verdicts import codes
from matcher.rules.cargo import CARGO
from matcher.rules.rule import NO, Rule, figures_of, rules_of
from matcher.rules.supply import POWERED
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts
from matcher.search.fits.holes import bare_interfaces, holes_of
from matcher.search.fits.interfaces import rules_at
from matcher.search.fits.place import Place
from matcher.settings import Settings


@dataclass(frozen=True, slots=True)
class Miss:
    """Count and closest part for each rule that refuses parts at an opening as found, without an adapter."""

    rule: Rule
    count: int
    nearest: str | None
    margin: Decimal | None


def misses(catalog: Catalog, place: Place) -> list[Miss]:
    """Return, for each rule that refuses something there, the count and the closest part."""
    parts = catalog.parts(place.family)
    opening = catalog.vehicle(place.vehicle_id).opening(place.kind, place.opening_id)
    mouth = bare_interfaces(holes_of(place.kind, opening)).take(np.array([0]))  # as found, without an adapter
    return _misses(rules_of(rules_at(place.kind)), parts, mouth | opening, catalog.settings)


def box_misses(catalog: Catalog, place: Place) -> list[Miss]:
    """Return, for each rule that refuses a catalog box in a cargo space, the count and the closest one."""
    opening = catalog.vehicle(place.vehicle_id).opening(place.kind, place.opening_id)
    return _misses(rules_of(CARGO), catalog.parts("enclosure"), opening, catalog.settings)


def _misses(rules: Sequence[Rule], parts: Parts, there: Columns, settings: Settings) -> list[Miss]:
    """Rejections of some parts by each rule; ties go to the first by name."""
    found = (_miss(rule, parts, there, settings) for rule in rules)
    return sorted((miss for miss in found if miss is not None), key=lambda miss: (-miss.count, miss.rule.name))


def _miss(rule: Rule, parts: Parts, there: Columns, settings: Settings) -> Miss | None:
    """Rejections by a rule, evaluated once per set of the figures that it reads."""
    sets = parts.sets([figure for figure in figures_of((rule,)) if figure.subject == "part"])
    at = Evaluation(parts.columns.take(sets.first) | there, settings)
    refused = np.broadcast_to(codes(rule, at) == NO, len(sets.first))
    count = int(refused[sets.number].sum())
    if not count:
        return None
    margin = np.broadcast_to(at.value(rule.have).values - at.value(rule.need).values, len(sets.first))
    most = margin[refused].max()
    nearest = int(sets.first[refused & (margin == most)].min())
    return Miss(rule, count, str(parts.part_ids[nearest]), from_micro(most))


def supply_refusals(catalog: Catalog, vehicle_id: str) -> list[Rule]:
    """Return the rules by which the vehicle's own supply refuses every powered part."""
    at = Evaluation(catalog.vehicle(vehicle_id).columns, catalog.settings)
    return [rule for rule in rules_of(POWERED) if np.any(codes(rule, at) == NO)]
