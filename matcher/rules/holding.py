"""Zones of the vehicle where nothing may be fastened, at any alteration and with any adapter."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import zone
from matcher.rules.terms import Either, Surely, as_term

HOLDING = "anything fastened at an opening"

IN_ZONE = Surely(zone.covers.is_true()).named(
    "the vehicle names this place, by its name or its label, among those where nothing may be fastened"
)

ZONE = rule(
    "holding.zone",
    scope=HOLDING,
    unit="",
    have=Either(IN_ZONE, as_term(0), as_term(1)),
    need=1,
    compares="whether the place lies in a zone into which nothing may be fastened",
    flaw="nothing may be fastened here: a tank, a line, a high-voltage cable or a person's belt depends on it",
    fix="another place",
)
