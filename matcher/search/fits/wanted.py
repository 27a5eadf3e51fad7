"""What a job asks of a head unit, as rules ask it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from matcher.kernel.columns import Columns, columns_of


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the job asks of a head unit."""

    screen_min_in: Decimal | None
    must: tuple[str, ...]


def wanted_columns(wanted: Wanted, has: Collection[str] | None, given: Collection[str]) -> Columns:
    """What a job asks of one head unit, with its features, if they are known, and those its accessories give."""
    met = None if has is None else len({*has, *given} & set(wanted.must))
    return columns_of("wanted", [{"screen_min_in": wanted.screen_min_in, "count": len(wanted.must), "met": met}])
