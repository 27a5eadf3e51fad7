"""Results for whole families at an opening: interfaces and feasible mountings, each computed once."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import numpy as np

from matcher.kernel.columns import Column, Columns, columns_of, word_code
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import MICRO, to_micro
from matcher.kernel.verdicts import Codes, worst
from matcher.rules.holding import HOLDING
from matcher.rules.rule import FITS, NO, rules_of
from matcher.rules.supply import POWERED
from matcher.rules.wanted import WANTED
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.fitted import fitted_before
from matcher.search.catalog.kit import kit_at, kit_cents
from matcher.search.catalog.parts import Parts
from matcher.search.fits.feasible import Mountings, feasible
from matcher.search.fits.interfaces import Interfaces, interfaces_of
from matcher.search.fits.place import Place
from matcher.search.fits.refusing import refused_or_not
from matcher.search.fits.screens import screen_codes
from matcher.settings import Settings


@dataclass(frozen=True, slots=True)
class HeadUnitWish:
    """Requirements of the job for a head unit."""

    screen_min_in: Decimal | None
    must: tuple[str, ...]


NOTHING_WANTED = HeadUnitWish(None, ())


def supply_code(catalog: Catalog, vehicle_id: str) -> int:
    """Return the worst verdict code of the vehicle's own supply for any powered part."""

    def find() -> int:
        return _worst_of_one(catalog, POWERED, catalog.vehicle(vehicle_id).columns)

    code: int = catalog.once(("powered", vehicle_id), find)
    return code


def may_hold(catalog: Catalog, place: Place) -> bool:
    """Return whether anything may be fastened at an opening at all, regardless of limits."""

    def find() -> int:
        opening = catalog.vehicle(place.vehicle_id).opening(place.kind, place.opening_id)
        return _worst_of_one(catalog, HOLDING, opening)

    code: int = catalog.once(("holds", place.kind, *place.key), find)
    return code != NO


def _worst_of_one(catalog: Catalog, scope: str, columns: Columns) -> int:
    """Return the worst verdict code of some rules for one row."""
    code = int(np.ravel(worst(rules_of(scope), Evaluation(columns, catalog.settings)))[0])
    return int(refused_or_not(code))


def interfaces_at(catalog: Catalog, place: Place, pieces: int) -> Interfaces:
    """Return the interfaces of an opening within its allowed step."""

    def find() -> Interfaces:
        opening = catalog.vehicle(place.vehicle_id).opening(place.kind, place.opening_id)
        return interfaces_of(place, opening, pieces, _adapters(catalog, place.kind), catalog.settings)

    met: Interfaces = catalog.once(("interfaces", place, pieces), find)
    return met


def _adapters(catalog: Catalog, kind: str) -> Parts:
    """The adapters made for a kind of opening."""

    def find() -> Parts:
        parts = catalog.parts("adapter")
        return parts.take(np.flatnonzero(parts.cells["for"].values == word_code(kind)))

    adapters: Parts = catalog.once(("adapters", kind), find)
    return adapters


def mountings_at(catalog: Catalog, place: Place, pieces: int, wanted: HeadUnitWish = NOTHING_WANTED) -> Mountings:
    """Return the feasible mountings of a family at an opening; only parts with assumed figures are computed again."""

    def find() -> Mountings:
        parts = catalog.parts(place.family)
        plain, rows = parts.before or (parts, [])
        key = "mountings of parts", place, pieces, wanted, plain
        every: Mountings = catalog.once(key, lambda: _mountings(catalog, plain, place, pieces, wanted))
        if not rows:
            return every
        return every.replaced(rows, _mountings(catalog, parts.take(rows), place, pieces, wanted))

    found: Mountings = catalog.once(("mountings", place, pieces, wanted), find)
    return found


def _mountings(catalog: Catalog, parts: Parts, place: Place, pieces: int, wanted: HeadUnitWish) -> Mountings:
    """Mountings under the requirements of a job; computed again only for parts that may or may not meet them."""
    key = "mountings of any part", place, pieces, parts
    every: Mountings = catalog.once(key, lambda: _of_any(catalog, parts, place, pieces))
    if wanted == NOTHING_WANTED or not len(every):
        return every
    codes = np.broadcast_to(wanted_codes(parts, wanted, catalog.settings), len(parts))
    open_ = np.flatnonzero((codes != FITS) & (codes != NO))
    own = _feasible(catalog, parts.take(open_), place, pieces, codes[open_])
    return every.some(codes[every.part] != NO).replaced(open_, own)


def _of_any(catalog: Catalog, parts: Parts, place: Place, pieces: int) -> Mountings:
    found = _feasible(catalog, parts, place, pieces, np.full(len(parts), FITS, np.int8))
    for part_id, adapter_id in fitted_before(catalog, place.vehicle_id, place.opening_id):
        row = parts.row(part_id)
        found = found if row is None else found.settled(row, adapter_id)
    return found


def _feasible(catalog: Catalog, parts: Parts, place: Place, pieces: int, alone: Codes) -> Mountings:
    met, nothing = interfaces_at(catalog, place, pieces), np.zeros(0, np.int64)
    if not met.every or not len(parts):
        return Mountings(met, nothing, nothing, nothing, nothing, nothing, nothing)
    if place.kind == "dash":
        alone = np.minimum(_hung_codes(catalog, parts, place), alone)
    found = feasible(place, parts, pieces, met, alone, catalog.settings)
    kit = kit_at(catalog, place.kind, place.vehicle_id, place.opening_id)
    return replace(found, cents=found.cents + kit_cents(kit), kit=kit)


def _hung_codes(catalog: Catalog, parts: Parts, place: Place) -> Codes:
    """Verdict codes of floating screens among the things that must stay reachable; adapters change nothing there."""
    vehicle, key = catalog.vehicle(place.vehicle_id), ("floating screens", *place.key, parts)

    def find() -> Any:
        return screen_codes(vehicle.things(place.opening_id), parts.columns, catalog.settings)

    found: Codes = catalog.once(key, find)
    return found


def wanted_columns(wanted: HeadUnitWish, has: Collection[str] | None, given: Collection[str]) -> Columns:
    """Requirements of a job for one head unit, with its known features and those of its accessories."""
    met = None if has is None else len({*has, *given} & set(wanted.must))
    return columns_of("wanted", [{"screen_min_in": wanted.screen_min_in, "count": len(wanted.must), "met": met}])


def wanted_codes(parts: Parts, wanted: HeadUnitWish, settings: Settings) -> Codes:
    """Return the worst verdict code of each head unit by the job's requirements."""
    must = set(wanted.must)
    has = np.array([-1 if some is None else len(must & set(some)) for some in parts.lists("features")], np.int64)
    met = has[parts.cells["features"].values]
    least = wanted.screen_min_in
    required = {
        "wanted.screen_min_in": Column(np.array([to_micro(least or 0)]), least is not None),
        "wanted.count": Column(np.array([to_micro(len(wanted.must))])),
        "wanted.met": Column(met * MICRO, met >= 0),
    }
    return np.broadcast_to(worst(rules_of(WANTED), Evaluation(parts.columns | required, settings)), len(parts))
