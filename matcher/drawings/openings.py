"""One small opening at a fixed scale with the parts of a package, to be placed in a row with others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from catalog_schema.vehicles import AmpSpot, CargoSpace, ControlSpot, DashOpening, Opening, SpeakerOpening
from matcher.drawings.pens import BLUE, Pen
from matcher.drawings.placed import tall, value
from matcher.drawings.svg import Canvas, Drawing
from matcher.drawings.words import WORDS, DrawingWords

PER, PER_LARGE = 6.0, 18.0
"""Millimeters per millimeter of paper: for openings in a panel, and for spaces at a third of that scale."""
GUESS_MM = 90.0
"""Side of an opening of unknown size, drawn dashed."""
APART_MM = 12.0
"""Gap between the two places of a pair, and between two amplifiers."""
EDGE, EMPTY = Pen(width=0.6), Pen(width=0.4, dash=(1.2, 1.0))
WITHIN, GROUND = Pen(stroke=BLUE, width=0.45, fill="#e4e4e4"), Pen(stroke="none", fill="#ffffff")


class Size(NamedTuple):
    """Width and height of a part in an opening, in millimeters."""

    w_mm: float
    h_mm: float


@dataclass(frozen=True, slots=True)
class FilledOpening:
    """An opening with the outlines of its parts."""

    opening: Opening
    parts: tuple[Size, ...] = ()
    """Side by side; for a pair of places, the parts of each."""
    is_open: bool = False
    """Whether it has a figure to be measured first, shown by a question mark."""


def opening_in_row(filled: FilledOpening, words: DrawingWords = WORDS, prefix: str = "opening") -> Drawing:
    """Draw an opening with its parts at the scale of its kind; lines have classes, so that a page can color them.

    Parameters
    ----------
    filled
        The opening with its parts, which are on the floor of a space, or centered in a panel's opening.
    """
    opening = filled.opening
    shape, w_mm, h_mm = _outline(opening)
    is_space = isinstance(opening, CargoSpace | AmpSpot)
    sheet = Canvas(prefix, PER_LARGE if is_space else PER)
    count = opening.count or 1 if isinstance(opening, SpeakerOpening) else 1
    size = Size(w_mm or GUESS_MM, h_mm or w_mm or GUESS_MM)
    for place in range(count):
        middle = place * (size.w_mm + APART_MM)
        sheet.shape(shape, *size, GROUND, "ground", (middle, 0.0))
        for x, y, part in _laid(filled.parts, size, on_floor=is_space):
            sheet.shape(shape, *part, WITHIN, "part", (middle + x, y))
        sheet.shape(shape, *size, EDGE if w_mm and filled.parts else EMPTY, "found", (middle, 0.0))
        if filled.is_open:
            sheet.text((middle, 0.0), "?", "middle", 4.5, bold=True, of="open")
    sentences = [words.size(size.w_mm, None if shape == "round" else size.h_mm) if w_mm else words.mm(None)]
    return sheet.drawing(opening.label or opening.opening_id, " ".join(sentences), words.lang)


def _outline(opening: Opening) -> tuple[str | None, float | None, float | None]:
    """Return the shape, width and height of an opening, if known."""
    if isinstance(opening, SpeakerOpening):
        height = tall(opening.shape, opening.hole_w_mm, opening.hole_h_mm)
        return opening.shape, value(opening.hole_w_mm), value(height)
    assert isinstance(opening, DashOpening | CargoSpace | AmpSpot | ControlSpot)
    return "rect", value(opening.w_mm), value(opening.h_mm)


def _laid(parts: tuple[Size, ...], into: Size, *, on_floor: bool) -> list[tuple[float, float, Size]]:
    """Return the center of each part relative to the center of the opening."""
    wide = sum(part.w_mm for part in parts) + APART_MM * (len(parts) - 1)
    found, left = [], -wide / 2
    for part in parts:
        found.append((left + part.w_mm / 2, (into.h_mm - part.h_mm) / 2 if on_floor else 0.0, part))
        left += part.w_mm + APART_MM
    return found
