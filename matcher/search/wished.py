"""The catalog restricted to the parts that a job may use: its wishes, and pinned parts."""

from __future__ import annotations

from catalog_schema.jobs import Job
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.wishes import wishes_of
from matcher.search.question import JobQuestion


def wished(catalog: Catalog, job: Job, *, known_delivery: bool = False) -> Catalog:
    """Return the catalog restricted to parts that a job allows and those its customer owns."""
    return catalog.wished(wishes_of(job, known_delivery=known_delivery))


def pinned(catalog: Catalog, question: JobQuestion, family: str, *slots: str | None) -> Catalog:
    """Return the catalog restricted to the pinned part of the first of some slots that has one."""
    part_id = question.pinned(*slots)
    if family == "speaker":
        catalog = catalog.wished(catalog.wishes.at(str(slots[0])))
    if part_id is None:
        return catalog
    return catalog.wished(catalog.wishes.pinned(family, part_id))
