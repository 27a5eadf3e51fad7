"""What a job asks of a head unit, as rules ask it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the job asks of a head unit."""

    screen_min_in: Decimal | None
    must: tuple[str, ...]


def wanted_sql(screen_min_in: str, must: str, given: str | None = None) -> str:
    """SQL of what a job asks of a head unit, from two parameters; a third holds what its accessories give."""
    has = "part.features"
    if given is not None:
        has = f"CASE WHEN {has} IS NOT NULL THEN list_concat({has}, {given}::VARCHAR[]) END"
    return (
        f"SELECT {screen_min_in}::DECIMAL(15,6) AS screen_min_in, len({must}::VARCHAR[]) AS count, "
        f"len(list_intersect({has}, {must}::VARCHAR[])) AS met"
    )
