"""The catalog's adapters at an opening, tried for a part that does not fit by itself."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from catalog_schema.checks import VERDICT_ORDER, Fit
from catalog_schema.ladder import LADDER, step_rank
from matcher.kernel.columns import word_code
from matcher.rules.rule import FITS
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts
from matcher.search.fits.feasible import Mountings, feasible
from matcher.search.fits.fit import STANDING, fit_parts, question_of
from matcher.search.fits.interfaces import interfaces_of
from matcher.search.fits.mounting import MountingQuestion
from matcher.search.fits.place import LOOSEST, Place, is_allowed
from matcher.search.fits.screens import screen_codes


class Tried(NamedTuple):
    """Number of adapters for an opening's kind, and the best of them for a part."""

    many: int
    adapter_id: str | None
    """The adapter with the least alteration, then with nothing open, then the cheapest."""


def fit_with_adapters(catalog: Catalog, part_id: str, vehicle_id: str, opening_id: str, asked: str) -> Fit:
    """Return `fit_part` without an adapter, or with the best of the catalog's if the part does not fit.

    The answer with an adapter includes the one without (`Fit.without`). An adapter counts only if it improves the
    verdict or lowers the least alteration.
    """
    question = question_of(catalog, part_id, vehicle_id, opening_id, None)
    bare = fit_parts(catalog, {question: step_rank(asked)})[question]
    if bare.verdict != "no" or question.kind in STANDING:
        return bare
    tried = _try_adapters(catalog, question, step_rank(asked))
    bare = replace(bare, adapters_tried=tried.many)
    if tried.adapter_id is None:
        return bare
    through = question._replace(adapter_id=tried.adapter_id)
    found = fit_parts(catalog, {through: step_rank(asked)})[through]
    return replace(found, without=bare, adapters_tried=tried.many) if _order(found) < _order(bare) else bare


def _order(fit: Fit) -> tuple[int, int]:
    """Sort key of answers: verdict at the given step, then least alteration."""
    return -VERDICT_ORDER[fit.verdict], len(LADDER) if fit.alteration is None else step_rank(fit.alteration)


def _try_adapters(catalog: Catalog, question: MountingQuestion, asked: int) -> Tried:
    """Try the adapters for the opening's kind with one part."""
    every = catalog.parts("adapter")
    adapters = every.take(np.flatnonzero(every.cells["for"].values == word_code(question.kind)))
    found = _mountings(catalog, question, adapters)
    met, ways = found.interfaces, []
    for taken, code, through in zip(found.taken.tolist(), found.code.tolist(), found.through.tolist(), strict=True):
        if classes := found.classes[through] & ~met.bare_class:
            first = met.first(classes)
            ways.append((not is_allowed(taken, asked), code != FITS, taken, int(met.cents[first]), first))
    return Tried(len(adapters), met.adapter_id(min(ways)[-1]) if ways else None)


def _mountings(catalog: Catalog, question: MountingQuestion, adapters: Parts) -> Mountings:
    """Feasible mountings of one part with these adapters, at any step of the ladder."""
    settings, vehicle = catalog.settings, catalog.vehicle(question.vehicle_id)
    place = Place(question.kind, question.family, question.vehicle_id, question.opening_id, LOOSEST)
    parts = catalog.parts(question.family)
    part = parts.take(parts.rows([question.part_id]))
    met = interfaces_of(place, vehicle.opening(question.kind, question.opening_id), 1, adapters, settings)
    alone = np.full(1, FITS, np.int8)
    if question.kind == "dash":
        alone = screen_codes(vehicle.things(question.opening_id), part.columns, settings)
    return feasible(place, part, 1, met, alone, settings)
