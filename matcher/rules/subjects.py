"""The subjects that rules speak of, and the questions in which they stand together.

``part``      the part that is looked at
``opening``   the opening as measured
``hole``      the opening as found, or as cut (one row each)
``adapter``   what mates the part and the opening
``mouth``     what the part meets: the hole itself, or what the adapter gives
``keep``      a thing that must stay reachable
``rise``      the height at which a floating screen hangs: chosen, so without a tolerance
``vehicle``   its supply
"""

from __future__ import annotations

from matcher.rules.terms import Figure as Figure
from matcher.rules.terms import SettingTerm, Subject

COUNTS = frozenset({"bolt_count", "coils", "count", "fits_bolt_count", "mm", "preouts"})
"""Fields that are counted or chosen, never measured."""

part = Subject("part", COUNTS)
opening = Subject("opening", COUNTS)
hole = Subject("hole", COUNTS)
adapter = Subject("adapter", COUNTS)
mouth = Subject("mouth", COUNTS)
keep = Subject("keep")
rise = Subject("rise", COUNTS)
vehicle = Subject("vehicle")


def setting(name: str, by: Figure | None = None, otherwise: str | None = None) -> SettingTerm:
    """One of the shop's defaults; by a word where it goes by one."""
    return SettingTerm(name, by, otherwise)
