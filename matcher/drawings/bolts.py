"""Positions of bolt holes, as far as they are known."""

from __future__ import annotations

import math
from dataclasses import dataclass

from catalog_schema.figures import Figure
from matcher.drawings.pens import CENTER, Pen
from matcher.drawings.svg import Canvas, Point

BOLT_MM = 4.0
"""Drawn size of a bolt hole of unknown size."""
FIRST_ANGLE = {2: 0.0, 3: -90.0, 4: 45.0}
"""Angle of the first hole by number of holes, in degrees from the right; the real angle is never measured."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A bolt pattern: a circle with a count, or distances across and down."""

    w_mm: Figure | None
    h_mm: Figure | None
    circle_mm: Figure | None
    count: int | None

    def holes(self) -> list[Point]:
        """Return the centers of the holes relative to the middle; None if the pattern is unknown."""
        if self.w_mm is not None or self.h_mm is not None:
            w, h = (0.0 if side is None else float(side.value) / 2 for side in (self.w_mm, self.h_mm))
            return sorted({(x, y) for x in (-w, w) for y in (-h, h)})
        if self.circle_mm is None:
            return []
        number = self.count or 4
        return [_on_circle(float(self.circle_mm.value) / 2, number, place) for place in range(number)]

    @property
    def is_circle(self) -> bool:
        """Whether the holes are on a circle, at an unknown angle."""
        return self.circle_mm is not None and self.w_mm is None and self.h_mm is None

    def turned(self) -> Pattern:
        """Return the pattern after a quarter turn."""
        return Pattern(self.h_mm, self.w_mm, self.circle_mm, self.count)


def _on_circle(radius: float, number: int, place: int) -> Point:
    angle = math.radians(FIRST_ANGLE.get(number, -90.0) + 360.0 * place / number)
    return round(radius * math.cos(angle), 3), round(radius * math.sin(angle), 3)


def draw_bolts(sheet: Canvas, pattern: Pattern, pen: Pen, of: str, size_mm: float = BOLT_MM) -> None:
    """Draw the holes of a pattern, each with a cross at its center, and its circle if it has one."""
    if pattern.circle_mm is not None and pattern.is_circle:
        wide = float(pattern.circle_mm.value)
        sheet.ellipse((0, 0), wide, wide, CENTER, f"{of}-circle")
    arm = size_mm * 0.8
    for x, y in pattern.holes():
        sheet.ellipse((x, y), size_mm, size_mm, pen, of)
        sheet.line((x - arm, y), (x + arm, y), Pen(stroke=pen.stroke, width=0.18))
        sheet.line((x, y - arm), (x, y + arm), Pen(stroke=pen.stroke, width=0.18))
