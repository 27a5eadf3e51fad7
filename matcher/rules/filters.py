"""The filters of a channel group: the frequency wanted against the settings of the head unit or the amplifier.

A device without a filter has the highest setting 0. A high-pass or low-pass that no device has is bought in line.
"""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import filtering, setting

HIGH_PASS = "high-pass of a channel group"
LOW_PASS = "low-pass of the bass"
SUBSONIC = "high-pass below a vented box"

HIGH_PASS_UP = rule(
    "filter.high_pass",
    scope=HIGH_PASS,
    unit="Hz",
    have=filtering.highest_hz,
    need=filtering.wanted_hz,
    compares="highest setting of the high-pass against the lowest that loudspeakers above a subwoofer need",
    flaw="no high-pass that reaches so high",
    fix="an in-line filter in the leads to these channels",
)
SUBSONIC_UP = rule(
    "filter.subsonic",
    scope=SUBSONIC,
    unit="Hz",
    have=filtering.highest_hz,
    need=filtering.wanted_hz,
    compares="highest setting of the subsonic filter against the frequency that the box needs; never excludes a part",
    flaw="no high-pass below the box's tuning",
    fix="an amplifier with one; else the cone is unloaded below the tuning, and its level there counts that",
)
LOW_PASS_DOWN = rule(
    "filter.low_pass_from",
    scope=LOW_PASS,
    unit="Hz",
    have=setting("low_pass_most_hz"),
    need=filtering.lowest_hz,
    compares="highest frequency to which bass may play against the lowest setting of the low-pass",
    flaw="its low-pass begins too high for bass",
    fix="an in-line filter in the leads to these channels",
)
LOW_PASS_UP = rule(
    "filter.low_pass_to",
    scope=LOW_PASS,
    unit="Hz",
    have=filtering.highest_hz,
    need=setting("low_pass_least_hz"),
    compares="highest setting of the low-pass against the lowest frequency to which bass has to play",
    flaw="no low-pass for bass",
    fix="an in-line filter in the leads to these channels",
)
