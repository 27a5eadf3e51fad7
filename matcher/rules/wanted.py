"""Requirements of the job for the head unit, and for the delivery of every part."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import part, wanted
from matcher.rules.terms import Surely

WANTED = "head unit for a job"
DELIVERY = "delivery for a job"

IS_ASKED = wanted.screen_min_in.is_known()
HAS_NONE = Surely(part.screen.is_("none"))

SCREEN = rule(
    "limit.screen_min",
    scope=WANTED,
    unit="in",
    have=part.screen_in,
    need=wanted.screen_min_in,
    compares="diagonal of the screen against the smallest that the customer asks for",
    flaw="its screen is smaller than the customer asks for",
    fix="a smaller minimum screen in the job's limits",
    when=(IS_ASKED & ~HAS_NONE).named("a screen is asked for"),
)
NO_SCREEN = rule(
    "limit.screen",
    scope=WANTED,
    unit="",
    have=0,
    need=1,
    compares="whether it has a screen, if one is asked for",
    flaw="it has no screen",
    fix="no minimum screen in the job's limits",
    when=(IS_ASKED & HAS_NONE).named("a screen is asked for and it has none"),
)
FEATURES = rule(
    "limit.must",
    scope=WANTED,
    unit="features",
    have=wanted.met,
    need=wanted.count,
    compares="required features that it has against all that are required",
    flaw="it lacks a feature that the customer must have",
    fix="fewer required features",
    when=Surely(wanted.count.is_above(0)).named("features are asked for"),
)
DELIVERED = rule(
    "limit.delivery",
    scope=DELIVERY,
    unit="days",
    have=wanted.deliver_within_days,
    need=part.lead_days,
    compares="delivery time against the days that the job allows; a part in stock takes none",
    flaw="it is delivered later than the job allows",
    fix="more days in the job's limits",
    when=(wanted.deliver_within_days.is_known() & ~Surely(wanted.in_stock.is_true())).named(
        "the job has a last day of delivery and the part is not in stock"
    ),
)
