"""A dash to scale as its owner sees it: with today's radio in its opening, or with the proposed unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalog_schema.parts import HeadUnit
from catalog_schema.vehicles import KeepClear
from matcher.drawings.pens import GREY, Pen
from matcher.drawings.placed import PlacedHeadUnit, value
from matcher.drawings.svg import Canvas, Drawing, num
from matcher.drawings.words import WORDS, DrawingWords

WIDE_MM, HIGH_MM = 72.0, 54.0
"""Greatest size of a picture on paper; two fit side by side."""
AROUND_MM = 14.0
"""Trim drawn around everything else, in millimeters of the dash."""
TRIM, KNOB = Pen(stroke=GREY, width=0.3, fill="#f1f1ed"), Pen(stroke="none", fill="#f4f4f2")
THING, SLAT = Pen(stroke=GREY, width=0.25, fill="#ffffff"), Pen(stroke=GREY, width=0.2)
BODY, GLASS = Pen(stroke="#10181f", width=0.3, fill="#1c2733"), Pen(stroke="none", fill="#3f5a70")
OLD_BODY, OLD_GLASS = Pen(stroke=GREY, width=0.3, fill="#c9ccc8"), Pen(stroke="none", fill="#e4e6e2")
"""The same of today's radio, paler, so that the new unit stands out."""
LIGHT, SURROUND = Pen(stroke="none", fill="#9dc0dc"), Pen(stroke=GREY, width=0.25, fill="#dfe2e4")
ROUTE = Pen(stroke="#cfe4f7", width=0.5)
Rect = tuple[float, float, float, float]
"""Left, top, width and height in millimeters of the dash, relative to the middle of the opening, y down."""


def dash_picture(
    placed: PlacedHeadUnit,
    others: Sequence[PlacedHeadUnit] = (),
    words: DrawingWords = WORDS,
    prefix: str = "dash-picture",
) -> Drawing | None:
    """Draw a dash with the unit in its opening; None if the size of the opening is unknown.

    Parameters
    ----------
    placed
        The opening with its unit; without a unit it gets a plain radio of its own size.
    others
        The contents of the pictures next to this one: all have one scale and show the same stretch of the dash.
    """
    if value(placed.opening.w_mm) is None or value(placed.opening.h_mm) is None:
        return None
    view = _view([placed, *others])
    return _Picture(placed, words, Canvas(prefix, max(view[2] / WIDE_MM, view[3] / HIGH_MM)), view).drawn()


def _view(shown: Sequence[PlacedHeadUnit]) -> Rect:
    """Return the stretch of the dash that contains everything shown."""
    rects = [rect for one in shown for rect in (_opening(one), *_unit(one), *_things(one).values())]
    left, top = min(rect[0] for rect in rects), min(rect[1] for rect in rects)
    right, bottom = max(rect[0] + rect[2] for rect in rects), max(rect[1] + rect[3] for rect in rects)
    return left - AROUND_MM, top - AROUND_MM, right - left + 2 * AROUND_MM, bottom - top + 2 * AROUND_MM


def _about(w: float, h: float, rise: float = 0.0) -> Rect:
    return -w / 2, -rise - h / 2, w, h


def _opening(placed: PlacedHeadUnit) -> Rect:
    return _about(value(placed.opening.w_mm) or 0.0, value(placed.opening.h_mm) or 0.0)


def _unit(placed: PlacedHeadUnit) -> list[Rect]:
    """Return the unit's face, then its floating screen, if their sizes are known."""
    unit = placed.part
    if unit is None:
        return []
    face_w, face_h = value(unit.face_w_mm), value(unit.face_h_mm)
    found = [_opening(placed) if face_w is None or face_h is None else _about(face_w, face_h)]
    w, h = value(unit.screen_w_mm), value(unit.screen_h_mm)
    if unit.screen == "floating" and w is not None and h is not None:
        low = value(unit.screen_rise_min_mm) or 0.0
        found.append(_about(w, h, low if placed.rise_mm is None else float(placed.rise_mm)))
    return found


def _things(placed: PlacedHeadUnit) -> dict[str, Rect]:
    """Return the things around the opening by name, if their place and size are known, without the lever."""
    found = {}
    for keep in placed.opening.keep_clear:
        x, y, w, h = (value(figure) for figure in (keep.x_mm, keep.y_mm, keep.w_mm, keep.h_mm))
        is_dash = keep.reach != "lever"
        if is_dash and x is not None and y is not None and w is not None and h is not None:
            found[keep.name] = (x, -y - h, w, h)
    return found


