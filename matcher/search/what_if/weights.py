"""A job with its wishes weighed otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace

from catalog_schema.jobs import Job, Wishes
from matcher.errors import InputError, NotKnown

LEAST, MOST = 0, 5
"""The weights that a wish may have."""
WISHES = tuple(one.name for one in fields(Wishes))
"""The wishes of a job, by name."""


def weighed(job: Job, wishes: Mapping[str, int]) -> Job:
    """A job with some wishes weighed otherwise.

    Raises
    ------
    InputError
        if there is no such wish, or a weight is none.
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
