"""Which figures a check leaves open, by the names under which readings are taken."""

from __future__ import annotations

from catalog_schema.answers import Check


def figure_names(check: Check) -> list[str]:
    """The figures to measure first: those that are missing."""
    return check.missing if check.verdict == "measure" else []