@dataclass
class _Picture:
    placed: PlacedHeadUnit
    words: DrawingWords
    sheet: Canvas
    view: Rect

    def drawn(self) -> Drawing:
        self._rounded(self.view, 16, TRIM, "trim")
        around = {keep.name: keep for keep in self.placed.opening.keep_clear}
        for name, rect in _things(self.placed).items():
            self._thing(around[name], rect)
        self._fill(self.placed.part)
        key = "dash_today" if self.placed.part is None else "dash_after"
        sentences = [f"{self.placed.name}.", *self.placed.says(self.words)[:1]]
        return self.sheet.drawing(self.words(key), " ".join(sentences), self.words.lang)

    def _rounded(self, rect: Rect, radius: float, pen: Pen, of: str = "") -> None:
        x, y, w, h = rect
        r = min(radius, w / 2, h / 2)
        arc = f"a{num(r)} {num(r)} 0 0 1"
        d = (
            f"M{num(x + r)} {num(y)}h{num(w - 2 * r)}{arc} {num(r)} {num(r)}v{num(h - 2 * r)}{arc} {num(-r)} {num(r)}"
            f"h{num(2 * r - w)}{arc} {num(-r)} {num(-r)}v{num(2 * r - h)}{arc} {num(r)} {num(-r)}Z"
        )
        self.sheet.curve(d, ((x, y), (x + w, y + h)), pen, of)

    def _thing(self, keep: KeepClear, rect: Rect) -> None:
        """Draw a thing of the dash: slats or sliders if fingers reach it, a mark if small, a line if only seen."""
        x, y, w, h = rect
        self._rounded(rect, 5, THING, "thing")
        if w < 2 * h:
            self.sheet.ellipse((x + w / 2, y + h / 2), min(w, h) * 0.4, min(w, h) * 0.4, SLAT)
            return
        for share in (0.3, 0.5, 0.7) if keep.reach == "fingers" else (0.5,):
            self.sheet.line((x + w * 0.06, y + h * share), (x + w * 0.94, y + h * share), SLAT)

    def _fill(self, unit: HeadUnit | None) -> None:
        """Draw the opening and the unit in it."""
        kit = self.placed.adapter
        fits = (None, None) if kit is None else (value(kit.fits_w_mm), value(kit.fits_h_mm))
        if fits[0] is not None and fits[1] is not None:
            self._rounded(_about(fits[0] + 8, fits[1] + 8), 4, SURROUND, "surround")
        if unit is None:
            self._rounded(_opening(self.placed), 3, OLD_BODY, "opening")
            self._radio(_opening(self.placed), OLD_GLASS)
            return
        self._rounded(_opening(self.placed), 3, BODY, "opening")
        face, *floating = _unit(self.placed)
        self._rounded(face, 4, BODY, "face")
        if floating or unit.screen == "flush":
            self._screen(floating[0] if floating else face)
        else:
            self._radio(face, GLASS)

    def _radio(self, rect: Rect, glass: Pen) -> None:
        """Draw a plain front: two knobs, a display, a row of keys."""
        x, y, w, h = rect
        knob = min(h * 0.42, w * 0.14)
        shaft = value(self.placed.opening.shaft_mm) if self.placed.part is None else None
        apart = (w / 2 - knob) if shaft is None else shaft / 2
        for side in (-1, 1):
            self.sheet.ellipse((x + w / 2 + side * apart, y + h / 2), knob, knob, KNOB)
        self.sheet.rect(x + w * 0.26, y + h * 0.2, w * 0.48, h * 0.3, glass)
        for place in range(6):
            self.sheet.rect(x + w * (0.265 + 0.08 * place), y + h * 0.64, w * 0.06, h * 0.13, glass)

    def _screen(self, rect: Rect) -> None:
        """Draw a screen with a map, to make it recognizable."""
        x, y, w, h = rect
        self._rounded(rect, 6, BODY, "screen")
        self.sheet.rect(x + w * 0.05, y + h * 0.09, w * 0.46, h * 0.72, GLASS)
        points = [(0.08, 0.72), (0.2, 0.36), (0.32, 0.52), (0.46, 0.2)]
        self.sheet.path([(x + w * a, y + h * b) for a, b in points], ROUTE)
        self.sheet.rect(x + w * 0.56, y + h * 0.12, w * 0.36, h * 0.07, LIGHT)
        self.sheet.rect(x + w * 0.56, y + h * 0.26, w * 0.25, h * 0.05, GLASS)
        for place in range(3):
            self.sheet.ellipse((x + w * (0.61 + 0.13 * place), y + h * 0.6), h * 0.15, h * 0.15, GLASS)
        self.sheet.rect(x + w * 0.05, y + h * 0.88, w * 0.87, h * 0.04, GLASS)
