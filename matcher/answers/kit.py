"""The kit of a package as an answer: the extra items that the van has to carry, with their prices or as open."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

from catalog_schema.answers import KitLine
from matcher.answers.messages_kit import kit_label
from matcher.search.catalog.kit import SIZE_FIELDS, UNITS, KitItem
from matcher.search.packages import PackageCandidate

HUNDRED = Decimal(100)
SIZE_UNITS = {"rated_a": "A", "area_mm2": "mm2"}


def kit_of(fitted: Sequence[PackageCandidate]) -> list[KitLine]:
    """Return all accompanying items of the main parts; items of one kind, part and size are combined."""
    alike: dict[tuple[str, str | None, Decimal | None], list[KitItem]] = {}
    for item in (item for one in fitted for item in one.candidate.kit):
        alike.setdefault((item.need.kind, item.part_id, item.need.size), []).append(item)
    return [_line(items) for items in alike.values()]


def _packs(items: Sequence[KitItem]) -> int:
    """Return the whole packs needed for items of one part; runs of cable are never joined from pieces."""
    if items[0].need.runs:
        return sum(item.need.runs for item in items)
    return math.ceil(sum(item.need.quantity for item in items) / items[0].pack_of)


def _line(items: Sequence[KitItem]) -> KitLine:
    first = items[0]
    kind, quantity = first.need.kind, sum((item.need.quantity for item in items), Decimal(0))
    unit = "mm2" if kind == "cable" else SIZE_UNITS.get(SIZE_FIELDS.get(kind, ""), "")
    return KitLine(
        kind=kind,
        label=kit_label(kind, first.need.size, unit),
        quantity=quantity.normalize() if quantity else quantity,
        unit=UNITS[kind],
        size=first.need.size,
        size_unit=unit,
        part_id=first.part_id,
        packs=0 if first.part_id is None else _packs(items),
        price=Decimal(sum(item.cents for item in items)) / HUNDRED,
        priced=first.part_id is not None,
        estimated=any(item.need.estimated for item in items),
    )
