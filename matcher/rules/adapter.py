"""Adapters: whether a plate, ring or kit fits the opening. The interface that it offers the part is a mouth."""

from __future__ import annotations

from matcher.rules.layouts import Unmatched
from matcher.rules.patterns import (
    ADAPTER_BY_CIRCLE,
    ADAPTER_ON_CIRCLE,
    EVENLY_SPACED,
    HOLE_BY_CIRCLE,
    HOLE_ON_CIRCLE,
    PLATE_BY_CIRCLE,
    SQUARE_OF_CIRCLE,
)
from matcher.rules.rule import rule
from matcher.rules.subjects import adapter, hole, setting
from matcher.rules.terms import Apart, Either, Equal, Greater, Surely, Term, as_term

ADAPTER = "adapter at a hole"

IS_CUT = Surely(hole.is_cut.is_true()).named("the opening is cut")
SAME_SHAPE = (Equal(adapter.fits_shape, hole.shape) | IS_CUT & ~adapter.fits_shape.is_("twin_shaft")).named(
    "the opening has its shape, or is cut to it"
)
AT_SPEAKER = Surely(hole.kind.is_("speaker")).named("the opening is a speaker opening")
HAS_EDGE = (~hole.shape.is_("twin_shaft")).named("hole.shape != 'twin_shaft'")
NEW_HOLES = "another adapter, or new screw holes where the owner allows them"

YES, NO = as_term(1), as_term(0)

SHAPE = rule(
    "adapter.shape",
    scope=ADAPTER,
    unit="",
    have=Either(SAME_SHAPE, YES, NO),
    need=1,
    compares="shape the adapter is made for against the opening's shape",
    flaw="it is made for an opening of another shape",
    fix="an adapter for this shape",
)
WIDTH = rule(
    "adapter.width",
    scope=ADAPTER,
    unit="mm",
    have=hole.w_mm + setting("adapter_slack_mm"),
    need=adapter.fits_w_mm,
    compares="width of the opening plus the allowed undersize against the width the adapter is made for",
    flaw="the adapter is too wide for the opening",
    fix="an adapter for a smaller opening",
    when=HAS_EDGE,
)
HEIGHT = rule(
    "adapter.height",
    scope=ADAPTER,
    unit="mm",
    have=hole.h_mm + setting("adapter_slack_mm"),
    need=adapter.fits_h_mm,
    compares="height of the opening plus the allowed undersize against the height the adapter is made for",
    flaw="the adapter is too high for the opening",
    fix="an adapter for a smaller opening",
    when=HAS_EDGE,
)


def _lip() -> Term:
    return setting("flange_overlap_mm") + setting("flange_overlap_mm")


CLOSES_WIDTH = rule(
    "adapter.closes_width",
    scope=ADAPTER,
    unit="mm",
    have=adapter.fits_w_mm + _lip(),
    need=Either(IS_CUT, Greater(hole.found_w_mm, adapter.fits_w_mm), hole.w_mm),
    compares="width the adapter is made for plus its overlap on both sides against the opening's width",
    flaw="the adapter leaves a gap beside it",
    fix="an adapter for a larger opening",
    when=HAS_EDGE,
)
CLOSES_HEIGHT = rule(
    "adapter.closes_height",
    scope=ADAPTER,
    unit="mm",
    have=adapter.fits_h_mm + _lip(),
    need=Either(IS_CUT, Greater(hole.found_h_mm, adapter.fits_h_mm), hole.h_mm),
    compares="height the adapter is made for plus its overlap above and below against the opening's height",
    flaw="the adapter leaves a gap above or below it",
    fix="an adapter for a larger opening",
    when=HAS_EDGE,
)
BOLT_CIRCLE = rule(
    "adapter.bolt_circle",
    scope=ADAPTER,
    unit="mm",
    have=setting("bolt_slack_mm"),
    need=Apart(adapter.fits_bolt_circle_mm, hole.bolt_circle_mm),
    compares="slack of the bolt holes against the difference between the bolt circles of adapter and opening",
    flaw="its bolt holes do not line up with the existing ones",
    fix=NEW_HOLES,
    when=AT_SPEAKER & PLATE_BY_CIRCLE,
    lifted_at="drilled",
)
BOLT_COUNT = rule(
    "adapter.bolt_count",
    scope=ADAPTER,
    unit="bolts",
    have=0,
    need=Unmatched(
        Either(ADAPTER_BY_CIRCLE, adapter.fits_bolt_count, as_term(4)),
        Either(HOLE_BY_CIRCLE, hole.bolt_count, as_term(4)),
    ),
    compares="bolt holes without a partner: evenly spaced holes match if one number divides the other, such as four "
    "of eight",
    flaw="its number of bolt holes does not match the existing ones",
    fix=NEW_HOLES,
    when=AT_SPEAKER & (ADAPTER_BY_CIRCLE | HOLE_BY_CIRCLE),
    lifted_at="drilled",
    source=EVENLY_SPACED,
)
BOLTS_ACROSS = rule(
    "adapter.bolts_across",
    scope=ADAPTER,
    unit="mm",
    have=setting("bolt_slack_mm"),
    need=Apart(
        Either(ADAPTER_ON_CIRCLE, adapter.fits_bolt_circle_mm * SQUARE_OF_CIRCLE, adapter.fits_bolt_w_mm),
        Either(HOLE_ON_CIRCLE, hole.bolt_circle_mm * SQUARE_OF_CIRCLE, hole.bolt_w_mm),
    ),
    compares="slack of the bolt holes against their offset across",
    flaw="its bolt holes do not line up with the existing ones",
    fix=NEW_HOLES,
    when=AT_SPEAKER & ~PLATE_BY_CIRCLE,
    lifted_at="drilled",
)
BOLTS_DOWN = rule(
    "adapter.bolts_down",
    scope=ADAPTER,
    unit="mm",
    have=setting("bolt_slack_mm"),
    need=Apart(
        Either(ADAPTER_ON_CIRCLE, adapter.fits_bolt_circle_mm * SQUARE_OF_CIRCLE, adapter.fits_bolt_h_mm),
        Either(HOLE_ON_CIRCLE, hole.bolt_circle_mm * SQUARE_OF_CIRCLE, hole.bolt_h_mm),
    ),
    compares="slack of the bolt holes against their offset down",
    flaw="its bolt holes do not line up with the existing ones",
    fix=NEW_HOLES,
    when=AT_SPEAKER & ~PLATE_BY_CIRCLE,
    lifted_at="drilled",
)
