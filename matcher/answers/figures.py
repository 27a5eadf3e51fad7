"""Open figures of a check, by the names under which readings are stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from catalog_schema.answers import Check


def figure_names(check: Check) -> list[str]:
    """Return the figures to measure first: the missing ones, otherwise the imprecise ones."""
    return [*check.missing, *check.loose] if check.verdict == "measure" else []


def kept_where(check: Check, about: str, subjects: Mapping[str, str]) -> Check:
    """Return a check with its open figures renamed to where their readings are stored.

    Parameters
    ----------
    subjects
        The subject of readings for each subject of the rule (``opening``, ``part``).
    """
    missing, loose = (
        [f"{subjects[thing]}.{field}" for thing, _, field in (figure.partition(".") for figure in figures)]
        for figures in (check.missing, check.loose)
    )
    return replace(check, about=about, missing=missing, loose=loose)
