"""Bolt patterns: which of a thing's patterns is compared with which of the other's.

A pattern is a circle with a count, or a rectangle of four. Circles are compared with circles and
rectangles with rectangles; where only one of each is known, four holes on a circle are a square.
"""

from __future__ import annotations

from decimal import Decimal

from matcher.rules.terms import Condition

SQUARE_OF_CIRCLE = Decimal("0.707106781")
"""Side of the square whose corners lie on a circle of diameter 1: one over the root of two."""


def has_circle(thing: str) -> str:
    return f"({thing}bolt_circle_mm IS NOT NULL)"


def has_rectangle(thing: str) -> str:
    return f"({thing}bolt_w_mm IS NOT NULL OR {thing}bolt_h_mm IS NOT NULL)"


def by_circle(one: str, other: str, is_round: str) -> str:
    """SQL: both are compared by their circles, as far as these are known."""
    could = [f"({has_circle(thing)} OR NOT {has_rectangle(thing)})" for thing in (one, other)]
    return f"({' AND '.join(could)} AND ({has_circle(one)} OR {has_circle(other)} OR coalesce({is_round}, false)))"


def uses_circle(thing: str, both: str) -> str:
    """SQL: this one is compared by its circle."""
    return f"({both} OR ({has_circle(thing)} AND NOT {has_rectangle(thing)}))"


_BOTH = by_circle("part.", "mouth.", "part.shape = 'round'")
_HOLE_BOTH = by_circle("adapter.fits_", "hole.", "adapter.fits_shape = 'round'")

BOLTED = Condition("mouth.bolted", (), "bolts hold the part")
"""Whether bolts hold the part: where an adapter names none, its clips or own screws do."""
BY_CIRCLE = Condition(_BOTH, (), "both have a bolt circle")
PART_BY_CIRCLE = Condition(uses_circle("part.", _BOTH), (), "the part has a bolt circle")
MOUTH_BY_CIRCLE = Condition(uses_circle("mouth.", _BOTH), (), "the mouth has a bolt circle")

PLATE_BY_CIRCLE = Condition(_HOLE_BOTH, (), "both have a bolt circle")
ADAPTER_BY_CIRCLE = Condition(uses_circle("adapter.fits_", _HOLE_BOTH), (), "the adapter has a bolt circle")
HOLE_BY_CIRCLE = Condition(uses_circle("hole.", _HOLE_BOTH), (), "the opening has a bolt circle")
"""The same, for an adapter's side towards the opening."""
