"""A feed: a channel group and the loudspeakers that it drives."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import feed, setting
from matcher.rules.terms import Product

FEED = "block of channels with its loudspeaker"
ORIGINAL = "block of channels with an original loudspeaker"

for scope, name in ((FEED, "amplifier.load"), (ORIGINAL, "amplifier.load_original")):
    rule(
        name,
        scope=scope,
        unit="ohm",
        have=feed.load_ohm,
        need=feed.least_ohm,
        compares="load on the channels against the lowest load they are rated for",
        flaw="the load is below what the amplifier is rated for",
        fix="coils in series, loudspeakers of a higher impedance, or another amplifier",
    )

POWER_LEAST = rule(
    "amplifier.power_least",
    scope=FEED,
    unit="W",
    have=feed.power_w,
    need=Product(feed.rms_w, setting("power_least")),
    compares="power for each loudspeaker against the least useful share of its rating",
    flaw="too little power for this loudspeaker",
    fix="a stronger amplifier, a lower load, or a loudspeaker of a lower rating",
)
POWER_MOST = rule(
    "amplifier.power_most",
    scope=FEED,
    unit="W",
    have=Product(feed.rms_w, setting("power_most")),
    need=feed.power_w,
    compares="highest allowed share of the loudspeaker's rating against the power it gets",
    flaw="more power than this loudspeaker can take",
    fix="a weaker amplifier, a higher load, or a loudspeaker of a higher rating",
)
