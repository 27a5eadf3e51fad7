"""Why there is nothing: the smallest sets of limits that cannot hold together."""

from __future__ import annotations

from catalog_schema.answers import Clash
from catalog_schema.jobs import Job
from matcher.answers.messages import clash_says, requirement_says
from matcher.search.catalog.catalog import Catalog
from matcher.search.what_if.relaxed import WhatIf, limits_of, smallest_clashes, stated


def clashes(catalog: Catalog, job: Job) -> list[Clash]:
    """Every smallest clash, each checked by ranking again with all other limits lifted."""
    job = stated(job, catalog.settings)
    names = limits_of(catalog, job)
    possible = WhatIf(catalog, job)
    return [
        Clash(
            limits=[requirement_says(job, name) for name in names if name in clash],
            says=clash_says(job, sorted(clash, key=names.index)),
        )
        for clash in smallest_clashes(names, possible)
    ]
