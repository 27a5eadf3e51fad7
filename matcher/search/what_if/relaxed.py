"""A job with some of its limits lifted: the same question, asked for real."""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import combinations
from typing import Any

from catalog_schema.figures import Figure
from catalog_schema.jobs import DEFAULT_STEP, LADDER, Job, step_rank
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.enumeration import SumLimits
from matcher.search.feeds.parts import USES
from matcher.search.field import Field
from matcher.search.fits.looks import Look
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.question import BASS, BESIDE, HEAD_UNIT, JobQuestion, question_of
from matcher.search.ranking import best_of
from matcher.search.what_if.forced import OnePart
from matcher.search.what_if.still import altered, candidates_of, is_bounded, is_tighter, is_within
from matcher.settings import Settings

NO_LIMIT_MA = Figure(Decimal(10**6))
"""A drain at rest that no limit is."""


def stated(job: Job, settings: Settings) -> Job:
    """The job with every limit that holds though it does not say so: what it leaves to the house and the shop."""
    limits = job.limits
    return replace(
        job,
        limits=replace(
            limits,
            alteration=limits.alteration or DEFAULT_STEP,
            per_opening={name: step for name, step in limits.per_opening.items() if step is not None},
            at_rest_ma=limits.at_rest_ma or Figure(settings["at_rest_ma"]),
        ),
    )


def limits_of(catalog: Catalog, job: Job) -> list[str]:
    """The names of everything in a stated job that could be lifted, in a fixed order."""
    question = question_of(catalog, job)
    limits = job.limits
    return [
        *([f"choose.{HEAD_UNIT}"] if question.dash_id is not None else []),
        *(f"choose.{place.opening_id}" for place in question.chosen),
        *(f"choose.{name}" for name in (*question.bass_names, *question.named_beside)),
        *(["security_routes"] if question.routes else []),
        *(["alteration"] if limits.alteration != LADDER[-1] else []),
        *(f"per_opening.{name}" for name, step in limits.per_opening.items() if step != LADDER[-1]),
        *(["budget"] if limits.budget is not None else []),
        *(["screen_min_in"] if limits.screen_min_in is not None else []),
        *(f"must.{feature}" for feature in limits.must or ()),
        *(["at_rest_ma"] if limits.at_rest_ma is not None else []),
        *(f"keep.{name}" for name in question.kept),
        *wish_names(job),
    ]


WITHOUT = ("parts", "makers", "suppliers")
"""What a job may be without: each is one limit, however many names it has."""


def wish_names(job: Job) -> list[str]:
    """The names of a job's wishes about parts."""
    limits = job.limits
    return [
        *(f"without.{kind}" for kind in WITHOUT if getattr(limits.without, kind)),
        *(["deliver_within_days"] if limits.deliver_within_days is not None else []),
        *(f"pin.{slot}" for slot in job.pin),
    ]


def unwished(job: Job, names: Container[str]) -> Job:
    """The job without those of its wishes about parts that are named."""
    limits, without = job.limits, job.limits.without
    gone: dict[str, Any] = {kind: () for kind in WITHOUT if f"without.{kind}" in names}
    days = None if "deliver_within_days" in names else limits.deliver_within_days
    return replace(
        job,
        pin={slot: part for slot, part in job.pin.items() if f"pin.{slot}" not in names},
        limits=replace(limits, without=replace(without, **gone), deliver_within_days=days),
    )


def lifted(catalog: Catalog, job: Job, names: frozenset[str]) -> Job:
    """The job without the limits that are named."""
    question = question_of(catalog, job)
    every = {place.opening_id: place.opening_id for place in question.chosen}
    if question.dash_id is not None:
        every = {HEAD_UNIT: question.dash_id, **every}
    every |= {name: name for name in question.named_beside}
    every |= {name: name for name in question.bass_names}
    job = unwished(job, names)
    limits = job.limits
    return replace(
        job,
        # A name that no vehicle has keeps an emptied choice from meaning "everything".
        choose=tuple(opening for name, opening in every.items() if f"choose.{name}" not in names) or ("",),
        keep=tuple(name for name in job.keep or () if f"keep.{name}" not in names),
        security_routes=() if "security_routes" in names else job.security_routes,
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
            at_rest_ma=NO_LIMIT_MA if "at_rest_ma" in names else limits.at_rest_ma,
        ),
    )


