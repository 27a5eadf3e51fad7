"""Supply cable: the area that carries the fuse and keeps the voltage drop, suitable sizes, and the fuse."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from catalog_schema.answers import Answer
from matcher.calculators import cautions
from matcher.calculators.answer import Calculation, result, source_of, table
from matcher.formulas import cable, fuse, wire
from matcher.formulas.wire import Conductor
from matcher.settings import Settings

CURRENT = "current_a|fuse_a"


@dataclass(frozen=True, slots=True, kw_only=True)
class WireInputs(Answer):
    """A run of supply cable."""

    current_a: float | None = None
    fuse_a: float | None = None
    length_m: float | None = None
    drop_v: float | None = None
    area_mm2: float | None = None
    conductor: Conductor = "copper"
    insulation_c: float | None = None
    hot: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CableSize(Answer):
    """A size of cable on this run."""

    size: str = result("size")
    area_mm2: float = result("area")
    drop_v: float | None = result("drop")
    carries_a: float | None = result("carries")
    largest_fuse_a: float | None = result("largest fuse")
    enough: bool | None = result("enough")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire(Calculation):
    """Cross-section of a cable, and its fuse."""

    given: WireInputs
    current_a: float | None = result("current", wants=CURRENT)
    fuse_a: float | None = result("fuse", fuse.standard_fuses_a, wants=CURRENT)
    fuse_color: str | None = result("its blade", fuse.blade_color, wants=CURRENT)
    fuse_within_mm: float | None = result("fuse within, of the battery")
    fuse_within_boat_mm: float | None = result("the same on a boat, bare conductor", fuse.farthest_fuse_mm)
    by_current_mm2: float | None = result("carries the fuse", cable.area_for_current_mm2, wants=CURRENT)
    by_drop_mm2: float | None = result("keeps the drop", cable.area_for_drop_mm2, wants=f"{CURRENT} length_m drop_v")
    area_mm2: float | None = result("area needed", cable.cable_need, wants=f"{CURRENT} length_m drop_v")
    ruled_by: Literal["current", "drop"] | None = result("ruled by", wants=f"{CURRENT} length_m drop_v")
    awg: str | None = result("next AWG", wire.awg_for_area, wire.awg_name, wants=f"{CURRENT} length_m drop_v")
    metric_mm2: float | None = result("next metric size", cable.cable_need, wants=f"{CURRENT} length_m drop_v")
    sizes: list[CableSize] = field(
        default_factory=list, metadata=table("sizes", cable.drop_v, cable.area_ampacity_a, fuse.largest_fuse_a)
    )

    def sources(self) -> list[str]:
        """Return the sources of the formulas behind the figures, and of the factors for hot spaces if they apply."""
        own = Calculation.sources(self)
        return [*own, source_of(cable.hot_space_factor)] if self.given.hot else own


def wire_for(inputs: WireInputs, settings: Settings) -> Wire:
    """Compute the cable for a current or a fuse over a length, and check its fuse.

    The fuse is the given one, or the smallest standard fuse that carries the current; the cable has to carry the
    fuse. If only the fuse is known, its rating counts as the current.
    """
    rating = inputs.fuse_a if inputs.fuse_a is not None else _next_fuse(inputs.current_a)
    current = inputs.current_a if inputs.current_a is not None else inputs.fuse_a
    color = fuse.blade_color(rating)
    no_blade = {"fuse_color": "no blade of this rating: a bolt-in link"} if rating and color is None else {}
    return Wire(
        given=inputs,
        current_a=current,
        fuse_a=rating,
        fuse_color=color,
        fuse_within_mm=float(settings["fuse_distance_mm"]),
        fuse_within_boat_mm=fuse.farthest_fuse_mm(),
        **_areas(inputs, current, rating),
        none=no_blade,
        notes=_notes(inputs),
        cautions=_cautions(inputs),
    )


def _next_fuse(current_a: float | None) -> float | None:
    ratings = (rating for rating in fuse.standard_fuses_a() if current_a is not None and rating >= current_a)
    return next(ratings, None)


def _areas(inputs: WireInputs, current: float | None, rating: float | None) -> dict[str, Any]:
    kept: dict[str, Any] = {"conductor": inputs.conductor}
    cooled: dict[str, Any] = kept | {"insulation_c": inputs.insulation_c, "hot_space": inputs.hot}
    need = cable.cable_need(current, inputs.length_m, inputs.drop_v, fuse_a=rating, **cooled)
    areas = {
        "by_current_mm2": cable.area_for_current_mm2(rating, **cooled),
        "by_drop_mm2": cable.area_for_drop_mm2(current, inputs.length_m, inputs.drop_v, **kept),
    }
    own = [("this one", inputs.area_mm2)] if inputs.area_mm2 is not None else []
    if need is None:
        return areas | {"sizes": [_size(inputs, current, rating, *each) for each in own]}
    awg = wire.awg_name(need.awg)
    sizes = [(f"{awg} AWG", wire.awg_area_mm2(need.awg)), (f"{need.standard_mm2} mm2", need.standard_mm2), *own]
    return areas | {
        "area_mm2": need.area_mm2,
        "ruled_by": need.ruled_by,
        "awg": awg,
        "metric_mm2": need.standard_mm2,
        "sizes": [_size(inputs, current, rating, name, area) for name, area in sizes if area is not None],
    }


def _size(inputs: WireInputs, current: float | None, rating: float | None, name: str, area: float) -> CableSize:
    drop = cable.drop_v(current, inputs.length_m, area, conductor=inputs.conductor)
    carries = cable.area_ampacity_a(area, inputs.insulation_c, hot_space=inputs.hot, conductor=inputs.conductor)
    return CableSize(
        size=name,
        area_mm2=area,
        drop_v=drop,
        carries_a=carries,
        largest_fuse_a=fuse.largest_fuse_a(carries),
        enough=_enough(carries, rating, inputs.drop_v, drop),
    )


def _enough(carries: float | None, rating: float | None, drop_most: float | None, drop: float | None) -> bool | None:
    """Whether a cable carries its fuse and keeps the voltage drop; one certain no decides."""
    carried = None if carries is None or rating is None else carries >= rating
    # Areas are printed rounded, so allow half a percent more drop.
    kept = None if drop is None or drop_most is None else drop <= drop_most * 1.005
    halves = (carried, kept)
    return False if False in halves else None if None in halves else True


def _notes(inputs: WireInputs) -> list[str]:
    notes = ["drop out and back at 75 C; the length is one way"]
    if inputs.fuse_a is not None and inputs.current_a is not None and inputs.fuse_a < inputs.current_a:
        notes.append("the fuse is smaller than the current: it will open")
    return notes


def _cautions(inputs: WireInputs) -> list[str]:
    clad = [cautions.COPPER_CLAD] if inputs.conductor == "cca" else []
    return [cautions.BATTERY, cautions.GROUND, cautions.FUEL, *clad, cautions.IN_DOUBT]
