"""Reasons for an empty answer: the smallest conflicting sets of limits."""

from __future__ import annotations

from catalog_schema.answers import Conflict
from catalog_schema.jobs import Job
from matcher.answers.messages import conflict_says, requirement_says
from matcher.search.catalog.catalog import Catalog
from matcher.search.what_if.relaxed import WhatIf, limits_of, smallest_conflicts, stated


def conflicts(catalog: Catalog, job: Job) -> list[Conflict]:
    """Return every smallest conflict, each verified by ranking again with all other limits lifted."""
    job = stated(job, catalog)
    names = limits_of(catalog, job)
    possible = WhatIf(catalog, job)
    return [
        Conflict(
            limits=[requirement_says(job, name) for name in names if name in conflict],
            says=conflict_says(job, sorted(conflict, key=names.index)),
        )
        for conflict in smallest_conflicts(names, possible)
    ]
