"""Openings and parts for drawings, read from the store once while it does not change."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from catalog_schema.checks import Fit
from catalog_schema.parts import Adapter, Part
from catalog_schema.places import OPENING_FAMILIES
from catalog_schema.vehicles import Opening
from matcher.drawings.placed import Placed
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.fit import fit_part, part_family
from matcher.search.fits.mounting import MountingQuestion, screen_rise_mm
from matcher.store.catalog.things import stored_opening, stored_part


@dataclass(frozen=True, slots=True)
class OpeningRequest:
    """Request for drawings of an opening as it is, or with a part and possibly an adapter."""

    vehicle_id: str
    opening_id: str
    part_id: str | None = None
    adapter_id: str | None = None
    alteration: str = "bolt_on"
    fit: Fit | None = None
    """Its fit, if already computed."""


def opening_in(catalog: Catalog, vehicle_id: str, opening_id: str) -> Opening:
    """Return an opening, as `stored_opening` reads it."""
    found: Opening = catalog.once(
        ("drawn opening", vehicle_id, opening_id), lambda: stored_opening(catalog.con, vehicle_id, opening_id)
    )
    return found


def part_in(catalog: Catalog, part_id: str, family: str) -> Part:
    """Return a part of a family, as `stored_part` reads it."""
    found: Part = catalog.once(("drawn part", family, part_id), lambda: stored_part(catalog.con, part_id, family))
    return found


def placed_at(catalog: Catalog, wanted: OpeningRequest, *, is_checked: bool = True) -> Placed[Any, Any]:
    """Return a stored opening with the requested part and adapter, and their fit if it is drawn."""
    opening = opening_in(catalog, wanted.vehicle_id, wanted.opening_id)
    found: Placed[Any, Any] = Placed(opening=opening, settings=catalog.settings)
    if wanted.part_id is None:
        return found
    fit = (wanted.fit or _fit(catalog, wanted, wanted.part_id)) if is_checked else None
    family = part_family(catalog.con, wanted.part_id, OPENING_FAMILIES[opening.kind])
    question = MountingQuestion(
        wanted.part_id, family, wanted.vehicle_id, wanted.opening_id, opening.kind, wanted.adapter_id
    )
    rise = screen_rise_mm(catalog, question) if family == "head_unit" else None
    adapter = None if wanted.adapter_id is None else part_in(catalog, wanted.adapter_id, "adapter")
    assert adapter is None or isinstance(adapter, Adapter)
    return replace(found, part=part_in(catalog, wanted.part_id, family), adapter=adapter, fit=fit, rise_mm=rise)


def _fit(catalog: Catalog, wanted: OpeningRequest, part_id: str) -> Fit:
    return fit_part(catalog, part_id, wanted.vehicle_id, wanted.opening_id, wanted.adapter_id, wanted.alteration)
