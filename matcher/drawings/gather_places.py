"""Every opening of a car with the parts that a package puts there: outlines to scale, and verdicts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from catalog_schema.answers import Line, Package, TradeOff
from catalog_schema.checks import Check, Verdict, worst
from catalog_schema.parts import Amplifier, Enclosure, HeadUnit, Speaker
from catalog_schema.vehicles import SpeakerOpening
from matcher.drawings.larger import Larger, cut_area_cm2, cut_outline, larger_chart
from matcher.drawings.openings import FilledOpening, Size, opening_in_row
from matcher.drawings.placed import part_name, tall, value
from matcher.drawings.svg import Drawing, prefix_of
from matcher.store.catalog.openings import opening_kinds
from matcher.store.catalog.things import stored_opening, stored_part
from matcher.store.database.archived import archived_openings
from matcher.store.database.connection import Connection

FAMILY = {"head_unit": "head_unit", "speaker": "speaker", "enclosure": "enclosure", "amplifier": "amplifier"}
FAMILY |= {"bass_amplifier": "amplifier"}
"""By slot of a package: the family of the part whose outline is drawn."""


@dataclass(frozen=True, slots=True)
class LargerSpeaker:
    """A loudspeaker beyond the limits at a place of the package: its gain and its cost."""

    tradeoff: TradeOff
    place: str
    """The opening's label."""
    part: str
    """Its maker and model."""
    outline: Drawing | None
    """The opening as it is, and the area cut away; None if nothing is cut."""


@dataclass(frozen=True, slots=True)
class PackageInCar:
    """A package in its car."""

    places: list[FilledPlace]
    """Every opening, in the order of the car's document."""
    larger: list[LargerSpeaker]
    chart: Drawing | None
    """Gain of the larger loudspeakers against the metal cut for them; None if no figures are known."""


@dataclass(frozen=True, slots=True)
class FilledPlace:
    """An opening of a car with the parts that a package puts there."""

    opening_id: str
    label: str
    drawing: Drawing
    verdict: Verdict | Literal["as-is"]
    """The worst of its checks; ``as-is`` if the package puts nothing there."""
    check: Check | None
    """The deciding check: an open one, or the one with the smallest margin in millimeters."""


def package_in_car(con: Connection, vehicle_id: str, package: Package) -> PackageInCar:
    """Draw every opening of a car with the parts of a package, and the cost of larger loudspeakers."""
    unused = archived_openings(con, vehicle_id) - {line.opening_id for line in package.lines}
    names = [name for name in opening_kinds(con, vehicle_id) if name not in unused]
    places = [_filled(con, vehicle_id, name, package) for name in names]
    found = [_larger(con, vehicle_id, one) for one in package.tradeoffs]
    marked = [mark for _, mark in found if mark is not None]
    chart = larger_chart(marked, prefix=prefix_of("larger", vehicle_id, package.id))
    return PackageInCar(places, [one for one, _ in found], chart)


def _larger(con: Connection, vehicle_id: str, tradeoff: TradeOff) -> tuple[LargerSpeaker, Larger | None]:
    """Return a loudspeaker of a trade-off, and its mark on the chart if its level and cut are known."""
    opening = stored_opening(con, vehicle_id, tradeoff.opening_id)
    part = stored_part(con, tradeoff.instead, "speaker")
    assert isinstance(opening, SpeakerOpening)
    label, cut = opening.label or tradeoff.opening_id, tradeoff.needs.cut
    prefix = prefix_of("cut", vehicle_id, tradeoff.opening_id, tradeoff.instead)
    outline = None if cut is None else cut_outline(opening, float(cut.w_mm), float(cut.h_mm), prefix=prefix)
    area = 0.0 if cut is None else cut_area_cm2(opening, float(cut.w_mm), float(cut.h_mm))
    larger = LargerSpeaker(tradeoff, label, part_name(part), outline)
    if area is None or tradeoff.gains_db is None:
        return larger, None
    return larger, Larger(label, area, float(tradeoff.gains_db), tradeoff.needs.alteration == "metal_cut")


def _filled(con: Connection, vehicle_id: str, opening_id: str, package: Package) -> FilledPlace:
    opening = stored_opening(con, vehicle_id, opening_id)
    # An amplifier's own remote is no part of the catalog, but it fills a control spot.
    lines = [
        line
        for line in package.lines
        if line.opening_id == opening_id and (line.part_id or line.slot == "level_control")
    ]
    checks = [check for check in package.checks if check.about.partition(":")[0] == opening_id] if lines else []
    verdict = worst([check.verdict for check in checks]) if lines else "as-is"
    parts = tuple(size for line in lines for size in _sizes(con, line, package))
    filled = FilledOpening(opening, parts, is_open=verdict == "measure")
    prefix = prefix_of("row", vehicle_id, opening_id)
    drawing = opening_in_row(filled, prefix=prefix)
    return FilledPlace(opening_id, opening.label or opening_id, drawing, verdict, _deciding(checks))


def _sizes(con: Connection, line: Line, package: Package) -> Iterator[Size]:
    """Return the outline of a line's part, if known."""
    outer = package.bass.outer if line.slot == "bass" and package.bass is not None else None
    if outer is not None:
        yield Size(float(outer.w_mm), float(outer.h_mm))
    elif line.slot in FAMILY and line.part_id is not None:
        part = stored_part(con, line.part_id, FAMILY[line.slot])
        if isinstance(part, HeadUnit):
            sides = part.body_w_mm, part.body_h_mm
        elif isinstance(part, Speaker):
            sides = part.cutout_w_mm, tall(part.shape, part.cutout_w_mm, part.cutout_h_mm)
        else:
            assert isinstance(part, Enclosure | Amplifier)
            sides = part.w_mm, part.h_mm
        w_mm, h_mm = map(value, sides)
        if w_mm and h_mm:
            yield Size(w_mm, h_mm)


def _deciding(checks: list[Check]) -> Check | None:
    """Return the first check that is open or fails, otherwise the one with the smallest margin."""
    for verdict in ("no", "measure"):
        found = next((check for check in checks if check.verdict == verdict), None)
        if found is not None:
            return found
    rooms = [check for check in checks if check.unit == "mm" and check.margin is not None and check.margin > 0]
    return min(rooms, key=lambda check: check.margin or Decimal(0), default=None)
