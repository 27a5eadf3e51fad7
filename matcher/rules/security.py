"""Security: the routes of theft that several layers block together."""

from __future__ import annotations

from matcher.rules.rule import rule
from matcher.rules.subjects import guard

SECURITY = "layers of security for a job"

ROUTES = rule(
    "security.routes",
    scope=SECURITY,
    unit="routes",
    have=guard.covered,
    need=guard.wanted,
    compares="wanted routes of theft that the layers cover together against all wanted routes",
    flaw="a route of theft stays open",
    fix="a further layer that covers it, or fewer routes to cover",
)
