"""How a part lies at its opening: long side along long side, so a quarter turn where it has to.

A part fits an aligned shape in its turned position only if it also fits with its long side along
the opening's, so the turn follows from the figures and is no choice of its own.
"""

from __future__ import annotations

from matcher.rules.subjects import part
from matcher.rules.terms import Condition, Either, Term

IS_TURNED = Condition(
    "coalesce((part.cutout_w_mm > part.cutout_h_mm) != (mouth.w_mm > mouth.h_mm) "
    "AND part.cutout_w_mm != part.cutout_h_mm AND mouth.w_mm != mouth.h_mm, false)",
    (),
    "it lies turned",
)
"""Whether the loudspeaker lies a quarter turn from the way its figures are stated."""


def across(what: str) -> Term:
    """The part's measure across the opening, such as ``across("flange")``."""
    return Either(IS_TURNED, getattr(part, f"{what}_h_mm"), getattr(part, f"{what}_w_mm"))


def down(what: str) -> Term:
    """The part's measure down the opening."""
    return Either(IS_TURNED, getattr(part, f"{what}_w_mm"), getattr(part, f"{what}_h_mm"))
