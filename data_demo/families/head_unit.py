"""Head units as they are drawn."""

from __future__ import annotations

from data_demo.distributions import (
    BODIES,
    BUILT_IN_W,
    FEATURES,
    FILTERS,
    FLOATING_SCREENS,
    FLUSH_SCREEN_IN,
    HEAD_UNIT_A,
    HEAD_UNIT_REST_MA,
    PLAIN_FILTERS,
    PREOUT_V,
    PREOUTS,
    RISE_MAX,
    RISE_MIN,
    SCREEN_DEPTH,
    SHAFTS_MIN,
    SHAFTS_REACH,
    Body,
)
from data_demo.draw import RandomStream, spread
from data_demo.families.common import Row, common, filter_columns

BODY_KINDS = spread([(body.share, body) for body in BODIES])
SCREENS = spread([(share, (inches, w, h)) for share, inches, w, h in FLOATING_SCREENS])
OUTPUTS = spread(PREOUTS)
OUTPUT_V = spread(PREOUT_V)


SEEN_FILTERS, UNSEEN_FILTERS = spread(FILTERS), spread(PLAIN_FILTERS)


def head_unit(draw: RandomStream, number: int) -> Row:
    """A head unit: a kind of body, a grade, and what goes with both."""
    body, grade = draw.pick(BODY_KINDS), draw.unit()
    row = common(
        draw,
        "head_unit",
        number,
        body.name,
        price=draw.price(body.price, grade),
        labor_h=draw.pick((1, 1.5, 1.5, 2)),
        mass_kg=draw.half(body.mass_kg),
    )
    row.update(case(draw, body))
    row.update(screen(draw, body))
    row.update(electric(draw, body, grade))
    row.update(filter_columns(RandomStream.aside(number), SEEN_FILTERS if body.screen != "none" else UNSEEN_FILTERS))
    return row


def case(draw: RandomStream, body: Body) -> Row:
    """The body, the face and how it is held."""
    w_mm, h_mm = draw.half(body.w), draw.half(body.h)
    row: Row = {
        "body_w_mm": w_mm,
        "body_h_mm": h_mm,
        "body_d_mm": draw.half(body.d),
        "plugs_d_mm": draw.pick((40, 50, 50, 50, 60)),
        "face_w_mm": w_mm + draw.half(body.face_over_w),
        "face_h_mm": h_mm + draw.half(body.face_over_h),
        "face_d_mm": draw.half(body.face_d),
        "mount": body.mount,
        "shaft_min_mm": None,
        "shaft_max_mm": None,
    }
    if body.mount == "twin_shaft":
        nearest = draw.half(SHAFTS_MIN)
        row["shaft_min_mm"], row["shaft_max_mm"] = nearest, nearest + draw.half(SHAFTS_REACH)
    return row


def screen(draw: RandomStream, body: Body) -> Row:
    """Its screen, if it has one, and where a floating one may hang."""
    row: Row = {"screen": body.screen} | dict.fromkeys(
        ("screen_in", "screen_w_mm", "screen_h_mm", "screen_d_mm", "screen_rise_min_mm", "screen_rise_max_mm")
    )
    if body.screen == "flush":
        row["screen_in"] = draw.pick(FLUSH_SCREEN_IN)
    elif body.screen == "floating":
        inches, w_mm, h_mm = draw.pick(SCREENS)
        row["screen_in"] = inches
        row["screen_w_mm"], row["screen_h_mm"] = w_mm + draw.half((-2, 2)), h_mm + draw.half((-2, 2))
        row["screen_d_mm"] = draw.half(SCREEN_DEPTH)
        row["screen_rise_min_mm"], row["screen_rise_max_mm"] = draw.half(RISE_MIN), draw.half(RISE_MAX)
    return row


def electric(draw: RandomStream, body: Body, grade: float) -> Row:
    """Its outputs, what it can do and what it draws."""
    seen = body.screen != "none"
    features = [word for word, with_it, without in FEATURES if draw.chance(with_it if seen else without)]
    return {
        "preouts": draw.pick(OUTPUTS),
        "preout_v": draw.graded((2, 2, 2.5, 4, 4, 5), grade) if seen else draw.pick(OUTPUT_V),
        "amp_channels": 4,
        "amp_w": draw.whole(BUILT_IN_W),
        "amp_min_ohm": 4,
        "features": ";".join(features),
        "current_a": draw.pick(HEAD_UNIT_A),
        "standby_ma": draw.half(HEAD_UNIT_REST_MA),
    }
