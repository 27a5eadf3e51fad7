"""One opening in small, to a fixed scale, with what a package puts into it: made to stand in a row with the others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from catalog_schema.vehicles import AmpSpot, CargoSpace, ControlSpot, DashOpening, Opening, SpeakerOpening
from matcher.drawings.pens import BLUE, Pen
from matcher.drawings.placed import tall, value
from matcher.drawings.svg import Canvas, Drawing
from matcher.drawings.words import WORDS, DrawingWords

PER, PER_LARGE = 6.0, 18.0
"""Millimeters of the thing on one of paper: of an opening in a panel, and of a space, which is three times smaller."""
GUESS_MM = 90.0
"""Side of an opening of unknown size, drawn dashed."""
APART_MM = 12.0
"""Between the two places of a pair, and between two amplifiers."""
EDGE, EMPTY = Pen(width=0.6), Pen(width=0.4, dash=(1.2, 1.0))
WITHIN, GROUND = Pen(stroke=BLUE, width=0.45, fill="#e4e4e4"), Pen(stroke="none", fill="#ffffff")


class Size(NamedTuple):
    """Size of the thing in an opening: width and height, in millimeters."""

    w_mm: float
    h_mm: float


@dataclass(frozen=True, slots=True)
class FilledOpening:
    """An opening, and the outlines of what goes into it."""

    opening: Opening
    parts: tuple[Size, ...] = ()
    """Beside each other; of a pair of places, what goes into each."""
    is_open: bool = False
    """Whether something of it is to be measured first: it gets a question mark."""


def opening_in_row(filled: FilledOpening, words: DrawingWords = WORDS, prefix: str = "opening") -> Drawing:
    """An opening with what goes into it, at the scale of its kind; its lines have classes, by which a page colors them.

    Parameters
    ----------
    filled
        The opening with its parts: parts stand on the floor of a space, and lie in the middle of a panel's opening.
    words
        Language.
    prefix
        What its ids begin with: another one for each drawing of a page.
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
    told = [words.size(size.w_mm, None if shape == "round" else size.h_mm) if w_mm else words.mm(None)]
    return sheet.drawing(opening.label or opening.opening_id, " ".join(told), words.lang)


def _outline(opening: Opening) -> tuple[str | None, float | None, float | None]:
    """The shape, width and height of an opening, as far as they are known."""
    if isinstance(opening, SpeakerOpening):
        height = tall(opening.shape, opening.hole_w_mm, opening.hole_h_mm)
        return opening.shape, value(opening.hole_w_mm), value(height)
    assert isinstance(opening, DashOpening | CargoSpace | AmpSpot | ControlSpot)
    return "rect", value(opening.w_mm), value(opening.h_mm)


def _laid(parts: tuple[Size, ...], into: Size, *, on_floor: bool) -> list[tuple[float, float, Size]]:
    """Where the middle of each part lies about the middle of the opening."""
    wide = sum(part.w_mm for part in parts) + APART_MM * (len(parts) - 1)
    found, left = [], -wide / 2
    for part in parts:
        found.append((left + part.w_mm / 2, (into.h_mm - part.h_mm) / 2 if on_floor else 0.0, part))
        left += part.w_mm + APART_MM
    return found
