"""Hours that nobody has stated: the price of a package then counts none for them, and has to say so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate
from matcher.search.packages import PackageCandidate

FAMILY_OF = {"bass": "subwoofer", "bass_amplifier": "amplifier", "board": "accessory"}
"""The family that fills a slot, where the two are not called the same."""


def labour_open(catalog: Catalog, fitted: Sequence[PackageCandidate]) -> list[str]:
    """The parts of a package whose hours to fit are not known, where hours have a price."""
    if not catalog.settings["labour_rate"]:
        return []
    named = dict.fromkeys(name for one in fitted for name in _names(one.candidate))
    return [part_id for family, part_id in named if not _has_hours(catalog, family, part_id)]


def _names(one: Candidate) -> Iterable[tuple[str, str]]:
    if one.part_id is not None:
        yield FAMILY_OF.get(one.slot, one.slot), one.part_id
    if one.adapter_id is not None:
        yield "adapter", one.adapter_id


def _has_hours(catalog: Catalog, family: str, part_id: str) -> bool:
    """Whether a part's hours are stated."""
    parts = catalog.parts(family)
    row = parts.row(part_id)
    return row is not None and bool(parts.cells["labour_h"].known[row])  # type: ignore[index]
