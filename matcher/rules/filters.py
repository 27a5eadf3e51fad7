"""The filters of a channel group: the frequency wanted against the settings of the head unit or the amplifier.

A device without a filter has the highest setting 0.
"""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import filtering, setting

HIGH_PASS = "high-pass of a channel group"
LOW_PASS = "low-pass of the bass"

HIGH_PASS_UP = rule(
    "filter.high_pass",
    scope=HIGH_PASS,
    unit="Hz",
    have=filtering.highest_hz,
    need=filtering.wanted_hz,
    compares="highest setting of the high-pass against the frequency from which the channels are to play",
    flaw="no high-pass that reaches so high",
    fix="a filter in the line before the amplifier, or another amplifier",
)
LOW_PASS_DOWN = rule(
    "filter.low_pass_from",
    scope=LOW_PASS,
    unit="Hz",
    have=setting("low_pass_most_hz"),
    need=filtering.lowest_hz,
    compares="highest frequency to which bass may play against the lowest setting of the low-pass",
    flaw="its low-pass begins too high for bass",
    fix="a filter in the line before the amplifier, or another amplifier",
)
LOW_PASS_UP = rule(
    "filter.low_pass_to",
    scope=LOW_PASS,
    unit="Hz",
    have=filtering.highest_hz,
    need=setting("low_pass_least_hz"),
    compares="highest setting of the low-pass against the lowest frequency to which bass has to play",
    flaw="no low-pass for bass",
    fix="a filter in the line before the amplifier, or another amplifier",
)
