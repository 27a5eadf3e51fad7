"""A job with its wishes weighed otherwise: how far each may go before another package wins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from catalog_schema.jobs import Job
from matcher.search.catalog.catalog import Catalog
from matcher.search.packages import Found
from matcher.search.what_if.relaxed import WhatIf
from matcher.search.what_if.weights import LEAST, MOST, WISHES, weighed


@dataclass(frozen=True, slots=True)
class Weighed:
    """A wish with the weights at which the winner stays, and who wins at the first weight beyond."""

    wish: str
    weight: int
    least: int
    most: int
    below: Found | None
    above: Found | None


def stable_weights(catalog: Catalog, job: Job, best: Found) -> Iterator[Weighed]:
    """Each wish, weighed otherwise by one step after another until another package wins: each step is ranked anew."""
    for name in WISHES:
        weight = getattr(job.wishes, name)
        least, below = _walk(catalog, job, name, range(weight - 1, LEAST - 1, -1), best)
        most, above = _walk(catalog, job, name, range(weight + 1, MOST + 1), best)
        yield Weighed(name, weight, least, most, below, above)


def _walk(catalog: Catalog, job: Job, name: str, weights: range, best: Found) -> tuple[int, Found | None]:
    """The last of some weights at which the winner stays, and who wins at the next."""
    last = getattr(job.wishes, name)
    for weight in weights:
        found = WhatIf(catalog, weighed(job, {name: weight})).best_now()
        if found is None or found.name != best.name:
            return last, found
        last = weight
    return last, None
