"""Each limit of a job lifted by itself, and the best package then: the price of the limit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from catalog_schema.jobs import LADDER, Job
from matcher.search.packages import Found
from matcher.search.question import HEAD_UNIT, JobQuestion, allowed_step, question_of
from matcher.search.what_if.assumed import without_things
from matcher.search.what_if.loosened import openings_of
from matcher.search.what_if.relaxed import WhatIf, lifted_one, wish_names

MUSIC = frozenset({"music_ma"})
CHARGING = "charging"
"""Spare charging current of the vehicle: not a limit of the job, but it can be lifted, too."""


@dataclass(frozen=True, slots=True)
class Priced:
    """A limit, and the best package without it."""

    name: str
    job: Job
    """The job without it."""
    found: Found | None


def limit_names(possible: WhatIf) -> list[str]:
    """Return every limit of a job, its car and its shop in a fixed order."""
    job = possible.job
    question = question_of(possible.catalog, job)
    limits = job.limits
    openings = [name for name in openings_of(possible, job) if allowed_step(job, name) < len(LADDER) - 1]
    vehicle = possible.catalog.vehicle(job.vehicle_id)
    things = sorted({row["name"] for row in vehicle.thing_rows(question.dash_id or "")})
    return [
        *(["budget"] if limits.budget is not None else []),
        "at_rest_ma",
        *([CHARGING] if question.headroom.over_a is not None else []),
        *(f"keep.{name}" for name in kept_of(question)),
        *(f"security_routes.{route}" for route in job.security_routes or ()),
        *wish_names(job),
        *(["alteration"] if any(name not in limits.per_opening for name in openings) else []),
        *(f"per_opening.{name}" for name in openings),
        *(["screen_min_in"] if limits.screen_min_in is not None else []),
        *(f"must.{feature}" for feature in limits.must or ()),
        *(f"keep_clear.{name}" for name in things),
    ]


def kept_of(question: JobQuestion) -> list[str]:
    """Originals that stay: at places and spots, and in the dash if a head unit is wanted elsewhere."""
    job = question.job
    wants_head = not job.choose or HEAD_UNIT in job.choose
    dash = [name for name in job.keep or () if name not in question.kept] if wants_head else []
    return [*question.kept, *(dash if question.dash_id is None else [])]


def every_price(possible: WhatIf, besides: tuple[str, ...] = ()) -> Iterator[Priced]:
    """Return each limit with the best package without it, except those with one of the prefixes `besides`."""
    return (without(possible, name) for name in limit_names(possible) if not name.startswith(besides))


def without(possible: WhatIf, name: str) -> Priced:
    """Return the best package without one limit; a kept original may stay, be replaced, or be left out."""
    stem, _, what = name.partition(".")
    job = possible.job
    if stem == CHARGING:
        return Priced(name, job, possible.best(job, MUSIC))
    if stem == "keep_clear":
        dash_id = question_of(possible.catalog, job).dash_id
        assert dash_id is not None
        bare = without_things(possible.catalog, job.vehicle_id, dash_id, {what})
        return Priced(name, job, WhatIf(bare, job).best())
    loose = lifted_one(job, name)
    jobs = [loose]
    if stem == "keep":
        jobs = [job, replace(loose, choose=(*loose.choose, what)) if loose.choose else loose, loose]
    found = [(best, one) for one in jobs if (best := possible.best(one)) is not None]
    return Priced(name, *min(found, key=lambda pair: pair[0].order)[::-1]) if found else Priced(name, jobs[0], None)


OUTSIDE = frozenset({"keep_clear", CHARGING})
"""Limits of the car, not of the job: no job can lift them."""


def is_outside(name: str) -> bool:
    """Return whether a limit is the car's, not the job's."""
    return name.partition(".")[0] in OUTSIDE
