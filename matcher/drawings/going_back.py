"""Picture of the originals kept for the car: a labeled box for each place with removed originals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from matcher.drawings.pens import BLUE, INK, PAPER, Pen
from matcher.drawings.svg import Canvas, Drawing, wrapped
from matcher.drawings.words import WORDS, DrawingWords

BOX_W_MM, BOX_H_MM, APART_MM, ROW_MM = 20.4, 13.0, 1.8, 29.0
IN_A_ROW = 4
LETTERS = 14
"""Maximum letters per line of a label."""
SMALL_MM = 2.6
CARTON, THING = Pen(width=0.35, fill=PAPER), Pen(stroke=BLUE, width=0.35, fill="#e8eef4")
HOLE, HOMEWARD = Pen(stroke=BLUE, width=0.35, fill=PAPER), Pen(stroke=INK, width=0.5)


Kind = Literal["radio", "round", "oval"]


@dataclass(frozen=True, slots=True)
class Original:
    """Original parts removed at a place."""

    kind: Kind
    place: str
    """Label of the place."""


def going_back(
    originals: Sequence[Original], words: DrawingWords = WORDS, prefix: str = "going-back"
) -> Drawing | None:
    """Draw the boxes of removed originals on their way to the car; None if there are none.

    Parameters
    ----------
    originals
        Removed originals by place.
    """
    if not originals:
        return None
    sheet = Canvas(prefix)
    wide = min(len(originals), IN_A_ROW) * (BOX_W_MM + APART_MM) - APART_MM
    heading = words("to_the_car")
    sheet.text((0, -6), heading, size=SMALL_MM, bold=True)
    start = len(heading) * SMALL_MM * 0.602 + 3
    sheet.line((start, -6), (max(wide, start + 10), -6), HOMEWARD)
    sheet.polygon(((start - 1, -6), (start + 1.8, -7.3), (start + 1.8, -4.7)), Pen(stroke="none", fill=INK))
    for number, original in enumerate(originals):
        row, column = divmod(number, IN_A_ROW)
        _box(sheet, column * (BOX_W_MM + APART_MM), row * ROW_MM, original)
    says = words("goes_back_says", places=", ".join(one.place for one in originals))
    return sheet.drawing(words("goes_back"), says, words.lang)


def _box(sheet: Canvas, x: float, y: float, original: Original) -> None:
    """Draw an open carton with the original on its front and its label below."""
    lid = ((x, y), (x + 3, y - 2.4), (x + BOX_W_MM - 3, y - 2.4), (x + BOX_W_MM, y))
    sheet.polygon(lid, CARTON, "carton")
    sheet.rect(x, y, BOX_W_MM, BOX_H_MM, CARTON, "carton")
    middle, level = x + BOX_W_MM / 2, y + BOX_H_MM / 2
    if original.kind == "radio":
        sheet.rect(middle - 7.5, level - 3, 15, 6, THING, "radio")
        sheet.rect(middle - 4, level - 1.2, 8, 2.4, HOLE)
        for side in (-1, 1):
            sheet.ellipse((middle + side * 6, level), 2.2, 2.2, HOLE)
    else:
        wide, high = (7.0, 7.0) if original.kind == "round" else (5.4, 8.4)
        for side in (-1, 1):
            sheet.ellipse((middle + side * 4.2, level), wide, high, THING, "loudspeaker")
            sheet.ellipse((middle + side * 4.2, level), wide * 0.42, high * 0.42, HOLE)
    sheet.lines((middle, y + BOX_H_MM + 2.6), wrapped(original.place.partition(",")[0], LETTERS, 3), "middle", SMALL_MM)
