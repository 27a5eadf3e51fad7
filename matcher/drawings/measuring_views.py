"""Sketches of openings that show where to measure, and the two edges between which each figure is taken."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from catalog_schema.vehicles import KeepClear, Opening
from matcher.drawings.bolts import BOLT_MM, Pattern, draw_bolts
from matcher.drawings.dimension import Length, length
from matcher.drawings.pens import CENTER, FACE, FOUND, PLAIN, UNKNOWN, Pen
from matcher.drawings.placed import tall, value
from matcher.drawings.svg import Canvas

SOLID = Pen(width=0.35, fill="solid")


@dataclass(frozen=True, slots=True)
class Span:
    """The measured distance between two edges, horizontal or vertical, or the protrusion of a thing."""

    start: float
    end: float
    edge: float
    across: bool = True
    over: bool = False
    """Whether a horizontal length is drawn above the sketch."""


Draw = Callable[[Canvas, Any, KeepClear | None, str], Span | None]


@dataclass(frozen=True, slots=True)
class View:
    """One view of an opening."""

    draw: Draw
    wide: Mapping[str, float]
    """Fields that determine the width of the sketch, with their defaults."""

    def widest(self, opening: Opening, keep: KeepClear | None) -> float:
        """Return the width of the sketch, mm."""
        sides = [length(getattr(opening, name), otherwise).mm for name, otherwise in self.wide.items()]
        if keep is not None:
            left, wide = value(keep.x_mm) or 0.0, value(keep.w_mm) or 0.0
            sides += [2 * abs(left), 2 * abs(left + wide)]
        return max(sides)


def _edge(*sides: Length) -> Pen:
    return FOUND if all(side.known for side in sides) else UNKNOWN


def _cross(sheet: Canvas, w: float, h: float) -> None:
    sheet.line((-w / 2 - 6, 0), (w / 2 + 6, 0), CENTER)
    sheet.line((0, -h / 2 - 6), (0, h / 2 + 6), CENTER)


def _centered(w: float, h: float, *, across: bool) -> Span:
    return Span(-w / 2, w / 2, h / 2) if across else Span(-h / 2, h / 2, w / 2, across=False)


def _dash_front(sheet: Canvas, opening: Any, keep: KeepClear | None, field: str) -> Span:
    w, h = length(opening.w_mm, 180), length(opening.h_mm, 60)
    sheet.rect(-w.mm / 2, -h.mm / 2, w.mm, h.mm, _edge(w, h), "opening")
    if field == "shaft_mm" or opening.shape == "twin_shaft":
        apart = length(opening.shaft_mm, max(130.0, w.mm + 20))
        for x in (-apart.mm / 2, apart.mm / 2):
            sheet.ellipse((x, 0), 10, 10, apart.pen(FOUND), "shaft")
            sheet.line((x, -9), (x, 9), CENTER)
        if field == "shaft_mm":
            return Span(-apart.mm / 2, apart.mm / 2, 9)
    if field.startswith("cut_"):
        return _cut(sheet, opening, w.mm, h.mm, field)
    if field.startswith("keep_clear."):
        _cross(sheet, w.mm, h.mm)
        return _keep(sheet, keep, field.removeprefix("keep_clear."), h.mm)
    return _centered(w.mm, h.mm, across=field == "w_mm")


def _cut(sheet: Canvas, opening: Any, w: float, h: float, field: str) -> Span:
    """Draw the largest possible enlargement around an opening."""
    cut = opening.cut
    wide = max(length(cut and cut.w_mm, w * 1.2).mm, w)
    high = max(length(cut and cut.h_mm, h * 1.2).mm, h)
    known = cut is not None and cut.w_mm is not None and cut.h_mm is not None
    sheet.rect(-wide / 2, -high / 2, wide, high, FACE if known else UNKNOWN, "cut")
    return _centered(wide, high, across=field == "cut_w_mm")


def _keep(sheet: Canvas, keep: KeepClear | None, field: str, high: float) -> Span:
    """Draw a thing next to the opening; one of unknown position is sketched above it, on the right."""
    place = keep or KeepClear(name="")
    x, y = length(place.x_mm, 40), length(place.y_mm, high / 2 + 20)
    w, h = length(place.w_mm, 40), length(place.h_mm, 30)
    sheet.rect(x.mm, -y.mm - h.mm, w.mm, h.mm, _edge(x, y, w, h), "keep")
    spans = {
        "x_mm": Span(min(0, x.mm), max(0, x.mm), max(-y.mm, 0)),
        "y_mm": Span(min(-y.mm, 0), max(-y.mm, 0), max(x.mm + w.mm, 0), across=False),
        "w_mm": Span(x.mm, x.mm + w.mm, -y.mm),
        "h_mm": Span(-y.mm - h.mm, -y.mm, x.mm + w.mm, across=False),
    }
    return spans[field]


def _dash_side(sheet: Canvas, opening: Any, _keep: KeepClear | None, field: str) -> Span:
    """Draw the cabin on the left and the space behind on the right."""
    h, deep, proud = length(opening.h_mm, 60), length(opening.depth_mm, 170), length(opening.proud_max_mm, 40)
    for y in (-h.mm / 2 - 30, h.mm / 2):
        sheet.rect(0, y, 3, 30, SOLID, "panel")
    sheet.rect(deep.mm, -h.mm / 2 - 20, 8, h.mm + 40, deep.pen(SOLID), "behind")
    if field == "proud_max_mm":
        sheet.line((-proud.mm, -h.mm / 2 - 30), (-proud.mm, h.mm / 2 + 30), proud.pen(FACE), "proud")
        return Span(-proud.mm, 0, h.mm / 2 + 30)
    return Span(0, deep.mm, h.mm / 2 + 30)


def _speaker_front(sheet: Canvas, opening: Any, _keep: KeepClear | None, field: str) -> Span:
    w = length(opening.hole_w_mm, 120)
    h = length(tall(opening.shape, opening.hole_w_mm, opening.hole_h_mm), w.mm if opening.shape == "round" else 90)
    sheet.shape(opening.shape or "round", w.mm, h.mm, _edge(w, h), "hole")
    _cross(sheet, w.mm, h.mm)
    if field.startswith("flat_"):
        flat = length(opening.flat_w_mm, w.mm * 1.35), length(opening.flat_h_mm, h.mm * 1.35)
        sheet.rect(-flat[0].mm / 2, -flat[1].mm / 2, flat[0].mm, flat[1].mm, _edge(*flat), "flat")
        return _centered(flat[0].mm, flat[1].mm, across=field == "flat_w_mm")
    if field.startswith("bolt_"):
        return _bolts(sheet, opening, w.mm, h.mm, field)
    if field.startswith("cut_"):
        return _cut(sheet, opening, w.mm, h.mm, field)
    return _centered(w.mm, h.mm, across=field == "hole_w_mm")


def _bolts(sheet: Canvas, opening: Any, w: float, h: float, field: str) -> Span:
    if field == "bolt_circle_mm":
        circle = length(opening.bolt_circle_mm, max(w, h) * 1.12)
        count = opening.bolt_count or 4
        sheet.ellipse((0, 0), circle.mm, circle.mm, circle.pen(CENTER), "bolt-circle")
        sheet_pattern = Pattern(None, None, opening.bolt_circle_mm, count)
        draw_bolts(sheet, sheet_pattern, PLAIN, "bolt")
        return _centered(circle.mm, circle.mm, across=True)
    across, down = length(opening.bolt_w_mm, w * 0.85), length(opening.bolt_h_mm, h * 0.85)
    for x in (-across.mm / 2, across.mm / 2):
        for y in (-down.mm / 2, down.mm / 2):
            sheet.ellipse((x, y), BOLT_MM, BOLT_MM, PLAIN if across.known and down.known else UNKNOWN, "bolt")
    return _centered(across.mm, down.mm, across=field == "bolt_w_mm")


def _speaker_side(sheet: Canvas, opening: Any, _keep: KeepClear | None, field: str) -> Span:
    """Draw the cabin above, the space behind below, and the nearest thing to the magnet on the right."""
    w, deep, front = length(opening.hole_w_mm, 120), length(opening.depth_mm, 60), length(opening.front_mm, 20)
    beside = length(opening.beside_mm, w.mm * 0.6)
    half = max(w.mm * 0.75, beside.mm + 6 if field == "beside_mm" else 0.0)
    for x in (-half, w.mm / 2):
        sheet.rect(x, 0, half - w.mm / 2, 2.5, SOLID, "panel")
    behind = Pen(width=0.35, fill="glass") if opening.behind == "moving_glass" else SOLID
    sheet.rect(-half, deep.mm, 2 * half, 4, deep.pen(behind), "behind")
    if field == "front_mm":
        sheet.line((-half, -front.mm), (half, -front.mm), Pen(width=0.5, dash=(0.8, 0.8)), "grille")
        return Span(-front.mm, 0, half, across=False)
    if field == "beside_mm":
        sheet.rect(beside.mm, deep.mm * 0.3, 4, deep.mm * 0.7, beside.pen(SOLID), "beside")
        sheet.line((0, -8), (0, deep.mm + 8), CENTER)
        return Span(0, beside.mm, deep.mm + 4)
    return Span(0, deep.mm, half, across=False)


def _speaker_meter(sheet: Canvas, _opening: Any, _keep: KeepClear | None, _field: str) -> None:
    """Draw a meter at the two terminals of the original loudspeaker."""
    sheet.polygon(((0, -8), (10, -8), (22, -20), (22, 20), (10, 8), (0, 8)), FOUND, "speaker")
    sheet.ellipse((-42, 0), 26, 26, PLAIN, "meter")
    sheet.text((-42, 0), "Ω", "middle", 6, bold=True)
    for y, sign in ((-5, "+"), (5, "−")):
        sheet.line((-29.5 if abs(y) < 9 else 0, y), (0, y), Pen(width=0.7), "lead")
        sheet.text((-3, y - 3), sign, "end")


def _tweeter_front(sheet: Canvas, opening: Any, _keep: KeepClear | None, _field: str) -> Span:
    """Draw the hole for a separate tweeter."""
    hole = length(opening.tweeter_hole_mm, 45)
    sheet.ellipse((0, 0), hole.mm / 2, hole.mm / 2, _edge(hole), "hole")
    return _centered(hole.mm, hole.mm, across=True)


def _tweeter_side(sheet: Canvas, opening: Any, _keep: KeepClear | None, _field: str) -> Span:
    """Draw the trim around the tweeter, and the space behind."""
    deep = length(opening.tweeter_depth_mm, 25)
    sheet.rect(-40, 0, 80, 2.5, SOLID, "panel")
    sheet.rect(-40, deep.mm, 80, 4, deep.pen(SOLID), "behind")
    return Span(0, deep.mm, 40, across=False)


def _filter_spot(sheet: Canvas, opening: Any, _keep: KeepClear | None, field: str) -> Span:
    """Draw the spot for the filter, from the front or from above."""
    w = length(opening.filter_w_mm, 120)
    other = length(opening.filter_d_mm, 80) if field == "filter_d_mm" else length(opening.filter_h_mm, 50)
    sheet.rect(-w.mm / 2, -other.mm / 2, w.mm, other.mm, _edge(w, other), "space")
    return _centered(w.mm, other.mm, across=field == "filter_w_mm")


def _cargo_side(sheet: Canvas, opening: Any, _keep: KeepClear | None, field: str) -> Span:
    """Draw the tailgate on the left and the seat back on the right."""
    d, h = length(opening.d_mm, 500), length(opening.h_mm, 450)
    top, loss = length(opening.d_top_mm, d.mm * 0.8), length(opening.floor_loss_mm, 50)
    sheet.polygon(((0, 0), (d.mm, 0), (top.mm, -h.mm), (0, -h.mm)), _edge(d, h, top), "space")
    if field == "floor_loss_mm":
        back = d.mm - (d.mm - top.mm) * loss.mm / h.mm
        pen = Pen(width=0.35, fill="stays", dash=loss.dash)
        sheet.polygon(((0, 0), (d.mm, 0), (back, -loss.mm), (0, -loss.mm)), pen, "floor-loss")
        return Span(-loss.mm, 0, d.mm, across=False)
    if field == "d_top_mm":
        return Span(0, top.mm, -h.mm, over=True)
    return Span(0, d.mm, 0)


def _cargo_front(sheet: Canvas, opening: Any, _keep: KeepClear | None, field: str) -> Span:
    w, h = length(opening.w_mm, 900), length(opening.h_mm, 450)
    sheet.rect(-w.mm / 2, -h.mm, w.mm, h.mm, _edge(w, h), "space")
    if field.startswith("gate_"):
        wide, high = length(opening.gate_w_mm, w.mm * 0.9), length(opening.gate_h_mm, h.mm * 0.9)
        sheet.rect(-wide.mm / 2, -high.mm, wide.mm, high.mm, FACE if wide.known and high.known else UNKNOWN, "gate")
        across = Span(-wide.mm / 2, wide.mm / 2, 0)
        return across if field == "gate_w_mm" else Span(-high.mm, 0, wide.mm / 2, across=False)
    return Span(-w.mm / 2, w.mm / 2, 0) if field == "w_mm" else Span(-h.mm, 0, w.mm / 2, across=False)


def _cargo_mass(sheet: Canvas, opening: Any, keep: KeepClear | None, _field: str) -> None:
    """Draw a weight on the floor of the space."""
    _cargo_front(sheet, opening, keep, "w_mm")
    wide = max(length(opening.w_mm, 900).mm / 5, sheet.paper(14))
    sheet.polygon(((-wide / 2, 0), (-wide / 3, -wide * 0.7), (wide / 3, -wide * 0.7), (wide / 2, 0)), FOUND, "weight")
    sheet.text((0, -wide * 0.35), "kg", "middle", 4, bold=True)


def _spot_front(sheet: Canvas, opening: Any, _keep: KeepClear | None, field: str) -> Span:
    w, h = length(opening.w_mm, 300), length(opening.h_mm, 100)
    sheet.rect(-w.mm / 2, -h.mm / 2, w.mm, h.mm, _edge(w, h), "space")
    return _centered(w.mm, h.mm, across=field == "w_mm")


def _spot_above(sheet: Canvas, opening: Any, _keep: KeepClear | None, _field: str) -> Span:
    w, d = length(opening.w_mm, 300), length(opening.d_mm, 200)
    sheet.rect(-w.mm / 2, -d.mm / 2, w.mm, d.mm, _edge(w, d), "space")
    return _centered(w.mm, d.mm, across=False)


DASH_FRONT, DASH_SIDE = View(_dash_front, {"w_mm": 180}), View(_dash_side, {"depth_mm": 170})
SPEAKER_FRONT = View(_speaker_front, {"hole_w_mm": 120, "flat_w_mm": 150})
SPEAKER_SIDE, SPEAKER_METER = View(_speaker_side, {"hole_w_mm": 150}), View(_speaker_meter, {"factory_ohm": 60})
CARGO_SIDE, CARGO_FRONT = (
    View(_cargo_side, {"d_mm": 500, "h_mm": 450}),
    View(_cargo_front, {"w_mm": 900, "gate_w_mm": 800}),
)
SPOT_FRONT, SPOT_ABOVE = View(_spot_front, {"w_mm": 300}), View(_spot_above, {"w_mm": 300, "d_mm": 200})

VIEWS: Mapping[str, View] = {
    **{f"dash.{name}": DASH_FRONT for name in ("w_mm", "h_mm", "shaft_mm", "cut_w_mm", "cut_h_mm")},
    **{f"dash.keep_clear.{name}": DASH_FRONT for name in ("x_mm", "y_mm", "w_mm", "h_mm")},
    **{f"dash.{name}": DASH_SIDE for name in ("depth_mm", "proud_max_mm")},
    **{f"speaker.{name}_{side}_mm": SPEAKER_FRONT for name in ("hole", "flat", "bolt", "cut") for side in "wh"},
    "speaker.bolt_circle_mm": SPEAKER_FRONT,
    **{f"speaker.{name}": SPEAKER_SIDE for name in ("depth_mm", "front_mm", "beside_mm")},
    "speaker.tweeter_hole_mm": View(_tweeter_front, {"tweeter_hole_mm": 60}),
    "speaker.tweeter_depth_mm": View(_tweeter_side, {"tweeter_depth_mm": 40}),
    **{f"speaker.filter_{side}_mm": View(_filter_spot, {f"filter_{side}_mm": 150}) for side in "whd"},
    "speaker.factory_ohm": SPEAKER_METER,
    **{f"cargo.{name}": CARGO_SIDE for name in ("d_mm", "d_top_mm", "floor_loss_mm")},
    **{f"cargo.{name}": CARGO_FRONT for name in ("w_mm", "h_mm", "gate_w_mm", "gate_h_mm")},
    "cargo.mass_max_kg": View(_cargo_mass, {"w_mm": 900}),
    **{f"{kind}.{name}": SPOT_FRONT for kind in ("amp_spot", "control_spot") for name in ("w_mm", "h_mm")},
    **{f"{kind}.d_mm": SPOT_ABOVE for kind in ("amp_spot", "control_spot")},
}
"""View of each figure of each kind of opening."""
