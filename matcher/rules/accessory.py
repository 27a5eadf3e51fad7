"""Accessories of a head unit: an accessory provides its features only if the head unit has everything it requires."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import accessory

ACCESSORY = "accessory for a head unit"

NEEDS = rule(
    "accessory.needs",
    scope=ACCESSORY,
    unit="features",
    have=accessory.met,
    need=accessory.count,
    compares="features of the head unit that the accessory needs against all it needs",
    flaw="the head unit lacks a feature that the accessory needs",
    fix="a head unit with that feature, or another accessory",
)
