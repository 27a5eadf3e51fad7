"""Two amplifiers next to each other on one board: their combined size and the air around them."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import pair, setting

PAIR = "two amplifiers at one spot"

AIR = setting("air_side_mm")

ALONG = rule(
    "amplifier.pair_along",
    scope=PAIR,
    unit="mm",
    have=pair.along_mm,
    need=pair.first_along_mm + pair.second_along_mm + AIR + AIR + AIR,
    compares="side of the spot along which two amplifiers stand against both plus air between them and at both ends",
    flaw="no room for both and their air beside each other",
    fix="smaller amplifiers, one for several tasks, or a spot for each",
)
FIRST_ACROSS = rule(
    "amplifier.pair_across",
    scope=PAIR,
    unit="mm",
    have=pair.across_mm,
    need=pair.first_across_mm + AIR + AIR,
    compares="other side of the spot against the first of two amplifiers as it lies plus air on both sides",
    flaw="no room for it and its air as it has to lie beside the other",
    fix="smaller amplifiers, one for several tasks, or a spot for each",
)
SECOND_ACROSS = rule(
    "amplifier.pair_across_second",
    scope=PAIR,
    unit="mm",
    have=pair.across_mm,
    need=pair.second_across_mm + AIR + AIR,
    compares="other side of the spot against the second of two amplifiers as it lies plus air on both sides",
    flaw="no room for it and its air as it has to lie beside the other",
    fix="smaller amplifiers, one for several tasks, or a spot for each",
)
