"""An amplifier at its spot: room, and air around the heat sink."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import opening, part, setting
from matcher.rules.terms import Condition, Laid

BOARD = "amplifier at a spot"

TURNED = Condition(
    "((part.w_mm - part.d_mm) * (opening.w_mm - opening.d_mm) < 0)",
    (part.w_mm, part.d_mm, opening.w_mm, opening.d_mm),
    "it lies turned",
)
SIDES = setting("air_side_mm") + setting("air_side_mm")

WIDTH = rule(
    "amplifier.board_width",
    scope=BOARD,
    unit="mm",
    have=opening.w_mm,
    need=Laid(TURNED, part.w_mm, part.d_mm) + SIDES,
    compares="width of the spot against the amplifier and the air on both sides",
    flaw="no room for it and its air across the spot",
    cure="a smaller amplifier, or one for several tasks",
)
DEPTH = rule(
    "amplifier.board_depth",
    scope=BOARD,
    unit="mm",
    have=opening.d_mm,
    need=Laid(TURNED, part.d_mm, part.w_mm) + SIDES,
    compares="depth of the spot against the amplifier and the air on both sides",
    flaw="no room for it and its air along the spot",
    cure="a smaller amplifier, or one for several tasks",
)
HEIGHT = rule(
    "amplifier.board_height",
    scope=BOARD,
    unit="mm",
    have=opening.h_mm,
    need=part.h_mm + setting("air_over_mm"),
    compares="height of the spot against the amplifier and the air over it",
    flaw="no air over the heat sink",
    cure="a flatter amplifier",
)
