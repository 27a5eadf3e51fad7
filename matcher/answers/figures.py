"""Which figures a check leaves open, by the names under which readings are taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from catalog_schema.answers import Check


def figure_names(check: Check) -> list[str]:
    """The figures to measure first: those that are missing, else those that are too loose."""
    return [*check.missing, *check.loose] if check.verdict == "measure" else []


def kept_where(check: Check, about: str, subjects: Mapping[str, str]) -> Check:
    """A check of something, its open figures by where readings of them are kept.

    Parameters
    ----------
    subjects
        By what a rule calls a thing (``opening``, ``part``): the subject of readings that it is.
    """
    missing, loose = (
        [f"{subjects[thing]}.{field}" for thing, _, field in (figure.partition(".") for figure in figures)]
        for figures in (check.missing, check.loose)
    )
    return replace(check, about=about, missing=missing, loose=loose)
