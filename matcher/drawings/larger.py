"""Larger loudspeakers than the limits allow: the area cut out of the car against the gain in level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from catalog_schema.vehicles import SpeakerOpening
from matcher.drawings.pens import BLUE, BROWN, CUT, FOUND, Pen
from matcher.drawings.placed import tall, value
from matcher.drawings.svg import ADVANCE, Canvas, Drawing, Point, wrapped
from matcher.drawings.words import WORDS, DrawingWords
from matcher.lengths import shown_unit

WIDE_MM, HIGH_MM, SMALL_MM, LINE_MM, MARK_MM = 62.0, 30.0, 2.6, 3.6, 2.2
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
"""Intervals of the ticks on an axis, in its unit."""
MOST_MARKS = 6
GRID, AXIS = Pen(stroke="#c4cad0", width=0.15), Pen(width=0.3)
TRIM = Pen(stroke=BLUE, width=0.6, dash=(2, 1), fill="#ffffff")
STEEL = Pen(stroke=BROWN, width=0.6, fill=BROWN)
PER = 6.0
"""Millimeters of an opening per millimeter of paper."""


@dataclass(frozen=True, slots=True)
class Larger:
    """A loudspeaker at a place that requires more alteration."""

    label: str
    """The place and the part's size, in a few words."""
    area_cm2: float
    """Area cut away at each side; 0 if nothing is cut."""
    gains_db: float
    """Decibels above the loudspeaker of the package."""
    is_steel: bool
    """Whether the car body is cut, which cannot be undone."""


def cut_area_cm2(opening: SpeakerOpening, w_mm: float, h_mm: float) -> float | None:
    """Return the area between an opening and the size that it is cut to, in square centimeters; None if unknown.

    >>> from catalog_schema.figures import Figure
    >>> found = SpeakerOpening(opening_id="a", kind="speaker", shape="rect", hole_w_mm=Figure(90), hole_h_mm=Figure(90))
    >>> cut_area_cm2(found, 100, 100)
    19.0
    """
    own_w, own_h = value(opening.hole_w_mm), value(tall(opening.shape, opening.hole_w_mm, opening.hole_h_mm))
    if own_w is None or own_h is None:
        return None
    share = 1.0 if opening.shape == "rect" else math.pi / 4
    return max(share * (w_mm * h_mm - own_w * own_h) / 100, 0.0)


def larger_chart(larger: Sequence[Larger], words: DrawingWords = WORDS, prefix: str = "larger") -> Drawing | None:
    """Draw the area cut away against the level gained, one mark per loudspeaker; None if there are none.

    A round mark with a dashed line means trim, a square with a solid line the steel of the body.
    """
    return _Chart(tuple(larger), words, Canvas(prefix)).drawn() if larger else None


def cut_outline(
    opening: SpeakerOpening, w_mm: float, h_mm: float, words: DrawingWords = WORDS, prefix: str = "cut"
) -> Drawing:
    """Draw an opening as it is, with the ring to be cut away for a width and height hatched, to scale."""
    sheet = Canvas(prefix, PER)
    found_w = value(opening.hole_w_mm) or 0.0
    found_h = value(tall(opening.shape, opening.hole_w_mm, opening.hole_h_mm)) or found_w
    sheet.ring((opening.shape, w_mm, h_mm), (opening.shape, found_w, found_h), CUT, "cut")
    sheet.shape(opening.shape, found_w, found_h, FOUND, "found")
    return sheet.drawing(
        opening.label or opening.opening_id,
        words("larger_cut", size=words.size(w_mm, h_mm) + (" mm" if shown_unit("mm") == "mm" else "")),
        words.lang,
    )


@dataclass
class _Chart:
    larger: tuple[Larger, ...]
    words: DrawingWords
    sheet: Canvas

    def drawn(self) -> Drawing:
        self._axes()
        above = -LINE_MM
        for one in sorted(self.larger, key=lambda one: -one.gains_db):
            above = self._mark(one, above + LINE_MM)
        sentences = [self._sentence(one) for one in self.larger]
        return self.sheet.drawing(self.words("larger"), " ".join(sentences), self.words.lang)

    @property
    def ends(self) -> tuple[float, float, float]:
        """Upper end of the area in square centimeters, lower and upper end of the level in decibels."""
        levels = [one.gains_db for one in self.larger]
        most_cm2 = max(max(one.area_cm2 for one in self.larger), 5.0)
        return most_cm2 * 1.1, min(0.0, math.floor(min(levels))), max(*levels, 1.0) * 1.15

    def _at(self, area_cm2: float, level_db: float) -> Point:
        area, low, high = self.ends
        return WIDE_MM * area_cm2 / area, HIGH_MM * (high - level_db) / (high - low)

    def _axes(self) -> None:
        sheet, (area, low, high) = self.sheet, self.ends
        for mark in (*(-mark for mark in _marks(-low) if mark), *_marks(high)):
            _, y = self._at(0, mark)
            sheet.line((0, y), (WIDE_MM, y), GRID)
            sheet.text((-1.6, y), f"{mark:+g}" if mark else "0", "end", SMALL_MM)
        for mark in _marks(area):
            x, _ = self._at(mark, 0)
            sheet.text((x, HIGH_MM + 3), f"{mark:g}", "middle", SMALL_MM)
        sheet.line(self._at(0, 0), self._at(area, 0), AXIS)
        sheet.text((-7, -3.6), self.words("larger_db"), size=SMALL_MM)
        sheet.text((WIDE_MM, HIGH_MM + 7), self.words("larger_area"), "end", SMALL_MM)

    def _mark(self, one: Larger, highest: float) -> float:
        """Draw one with its label, which stays below ``highest``; return the position of the label."""
        x, y = self._at(one.area_cm2, one.gains_db)
        pen = STEEL if one.is_steel else TRIM
        line = Pen(pen.stroke, pen.width, pen.dash)
        self.sheet.path([self._at(0, 0), self._at(one.area_cm2, 0), (x, y)], line, "larger-way")
        if one.is_steel:
            self.sheet.rect(x - MARK_MM / 2, y - MARK_MM / 2, MARK_MM, MARK_MM, pen, "larger-mark")
        else:
            self.sheet.ellipse((x, y), MARK_MM, MARK_MM, Pen(pen.stroke, pen.width, (), pen.fill), "larger-mark")
        is_left = x > WIDE_MM / 2
        at = x + (-2.4 if is_left else 2.4), max(y, highest)
        label = wrapped(one.label, int(((x if is_left else WIDE_MM - x) - 3) / (SMALL_MM * ADVANCE)), 1)[0]
        self.sheet.text(at, label, "end" if is_left else "start", SMALL_MM, back=True)
        return at[1]

    def _sentence(self, one: Larger) -> str:
        return self.words(
            "larger_says",
            label=one.label,
            db=self.words.number(one.gains_db, 1),
            area=self.words.number(one.area_cm2, 0),
            material=self.words("larger_steel" if one.is_steel else "larger_trim"),
        )


def _marks(end: float) -> list[int]:
    """Return round tick values from 0 to an axis' end."""
    step = next(step for step in STEPS if end / step <= MOST_MARKS)
    return list(range(0, int(end) + 1, step))
