"""Parts with unknown labor hours: the price of a package then counts 0 for them and must say so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from matcher.search.catalog.catalog import Catalog
from matcher.search.feeds.parts import Candidate
from matcher.search.packages import PackageCandidate

FAMILY_OF = {"bass": "subwoofer", "bass_amplifier": "amplifier", "board": "accessory"}
"""The family that fills a slot, if its name differs from the slot's."""


def labour_open(catalog: Catalog, fitted: Sequence[PackageCandidate]) -> list[str]:
    """Return the parts of a package with unknown labor hours, if labor has a price."""
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
    """Whether a part's labor hours are stated."""
    parts = catalog.parts(family)
    row = parts.row(part_id)
    return row is not None and bool(parts.cells["labour_h"].known[row])  # type: ignore[index]
