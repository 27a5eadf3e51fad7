"""Limits on the whole package: money, standby drain, channels."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import whole
from matcher.rules.terms import Surely

PACKAGE = "package of a job"

BUDGET = rule(
    "limit.budget",
    scope=PACKAGE,
    unit="money",
    have=whole.budget,
    need=whole.total,
    compares="the customer's budget against parts and labor",
    flaw="dearer than the budget",
    fix="a larger budget, or less to choose",
    when=whole.budget.is_known().named("a budget is named"),
)
AT_REST = rule(
    "supply.at_rest",
    scope=PACKAGE,
    unit="mA",
    have=whole.at_rest_ma,
    need=whole.drain_ma,
    compares="standby drain allowed by the job, the shop and the battery's reserve, less the car's own, against the "
    "drain of all parts",
    flaw="the standby drain of the parts is too high",
    fix="parts with less standby drain, or a switch between them and the battery",
)
HEAD_CHANNELS = rule(
    "amplifier.head_channels",
    scope=PACKAGE,
    unit="channels",
    have=whole.head_channels,
    need=whole.head_used,
    compares="channels of the head unit's own amplifier against the channels that the plan uses",
    flaw="the head unit has too few channels",
    fix="an amplifier, or pairs that share channels",
    when=Surely(whole.head_used.is_above(0)).named("the head unit feeds a loudspeaker"),
)
AMPLIFIER_CHANNELS = rule(
    "amplifier.channels",
    scope=PACKAGE,
    unit="channels",
    have=whole.amplifier_channels,
    need=whole.amplifier_used,
    compares="channels of the amplifier against the channels that the plan uses",
    flaw="the amplifier has too few channels",
    fix="an amplifier with more channels, or pairs that share channels",
    when=Surely(whole.amplifier_used.is_above(0)).named("an amplifier feeds a loudspeaker"),
)
BASS_CHANNELS = rule(
    "amplifier.bass_channels",
    scope=PACKAGE,
    unit="channels",
    have=whole.bass_channels,
    need=whole.bass_used,
    compares="bass channels of the amplifier against the bass channels that are used",
    flaw="the amplifier has no channel for bass",
    fix="an amplifier with one, or a bridged pair of its full-range channels",
    when=Surely(whole.bass_used.is_above(0)).named("a channel for bass is taken"),
)
OWN_CHANNELS = rule(
    "amplifier.own_channels",
    scope=PACKAGE,
    unit="channels",
    have=whole.own_channels,
    need=whole.own_used,
    compares="full-range channels of an amplifier for bass alone against the bridged pair that is used",
    flaw="the amplifier for bass has too few channels to bridge",
    fix="an amplifier with a pair of channels, or with one for bass",
    when=Surely(whole.own_used.is_above(0)).named("an amplifier for bass alone is bridged"),
)
