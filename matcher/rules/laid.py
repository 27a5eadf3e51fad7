"""Orientation of a part at its opening: long side along long side, so a quarter turn if needed.

A part fits an aligned shape in its turned position only if it also fits with its long side along
the opening's, so the turn follows from the figures and is no choice of its own.
"""

from __future__ import annotations

from functools import cache

from matcher.rules.layouts import Laid, Lie, crossed
from matcher.rules.subjects import mouth, part
from matcher.rules.terms import Either, Term

IS_TURNED = crossed(
    Lie(part.shape, part.cutout_w_mm, part.cutout_h_mm), Lie(mouth.shape, mouth.w_mm, mouth.h_mm)
).named("it lies turned")
"""Whether the loudspeaker lies a quarter turn from the way its figures are stated."""


@cache
def across(what: str) -> Term:
    """The part's measure across the opening, such as ``across("flange")``."""
    return Either(IS_TURNED, getattr(part, f"{what}_h_mm"), getattr(part, f"{what}_w_mm"))


@cache
def down(what: str) -> Term:
    """The part's measure down the opening."""
    return Either(IS_TURNED, getattr(part, f"{what}_w_mm"), getattr(part, f"{what}_h_mm"))


CUTOUT_ACROSS = Laid(IS_TURNED, part.cutout_w_mm, part.cutout_h_mm)
CUTOUT_DOWN = Laid(IS_TURNED, part.cutout_h_mm, part.cutout_w_mm)
"""The cut-out along each side of the hole; where its turn is not known, its shorter side."""
