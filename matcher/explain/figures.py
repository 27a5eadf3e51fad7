"""Which figures a check leaves open, by the names under which readings are taken."""

from __future__ import annotations

from catalog_schema.answers import Check


def figure_names(check: Check) -> list[str]:
    """The figures to measure first: those that are missing, else those that are too loose."""
    return [*check.missing, *check.loose] if check.verdict == "measure" else []
