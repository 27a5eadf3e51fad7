"""Bolt patterns: which of a thing's patterns is compared with which of the other's.

A pattern is a circle with a count, or a rectangle of four. Circles are compared with circles and
rectangles with rectangles; where only one of each is known, four holes on a circle are a square.
"""

from __future__ import annotations

from decimal import Decimal

from matcher.rules.terms import Condition

SQUARE_OF_CIRCLE = Decimal("0.707106781")
"""Side of the square whose corners lie on a circle of diameter 1: one over the root of two."""


def pattern_sql(thing: str, *, is_round: str = "false") -> str:
    """SQL columns of a thing's bolt pattern, such as ``pattern_sql("o.")``.

    ``on_circle``: it has a circle, or is round and so would; ``may_circle``: it has one, or nothing
    that speaks against one; ``only_circle``: it has nothing else.
    """
    circle = f"{thing}bolt_circle_mm IS NOT NULL"
    rectangle = f"({thing}bolt_w_mm IS NOT NULL OR {thing}bolt_h_mm IS NOT NULL)"
    return (
        f"({circle} OR coalesce({is_round}, false)) AS on_circle, ({circle} OR NOT {rectangle}) AS may_circle, "
        f"({circle} AND NOT {rectangle}) AS only_circle, ({circle} OR {rectangle}) AS has_bolts"
    )


def _both(one: str, other: str) -> str:
    """SQL: both are compared by their circles, as far as these are known."""
    return f"({one}.may_circle AND {other}.may_circle AND ({one}.on_circle OR {other}.on_circle))"


_BOTH = _both("part", "mouth")
_HOLE_BOTH = _both("adapter", "hole")

BOLTED = Condition("mouth.bolted", (), "bolts hold the part")
"""Whether bolts hold the part: where an adapter names none, its clips or own screws do."""
BY_CIRCLE = Condition(_BOTH, (), "both have a bolt circle")
PART_ON_CIRCLE = Condition("part.only_circle", (), "the part has a bolt circle")
MOUTH_ON_CIRCLE = Condition("mouth.only_circle", (), "the mouth has a bolt circle")
"""Which of them stands as a square, where they are compared as rectangles."""
PART_BY_CIRCLE = Condition(f"({_BOTH} OR part.only_circle)", (), "the part has a bolt circle")
MOUTH_BY_CIRCLE = Condition(f"({_BOTH} OR mouth.only_circle)", (), "the mouth has a bolt circle")

ADAPTER_ON_CIRCLE = Condition("adapter.only_circle", (), "the adapter has a bolt circle")
HOLE_ON_CIRCLE = Condition("hole.only_circle", (), "the opening has a bolt circle")
PLATE_BY_CIRCLE = Condition(_HOLE_BOTH, (), "both have a bolt circle")
ADAPTER_BY_CIRCLE = Condition(f"({_HOLE_BOTH} OR adapter.only_circle)", (), "the adapter has a bolt circle")
HOLE_BY_CIRCLE = Condition(f"({_HOLE_BOTH} OR hole.only_circle)", (), "the opening has a bolt circle")
"""The same, for an adapter's side towards the opening."""
