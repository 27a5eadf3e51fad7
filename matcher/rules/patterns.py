"""Bolt patterns: which pattern of one thing is compared with which pattern of the other.

A pattern is a circle with a count, or a rectangle of four; a flange may have several circles. Circles are compared
with circles and rectangles with rectangles. If one thing has a circle and the other a rectangle, four holes on the
circle are a square.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from catalog_schema.sources import published
from matcher.rules.layouts import OfPattern
from matcher.rules.subjects import adapter, hole, mouth, part
from matcher.rules.terms import Condition, FigureTerm, Surely

SQUARE_OF_CIRCLE = Decimal("0.707106781")
"""Side of the square whose corners are on a circle of diameter 1: 1/sqrt(2)."""


EVENLY_SPACED = published("geometry: of m and n evenly spaced holes at most gcd(m, n) fall together")


class PatternFigures(NamedTuple):
    """Known figures of a thing's bolt pattern."""

    on_circle: Condition
    """It has a circle, or is round, which implies one."""
    may_circle: Condition
    """It has a circle, or no figure that rules one out."""
    only_circle: Condition
    """It has a circle and no rectangle."""

    def by_circle(self, other: PatternFigures) -> Condition:
        """Return whether both are compared by their circles, as far as these are known."""
        return self.may_circle & other.may_circle & (self.on_circle | other.on_circle)


MORE_PATTERNS = 3
"""Number of patterns read from a flange in addition to its own."""
_CIRCLES = (part.bolt_circle_mm, *(getattr(part, f"pattern_{at}_circle_mm") for at in range(MORE_PATTERNS)))
_COUNTS = (part.bolt_count, *(getattr(part, f"pattern_{at}_count") for at in range(MORE_PATTERNS)))
PART_CIRCLE = OfPattern(part.bolt_circle_mm, _CIRCLES, _COUNTS, mouth.bolt_circle_mm, mouth.bolt_count)
PART_COUNT = OfPattern(part.bolt_count, _CIRCLES, _COUNTS, mouth.bolt_circle_mm, mouth.bolt_count)
"""Circle and hole count of the pattern by which the part is fastened."""


def pattern(
    circle: FigureTerm | OfPattern, width: FigureTerm, height: FigureTerm, shape: FigureTerm | None = None
) -> PatternFigures:
    """Return the pattern of a thing with these figures; a round shape implies a circle."""
    has_circle, has_rectangle = circle.is_known(), width.is_known() | height.is_known()
    on_circle = has_circle if shape is None else has_circle | Surely(shape.is_("round"))
    return PatternFigures(on_circle, has_circle | ~has_rectangle, has_circle & ~has_rectangle)


PART = pattern(PART_CIRCLE, part.bolt_w_mm, part.bolt_h_mm, part.shape)
MOUTH = pattern(mouth.bolt_circle_mm, mouth.bolt_w_mm, mouth.bolt_h_mm)
PLATE = pattern(adapter.fits_bolt_circle_mm, adapter.fits_bolt_w_mm, adapter.fits_bolt_h_mm, adapter.fits_shape)
HOLE = pattern(hole.bolt_circle_mm, hole.bolt_w_mm, hole.bolt_h_mm)

BOLTED = Surely(mouth.bolted.is_true()).named("bolts hold the part")
"""Whether bolts hold the part; if an adapter states none, its clips or screws do."""
BY_CIRCLE = PART.by_circle(MOUTH).named("both have a bolt circle")
PART_ON_CIRCLE = PART.only_circle.named("the part has a bolt circle")
MOUTH_ON_CIRCLE = MOUTH.only_circle.named("the mouth has a bolt circle")
"""Which of the two has a circle that is compared as a square if rectangles are compared."""
PART_BY_CIRCLE = (BY_CIRCLE | PART_ON_CIRCLE).named("the part has a bolt circle")
MOUTH_BY_CIRCLE = (BY_CIRCLE | MOUTH_ON_CIRCLE).named("the mouth has a bolt circle")

PLATE_BY_CIRCLE = PLATE.by_circle(HOLE).named("both have a bolt circle")
ADAPTER_ON_CIRCLE = PLATE.only_circle.named("the adapter has a bolt circle")
HOLE_ON_CIRCLE = HOLE.only_circle.named("the opening has a bolt circle")
ADAPTER_BY_CIRCLE = (PLATE_BY_CIRCLE | ADAPTER_ON_CIRCLE).named("the adapter has a bolt circle")
HOLE_BY_CIRCLE = (PLATE_BY_CIRCLE | HOLE_ON_CIRCLE).named("the opening has a bolt circle")
"""The same for the side of an adapter that faces the opening."""
