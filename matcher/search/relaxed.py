"""A job with some of its limits lifted: the same question, asked for real."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from catalog_schema.jobs import LADDER, Job
from matcher.search.options import bounds_of, gather_field
from matcher.search.question import HEAD_UNIT, read_question
from matcher.search.ranking import Found, best
from matcher.settings import Settings
from matcher.store.connection import Connection

NO_DRAIN_LIMIT = 10**9


def limits_of(con: Connection, job: Job, settings: Settings) -> list[str]:
    """The names of everything in a job that could be lifted, in a fixed order."""
    question = read_question(con, job, settings)
    limits = job.limits
    return [
        *([f"choose.{HEAD_UNIT}"] if question.dash_id is not None else []),
        *(f"choose.{place.opening_id}" for place in question.chosen),
        *(["alteration"] if limits.alteration != LADDER[-1] else []),
        *(f"per_opening.{name}" for name, step in limits.per_opening.items() if step != LADDER[-1]),
        *(["budget"] if limits.budget is not None else []),
        *(["screen_min_in"] if limits.screen_min_in is not None else []),
        *(f"must.{feature}" for feature in limits.must or ()),
        *(["at_rest_ma"] if limits.at_rest_ma is not None else []),
        *(f"keep.{place.opening_id}" for place in question.speakers if place.kept),
    ]


def lifted(con: Connection, job: Job, names: frozenset[str], settings: Settings) -> Job:
    """The job without the limits that are named."""
    question = read_question(con, job, settings)
    every = [*([HEAD_UNIT] if question.dash_id is not None else []), *(place.opening_id for place in question.chosen)]
    limits = job.limits
    return replace(
        job,
        # A name that no vehicle has keeps an emptied choice from meaning "everything".
        choose=tuple(name for name in every if f"choose.{name}" not in names) or ("",),
        keep=tuple(name for name in job.keep or () if f"keep.{name}" not in names),
        limits=replace(
            limits,
            alteration=LADDER[-1] if "alteration" in names else limits.alteration,
            per_opening={
                name: LADDER[-1] if f"per_opening.{name}" in names else step
                for name, step in limits.per_opening.items()
            },
            budget=None if "budget" in names else limits.budget,
            screen_min_in=None if "screen_min_in" in names else limits.screen_min_in,
            must=tuple(feature for feature in limits.must or () if f"must.{feature}" not in names),
        ),
    )


@dataclass
class WhatIf:
    """Asks a job again and again with limits lifted; each question is ranked once."""

    con: Connection
    job: Job
    settings: Settings
    _answers: dict[frozenset[str], Found | None] = field(default_factory=dict)

    def best(self, names: frozenset[str]) -> Found | None:
        """The best package with these limits lifted, if there is one."""
        if names not in self._answers:
            self._answers[names] = self._rank(names)
        return self._answers[names]

    def _rank(self, names: frozenset[str]) -> Found | None:
        job = lifted(self.con, self.job, names, self.settings)
        question = read_question(self.con, job, self.settings)
        candidates = gather_field(self.con, question, 1, self.settings)
        bounds = bounds_of(question, job.limits.budget)
        if "at_rest_ma" in names:
            bounds = replace(bounds, drain=None)
        found = best(candidates.cores(), bounds, 1)
        return found[0] if found else None


def smallest_clashes(names: list[str], possible: WhatIf) -> Iterator[frozenset[str]]:
    """Every smallest set of limits that cannot hold together.

    A set clashes where there is no package with all other limits lifted. Sets are tried by size,
    and none that holds a smaller clash: so each one found is smallest, and together they are all.
    """
    found: list[frozenset[str]] = []
    everything = frozenset(names)
    for size in range(len(names) + 1):
        for held in _sets(names, size):
            if any(clash <= held for clash in found):
                continue
            if possible.best(everything - held) is None:
                found.append(held)
                yield held


def _sets(names: list[str], size: int) -> Iterator[frozenset[str]]:
    from itertools import combinations

    return (frozenset(some) for some in combinations(names, size))
