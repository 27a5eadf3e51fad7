"""Orientation of a part at its opening: the long sides are aligned, by a quarter turn if needed.

If a part fits an aligned shape at all, it fits with its long side along the opening's, so the figures determine the
turn and it is no separate choice.
"""

from __future__ import annotations

from functools import cache

from matcher.rules.layouts import Laid, Lie, crossed
from matcher.rules.subjects import mouth, part
from matcher.rules.terms import Either, Term

IS_TURNED = crossed(
    Lie(part.shape, part.cutout_w_mm, part.cutout_h_mm), Lie(mouth.shape, mouth.w_mm, mouth.h_mm)
).named("it lies turned")
"""Whether the loudspeaker is mounted a quarter turn from the orientation of its data sheet."""


@cache
def across(what: str) -> Term:
    """Return the part's size across the opening, such as ``across("flange")``."""
    return Either(IS_TURNED, getattr(part, f"{what}_h_mm"), getattr(part, f"{what}_w_mm"))


@cache
def down(what: str) -> Term:
    """Return the part's size down the opening."""
    return Either(IS_TURNED, getattr(part, f"{what}_w_mm"), getattr(part, f"{what}_h_mm"))


CUTOUT_ACROSS = Laid(IS_TURNED, part.cutout_w_mm, part.cutout_h_mm)
CUTOUT_DOWN = Laid(IS_TURNED, part.cutout_h_mm, part.cutout_w_mm)
"""The cut-out along each side of the hole, or its shorter side if the turn is unknown."""
