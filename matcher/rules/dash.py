"""Head units at a dash opening."""

from __future__ import annotations

from decimal import Decimal

from matcher.rules.rule import rule
from matcher.rules.subjects import keep, mouth, opening, part, rise, setting
from matcher.rules.terms import Either, Greater, Surely, Term, as_term

DASH = "head unit at a mouth"
SCREEN = "floating screen beside a thing to reach"

BY_BODY = part.mount.is_("body") & mouth.shape.is_("rect")
BY_SHAFTS = part.mount.is_("twin_shaft") & mouth.shape.is_("twin_shaft")
FLOATING = part.screen.is_("floating")
IS_CUT = Surely(mouth.is_cut.is_true()).named("the opening is cut")
NO_SUPPORT = ~opening.rear_support.is_true()
HALF = Decimal("0.5")

MOUNT = rule(
    "dash.mount",
    scope=DASH,
    unit="",
    have=Either(BY_BODY | BY_SHAFTS, as_term(1), as_term(0)),
    need=1,
    compares="mounting of the unit against the mounting of the opening",
    flaw="the opening is made for another kind of unit",
    fix="a unit for this kind of opening, or a kit between them",
)
BODY_WIDTH = rule(
    "dash.body_width",
    scope=DASH,
    unit="mm",
    have=mouth.w_mm,
    need=part.body_w_mm,
    compares="width of the opening against the width of the body",
    flaw="the body is too wide for the opening",
    fix="a unit with a smaller body",
    when=BY_BODY,
)
BODY_HEIGHT = rule(
    "dash.body_height",
    scope=DASH,
    unit="mm",
    have=mouth.h_mm,
    need=part.body_h_mm,
    compares="height of the opening against the height of the body",
    flaw="the body is too high for the opening",
    fix="a unit with a body of single height",
    when=BY_BODY,
)
DEPTH = rule(
    "dash.depth",
    scope=DASH,
    unit="mm",
    have=opening.depth_mm + mouth.forward_mm,
    need=part.body_d_mm + part.plugs_d_mm,
    compares="depth of the opening plus what the kit adds against the body with its plugs",
    flaw="too deep, with its plugs, for the space behind the panel",
    fix="a shallower unit, or plugs that leave sideways",
)
FACE_WIDTH = rule(
    "dash.face_width",
    scope=DASH,
    unit="mm",
    have=part.face_w_mm,
    need=Either(IS_CUT, Greater(opening.w_mm, part.body_w_mm), mouth.w_mm),
    compares="width of the face against the width of the opening it covers",
    flaw="a gap stays open beside the face",
    fix="a kit or a filler closes it",
    when=BY_BODY,
)
FACE_HEIGHT = rule(
    "dash.face_height",
    scope=DASH,
    unit="mm",
    have=part.face_h_mm,
    need=Either(IS_CUT, Greater(opening.h_mm, part.body_h_mm), mouth.h_mm),
    compares="height of the face against the height of the opening it covers",
    flaw="a gap stays open above or below the face",
    fix="a kit or a filler closes it",
    when=BY_BODY,
)
SHAFTS_LEAST = rule(
    "dash.shafts_least",
    scope=DASH,
    unit="mm",
    have=mouth.shaft_mm,
    need=part.shaft_min_mm,
    compares="distance between the shaft holes against the smallest that the unit can be set to",
    flaw="the shaft holes are too close together",
    fix="a unit with a wider range of shafts",
    when=BY_SHAFTS,
)
SHAFTS_MOST = rule(
    "dash.shafts_most",
    scope=DASH,
    unit="mm",
    have=part.shaft_max_mm,
    need=mouth.shaft_mm,
    compares="largest shaft distance that the unit can be set to against the distance between the holes",
    flaw="the shaft holes are too far apart",
    fix="a unit with a wider range of shafts",
    when=BY_SHAFTS,
)
PROUD = rule(
    "dash.proud",
    scope=DASH,
    unit="mm",
    have=opening.proud_max_mm,
    need=Either(FLOATING, part.face_d_mm + part.screen_d_mm, part.face_d_mm) + mouth.forward_mm,
    compares="allowed protrusion of a unit against its face, floating screen and kit",
    flaw="it protrudes too far",
    fix="a unit with a flatter face",
)
SUPPORT_MASS = rule(
    "dash.support_mass",
    scope=DASH,
    unit="kg",
    have=setting("support_mass_kg"),
    need=part.mass_kg,
    compares="heaviest unit allowed without a rear support against the mass of this one",
    flaw="too heavy to hang without a support at its back",
    fix="a lighter unit, or a strap to an existing stud",
    when=NO_SUPPORT,
    lifted_at="drilled",
)
SUPPORT_SCREEN = rule(
    "dash.support_screen",
    scope=DASH,
    unit="in",
    have=setting("support_screen_in"),
    need=part.screen_in,
    compares="largest floating screen allowed without a rear support against this one",
    flaw="its screen is too large to hang without a support at its back",
    fix="a smaller screen, or a strap to an existing stud",
    when=FLOATING & NO_SUPPORT,
    lifted_at="drilled",
)


def _above() -> Term:
    """Distance from the screen's upper edge up to the thing."""
    return keep.y_mm - rise.mm - part.screen_h_mm * HALF


def _below() -> Term:
    """Distance from the thing's upper edge up to the screen's lower edge."""
    return rise.mm - part.screen_h_mm * HALF - keep.y_mm - keep.h_mm


def _right() -> Term:
    """Distance from the screen's right edge to the thing."""
    return keep.x_mm - part.screen_w_mm * HALF


def _left() -> Term:
    """Distance from the thing's right edge to the screen's left edge."""
    return (keep.x_mm + keep.w_mm) * Decimal(-1) - part.screen_w_mm * HALF


SCREEN_CLEAR = rule(
    "dash.screen_clear",
    scope=SCREEN,
    unit="mm",
    have=Greater(Greater(_above(), _below()), Greater(_right(), _left())),
    need=setting("reach_mm", keep.reach, otherwise="fingers"),
    compares="space between a floating screen at its best height and a control that must stay within reach",
    flaw="the screen covers it, or leaves no room to reach it",
    fix="a smaller screen, or one that can hang elsewhere",
    when=FLOATING,
)
