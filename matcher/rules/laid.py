"""How a part lies at its opening: long side along long side, so a quarter turn where it has to.

A part fits an aligned shape in its turned position only if it also fits with its long side along
the opening's, so the turn follows from the figures and is no choice of its own.
"""

from __future__ import annotations

from functools import cache

from matcher.rules.layouts import Laid, Shared
from matcher.rules.subjects import mouth, part
from matcher.rules.terms import Condition, Either, Term

LIE = "sign({0}w_mm - {0}h_mm)"
"""SQL of which side of a thing is the longer: 1 across, -1 down, 0 neither; a round thing has none."""

IS_TURNED = Condition(
    "(part.lie != 0 AND mouth.lie != 0 AND part.lie != mouth.lie)",
    (part.cutout_w_mm, part.cutout_h_mm, mouth.w_mm, mouth.h_mm),
    "it lies turned",
)
"""Whether the loudspeaker lies a quarter turn from the way its figures are stated."""


def lie_sql(thing: str, shape: str) -> str:
    """SQL of how a thing lies, such as ``lie_sql("cutout_", "shape")``."""
    return f"CASE WHEN {shape} = 'round' THEN 0 ELSE {LIE.format(thing)} END"


@cache
def across(what: str) -> Term:
    """The part's measure across the opening, such as ``across("flange")``."""
    turned, straight = getattr(part, f"{what}_h_mm"), getattr(part, f"{what}_w_mm")
    return Shared(f"{what}_across", Either(IS_TURNED, turned, straight))


@cache
def down(what: str) -> Term:
    """The part's measure down the opening."""
    turned, straight = getattr(part, f"{what}_w_mm"), getattr(part, f"{what}_h_mm")
    return Shared(f"{what}_down", Either(IS_TURNED, turned, straight))


CUTOUT_ACROSS = Laid(IS_TURNED, part.cutout_w_mm, part.cutout_h_mm)
CUTOUT_DOWN = Laid(IS_TURNED, part.cutout_h_mm, part.cutout_w_mm)
"""The cut-out along each side of the hole; where its turn is not known, its shorter side."""