MOST_FIELDS = 48
"""So many fields are kept: jobs that differ in money or drain alone come back to the same one."""
Change = tuple[Job, frozenset[str]]
"""A job as it is changed, and what of `USES` is not limited."""


@dataclass
class WhatIf:
    """Asks a job again and again with limits lifted; what an answer shows of others is remembered."""

    catalog: Catalog
    job: Job
    part: OnePart | None = None
    """A part that every package has to hold."""
    _answers: dict[frozenset[str], Found | None] = field(default_factory=dict)
    _held: list[frozenset[str]] = field(default_factory=list)
    """The limits that some package found so far holds: any fewer can hold together."""
    _fields: list[tuple[Job, Field]] = field(default_factory=list)
    """Of the jobs asked last, the latest first."""
    _glimpsed: dict[object, list[tuple[Job, Found | None]]] = field(default_factory=dict)
    """By what is to be filled: jobs with some package of theirs, or none."""

    def package(self, names: frozenset[str]) -> Found | None:
        """Some package with these limits lifted, if there is one."""
        if names not in self._answers:
            self._answers[names] = self._look(names)
        return self._answers[names]

    def clash(self, held: frozenset[str], everything: frozenset[str]) -> bool:
        """Whether some limits cannot hold together, were all others lifted."""
        if any(held <= together for together in self._held):
            return False
        if self.part is not None:
            return self.witness(held, everything) is None
        ways = (lifted(self.catalog, self.job, names) for names in self._ways(everything - held, held))
        found = next((one for job in ways if (one := self.glimpse(job)) is not None), None)
        if found is not None:
            self._note(held, everything, found)
        return found is None

    def witness(self, held: frozenset[str], everything: frozenset[str]) -> Found | None:
        """Some package that holds these limits, were all others lifted."""
        for names in self._ways(everything - held, held):
            found = self.package(names)
            if found is not None:
                self._note(held, everything, found)
                return found
        return None

    def _note(self, held: frozenset[str], everything: frozenset[str], found: Found) -> None:
        self._held.append(held | {name for name in everything - held if self._holds(name, found)})

    def _ways(self, names: frozenset[str], held: frozenset[str]) -> Iterator[frozenset[str]]:
        """Every way to lift some limits: a place that need not be filled may be, and help another to its load."""
        yield names
        places = sorted(name for name in names if _is_place(name)) if any(map(_needs_places, held)) else []
        if not places or self._is_bare(names):
            return
        for size in range(1, len(places) + 1):
            yield from (names - frozenset(filled) for filled in combinations(places, size))

    def _is_bare(self, names: frozenset[str]) -> bool:
        """Whether some slot has no candidate at all: then no other place helps."""
        field = self.field(lifted(self.catalog, self.job, names))
        return not (field.heads and all(field.speakers.values()) and all(slot.alternatives for slot in field.beside))

    def best(self, job: Job, free: frozenset[str] = frozenset()) -> Found | None:
        """The best package of a job as it is changed, with no limit on what is named of `USES`."""
        field, limits = self.field(job), self._limits(job, free)
        return best_of(field, limits) if self.part is None else self.part.best(field, limits)

    def best_now(self) -> Found | None:
        """The best package of the job as it is."""
        return self.best(self.job)

    def some(self, job: Job) -> Found | None:
        """Some package of a job as it is changed."""
        return self.best(job)

    def glimpse(self, job: Job) -> Found | None:
        """As `some`, but whichever is known already: one of another job, or none because a looser one has none."""
        if self.part is not None:
            return self.some(job)
        key = (job.choose, job.keep, job.security_routes, tuple(job.pin.items()), job.limits.without)
        known, limits = self._glimpsed.setdefault(key, []), self._limits(job)
        for other, found in known:
            if found is None and is_tighter(job, other):
                return None
            if found is not None and is_within(found, other, job) and is_bounded(found, limits):
                return found
        found = self.some(job)
        known.append((job, found))
        return found

    def _limits(self, job: Job, free: frozenset[str] = frozenset()) -> SumLimits:
        limits = sum_limits(self._question(job), job.limits.budget)
        uses = tuple(None if name in free else most for name, most in zip(USES, limits.uses, strict=True))
        return replace(limits, uses=uses)

    def _question(self, job: Job) -> JobQuestion:
        return question_of(self.catalog, job)

    def field(self, job: Job) -> Field:
        """The field of a job as it is changed, made once as long as only its money and its standby drain change."""
        plain = replace(job, limits=replace(job.limits, budget=None, at_rest_ma=None), tiers=())
        at = next((at for at, (one, _) in enumerate(self._fields) if one == plain), None)
        made = (plain, gather_field(self.catalog, self._question(job), Look(1))) if at is None else self._fields.pop(at)
        self._fields = [made, *self._fields[: MOST_FIELDS - 1]]
        return made[1]

    def _look(self, names: frozenset[str]) -> Found | None:
        job = lifted(self.catalog, self.job, names)
        if self.part is not None:  # it may go where the original need not stay
            freed = (name.partition(".")[2] for name in names if name.startswith("keep."))
            job = replace(job, choose=(*(job.choose or ()), *freed))
        return self.some(job)

    def _holds(self, name: str, found: Found) -> bool:
        """Whether a package keeps within a limit that was lifted when it was found."""
        some = candidates_of(found)
        inside = {one.opening_id: one for one in some if one.opening_id is not None}
        head = next(one for one in some if one.slot == HEAD_UNIT)
        stem, _, what = name.partition(".")
        limits = self.job.limits
        match stem:
            case "budget":
                return limits.budget is not None and found.cents <= limits.budget * 100
            case "at_rest_ma":
                return limits.at_rest_ma is not None and found.uses[0] <= limits.at_rest_ma.value * 1000
            case "must":
                known = head.part_id is not None and head.features is not None
                return not known or any(what in (one.features or ()) for one in (head, *head.along))
            case "choose":
                if what == BASS:
                    return any(one.slot == "enclosure" for one in inside.values())
                if what in (HEAD_UNIT, *BESIDE):
                    return any(one.slot == what and one.part_id is not None for one in some)
                return what in inside
            case "alteration":
                most = step_rank(limits.alteration or LADDER[-1])
                return all(step <= most for place, step in altered(found) if place not in limits.per_opening)
            case "per_opening":
                most = step_rank(limits.per_opening[what] or LADDER[-1])
                return all(step <= most for place, step in altered(found) if place == what)
            case _:
                return False  # left to be asked: a package without a screen, or an original that went


def _is_place(name: str) -> bool:
    """Whether a limit says of a loudspeaker place that it is filled."""
    stem, _, what = name.partition(".")
    return stem in ("choose", "keep") and what not in (HEAD_UNIT, *BESIDE)


def _needs_places(name: str) -> bool:
    """Whether a limit can be kept only where loudspeakers or bass are: a place, or a pin that takes an amplifier."""
    stem, _, what = name.partition(".")
    return _is_place(name) or (stem == "pin" and what not in (HEAD_UNIT, *BESIDE))


def smallest_clashes(names: list[str], possible: WhatIf) -> Iterator[frozenset[str]]:
    """Every smallest set of limits that cannot hold together.

    A set clashes where there is no package with all other limits lifted. Sets are tried by size,
    and none that holds a smaller clash: so each one found is smallest, and together they are all.
    """
    found: list[frozenset[str]] = []
    everything = frozenset(names)
    for size in range(len(names) + 1):
        for held in map(frozenset, combinations(names, size)):
            if not any(clash <= held for clash in found) and possible.clash(held, everything):
                found.append(held)
                yield held
