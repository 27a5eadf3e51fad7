"""Amplifiers at their spots: space, air around the heat sink, and how the board is fastened."""

from __future__ import annotations

from matcher.rules.layouts import Laid
from matcher.rules.rule import rule
from matcher.rules.subjects import opening, part, setting
from matcher.rules.terms import Condition, Either, FigureTerm, Opposed, as_term

BOARD = "amplifier at a spot"

TURNED = Opposed(part.w_mm - part.d_mm, opening.w_mm - opening.d_mm).named("it lies turned")
SIDES = setting("air_side_mm") + setting("air_side_mm")

WIDTH = rule(
    "amplifier.board_width",
    scope=BOARD,
    unit="mm",
    have=opening.w_mm,
    need=Laid(TURNED, part.w_mm, part.d_mm) + SIDES,
    compares="width of the spot against the amplifier's width plus air on both sides",
    flaw="no room for it and its air across the spot",
    fix="a smaller amplifier, or one for several tasks",
)
DEPTH = rule(
    "amplifier.board_depth",
    scope=BOARD,
    unit="mm",
    have=opening.d_mm,
    need=Laid(TURNED, part.d_mm, part.w_mm) + SIDES,
    compares="depth of the spot against the amplifier's depth plus air on both sides",
    flaw="no room for it and its air along the spot",
    fix="a smaller amplifier, or one for several tasks",
)
HEIGHT = rule(
    "amplifier.board_height",
    scope=BOARD,
    unit="mm",
    have=opening.h_mm,
    need=part.h_mm + setting("air_over_mm"),
    compares="height of the spot against the amplifier's height plus air above it",
    flaw="no air over the heat sink",
    fix="a flatter amplifier",
)

NOTHING_HOLDS = ("no", "none", "nothing")
SHUT_IN = ("no", "none", "closed", "shut", "shut in")


def _says_otherwise(field: FigureTerm, words: tuple[str, ...]) -> Condition:
    """Whether a place states its own words, other than these."""
    listed = ", ".join(f"'{word}'" for word in words)
    return (~field.is_one_of(*words)).named(f"{field} is not one of {listed}")


HELD = rule(
    "amplifier.held",
    scope=BOARD,
    unit="",
    have=Either(_says_otherwise(opening.fasten, NOTHING_HOLDS), as_term(1), as_term(0)),
    need=1,
    compares="whether existing bolts, nuts or edges can hold a board at the spot",
    flaw="nothing there holds a board without new holes",
    fix="a spot with bolts of its own, or new screw holes where the owner allows them",
    lifted_at="drilled",
)
AIR = rule(
    "amplifier.air",
    scope=BOARD,
    unit="",
    have=Either(_says_otherwise(opening.air, SHUT_IN), as_term(1), as_term(0)),
    need=1,
    compares="whether air can move through the spot",
    flaw="the spot is closed: the heat sink would get no air",
    fix="a spot with moving air",
)
