"""The step of the alteration ladder that a mounting requires, for every kind of part."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.terms import Exact

STEP = "way of mounting at a step of the ladder"

ALLOWED = rule(
    "limit.alteration",
    scope=STEP,
    unit="steps",
    have=Exact("asked", "step"),
    need=Exact("way", "step"),
    compares="allowed step of the alteration ladder against the least step that this mounting needs",
    flaw="it takes more alteration than is allowed",
    fix="a higher step of the ladder, or a part that fits the opening as it is",
)
