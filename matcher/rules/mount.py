"""Mounting of amplifiers and their controls: a board on its spot, the amplifier on its board."""

from __future__ import annotations

from matcher.rules.layouts import Laid
from matcher.rules.rule import rule
from matcher.rules.subjects import board, opening, part, setting
from matcher.rules.terms import Opposed

BOARD_ON_SPOT = "board of the catalog on a spot"
ON_BOARD = "amplifier on a board of the catalog"

BOARD_TURNED = Opposed(board.w_mm - board.h_mm, opening.w_mm - opening.d_mm).named("the board lies turned")
PART_TURNED = Opposed(part.w_mm - part.d_mm, board.w_mm - board.h_mm).named("it lies turned on the board")
SIDES = setting("air_side_mm") + setting("air_side_mm")

SPOT_WIDTH = rule(
    "board.spot_width",
    scope=BOARD_ON_SPOT,
    unit="mm",
    have=opening.w_mm,
    need=Laid(BOARD_TURNED, board.w_mm, board.h_mm),
    compares="width of the spot against the board as it lies",
    flaw="the board is too long for the spot",
    fix="a smaller board, or one made by the shop",
)
SPOT_DEPTH = rule(
    "board.spot_depth",
    scope=BOARD_ON_SPOT,
    unit="mm",
    have=opening.d_mm,
    need=Laid(BOARD_TURNED, board.h_mm, board.w_mm),
    compares="depth of the spot against the board as it lies",
    flaw="the board is too deep for the spot",
    fix="a smaller board, or one made by the shop",
)
WIDTH = rule(
    "board.width",
    scope=ON_BOARD,
    unit="mm",
    have=board.w_mm,
    need=Laid(PART_TURNED, part.w_mm, part.d_mm) + SIDES,
    compares="width of the board against the amplifier's width plus air on both sides",
    flaw="no room for the amplifier and its air across the board",
    fix="a larger board, or one made by the shop",
)
HEIGHT = rule(
    "board.height",
    scope=ON_BOARD,
    unit="mm",
    have=board.h_mm,
    need=Laid(PART_TURNED, part.d_mm, part.w_mm) + SIDES,
    compares="height of the board against the amplifier's depth plus air on both sides",
    flaw="no room for the amplifier and its air along the board",
    fix="a larger board, or one made by the shop",
)
OVER = rule(
    "board.over",
    scope=ON_BOARD,
    unit="mm",
    have=opening.h_mm,
    need=board.d_mm + part.h_mm + setting("air_over_mm"),
    compares="height of the spot against board and amplifier plus air above them",
    flaw="on this board the amplifier has no air over its heat sink",
    fix="a thinner board, or one made by the shop",
)

CONTROL = "level control at a spot"

CONTROL_WIDTH = rule(
    "control.width",
    scope=CONTROL,
    unit="mm",
    have=opening.w_mm,
    need=part.w_mm,
    compares="width of the spot against the width of the control",
    flaw="the control is too wide for the spot",
    fix="a smaller control",
)
CONTROL_HEIGHT = rule(
    "control.height",
    scope=CONTROL,
    unit="mm",
    have=opening.h_mm,
    need=part.h_mm,
    compares="height of the spot against the height of the control",
    flaw="the control is too high for the spot",
    fix="a smaller control",
)
CONTROL_DEPTH = rule(
    "control.depth",
    scope=CONTROL,
    unit="mm",
    have=opening.d_mm,
    need=part.d_mm,
    compares="depth of the spot against the depth of the control",
    flaw="the control is too deep for the spot",
    fix="a shallower control",
)
