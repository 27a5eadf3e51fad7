"""A job with different weights of wishes: how far each may change before another package wins."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace

from catalog_schema.jobs import Job, Wishes
from matcher.errors import InputError, NotKnown
from matcher.search.catalog.catalog import Catalog
from matcher.search.packages import Found
from matcher.search.what_if.relaxed import WhatIf

LEAST, MOST = 0, 5
"""Possible weights of a wish."""
WISHES = tuple(one.name for one in fields(Wishes))
"""Return the wishes of a job, by name."""


def weighed(job: Job, wishes: Mapping[str, int]) -> Job:
    """Return a job with different weights of some wishes.

    Raises
    ------
    InputError
        if there is no such wish, or a weight is invalid.
    """
    for name, weight in wishes.items():
        if name not in WISHES:
            raise NotKnown("wish", name, list(WISHES))
        if weight not in range(LEAST, MOST + 1):
            raise InputError(
                f"the wish {name}: found {weight}, expected a whole number from {LEAST} to {MOST}",
                fix=f"0 does not matter, {MOST} matters most",
            )
    return replace(job, wishes=replace(job.wishes, **wishes))


@dataclass(frozen=True, slots=True)
class Weighed:
    """A wish, the weights at which the winner stays, and the new winner at the first weight beyond."""

    wish: str
    weight: int
    least: int
    most: int
    below: Found | None
    above: Found | None


def stable_weights(catalog: Catalog, job: Job, best: Found) -> Iterator[Weighed]:
    """Return each wish with its range of weights, ranked again at each weight until another package wins."""
    for name in WISHES:
        weight = getattr(job.wishes, name)
        least, below = _walk(catalog, job, name, range(weight - 1, LEAST - 1, -1), best)
        most, above = _walk(catalog, job, name, range(weight + 1, MOST + 1), best)
        yield Weighed(name, weight, least, most, below, above)


def _walk(catalog: Catalog, job: Job, name: str, weights: range, best: Found) -> tuple[int, Found | None]:
    """The last of some weights at which the winner stays, and the new winner at the next."""
    last = getattr(job.wishes, name)
    for weight in weights:
        found = WhatIf(catalog, weighed(job, {name: weight})).best()
        if found is None or found.name != best.name:
            return last, found
        last = weight
    return last, None
