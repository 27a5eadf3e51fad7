"""A job with some of its limits lifted, ranked as a question of its own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import reduce
from itertools import combinations

from catalog_schema.figures import Figure
from catalog_schema.jobs import DEFAULT_STEP, LADDER, Job
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.enumeration import SumLimits
from matcher.search.feeds.parts import USES
from matcher.search.field import RankingField
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.question import BESIDE, HEAD_UNIT, at_rest_ma, question_of
from matcher.search.ranking import best_of, least_of
from matcher.search.what_if.forced import OnePart

CHOOSE_HEAD = f"choose.{HEAD_UNIT}"
NO_LIMIT_MA = Figure(Decimal(10**6))
"""More standby drain than any limit."""


def stated(job: Job, catalog: Catalog) -> Job:
    """Return the job with all implicit limits stated: defaults of the program and the shop."""
    limits = job.limits
    return replace(
        job,
        limits=replace(
            limits,
            alteration=limits.alteration or DEFAULT_STEP,
            per_opening={name: step for name, step in limits.per_opening.items() if step is not None},
            at_rest_ma=Figure(at_rest_ma(job, catalog.vehicle(job.vehicle_id), catalog.settings)),
        ),
    )


def limits_of(catalog: Catalog, job: Job) -> list[str]:
    """Return the names of all limits of a stated job that could be lifted, in a fixed order."""
    question = question_of(catalog, job)
    limits = job.limits
    return [
        *([CHOOSE_HEAD] if question.dash_id is not None else []),
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
"""Limits that a job can drop as a whole, even if they have several names."""


def wish_names(job: Job) -> list[str]:
    """The names of a job's wishes about parts."""
    limits = job.limits
    return [
        *(f"without.{kind}" for kind in WITHOUT if getattr(limits.without, kind)),
        *(["deliver_within_days"] if limits.deliver_within_days is not None else []),
        *(f"pin.{slot}" for slot in job.pin),
    ]


def with_limits(job: Job, **limits: object) -> Job:
    """Return a job with some limits changed."""
    return replace(job, limits=replace(job.limits, **limits))  # type: ignore[arg-type]


def stepped(job: Job, places: Iterable[str], step: str) -> Job:
    """Return a job with a step of the ladder at some openings."""
    return with_limits(job, per_opening=job.limits.per_opening | dict.fromkeys(places, step))


def lifted_one(job: Job, name: str) -> Job:
    """Return the job without one of its limits; `security_routes` means all of its routes."""
    stem, _, what = name.partition(".")
    match stem:
        case "budget" | "screen_min_in" | "deliver_within_days":
            return with_limits(job, **{stem: None})
        case "at_rest_ma":
            return with_limits(job, at_rest_ma=NO_LIMIT_MA)
        case "alteration":
            return with_limits(job, alteration=LADDER[-1])
        case "per_opening":
            return stepped(job, [what], LADDER[-1])
        case "must":
            return with_limits(job, must=tuple(feature for feature in job.limits.must or () if feature != what))
        case "without":
            return with_limits(job, without=replace(job.limits.without, **{what: ()}))
        case "pin":
            return replace(job, pin={slot: part for slot, part in job.pin.items() if slot != what})
        case "keep":
            return replace(job, keep=tuple(one for one in job.keep or () if one != what))
        case "security_routes":
            return replace(
                job, security_routes=tuple(one for one in job.security_routes or () if what not in ("", one))
            )
    raise ValueError(name)


def lifted(catalog: Catalog, job: Job, names: Iterable[str]) -> Job:
    """Return the job without the named limits."""
    question = question_of(catalog, job)
    every = {} if question.dash_id is None else {HEAD_UNIT: question.dash_id}
    slots = (*(place.opening_id for place in question.chosen), *question.named_beside, *question.bass_names)
    every |= {name: name for name in slots}
    gone = frozenset(names)
    # A name that no vehicle has keeps an emptied choice from meaning "everything".
    chosen = tuple(opening for name, opening in every.items() if f"choose.{name}" not in gone) or ("",)
    others = sorted(name for name in gone if not name.startswith("choose."))
    return reduce(lifted_one, others, replace(job, choose=chosen))


MOST_FIELDS = 48
"""Number of cached fields: jobs that differ only in money or drain share one."""


@dataclass
class WhatIf:
    """Ranks a job repeatedly with changed limits; candidates are gathered once if only money or drain changes."""

    catalog: Catalog
    job: Job
    part: OnePart | None = None
    """A part that every package must contain."""
    _witnesses: dict[frozenset[str], Found | None] = field(default_factory=dict)
    _fields: list[tuple[Job, RankingField]] = field(default_factory=list)
    """Fields of recent jobs, most recent first."""

    def best(self, job: Job | None = None, free: frozenset[str] = frozenset()) -> Found | None:
        """Return the best package of the job or a changed one, without the limits named in `USES`."""
        job = job or self.job
        field, limits = self.field(job), self._limits(job, free)
        return best_of(field, limits) if self.part is None else self.part.best(field, limits)

    def least(self, job: Job, of: int) -> Found | None:
        """Return the package of a job that minimizes a sum: 0 for money, then in the order of `USES`."""
        return least_of(self.field(job), self._limits(job), of)

    def witness(self, held: frozenset[str], everything: frozenset[str]) -> Found | None:
        """Return the best package that keeps these limits if all others are lifted."""
        if held not in self._witnesses:
            every = (self.best(self._freed(names)) for names in self._ways(everything - held, held))
            self._witnesses[held] = next((found for found in every if found is not None), None)
        return self._witnesses[held]

    def _freed(self, names: frozenset[str]) -> Job:
        """The job without these limits; the part in question may go where the original need not stay."""
        job = lifted(self.catalog, self.job, names)
        if self.part is None:
            return job
        freed = (name.partition(".")[2] for name in names if name.startswith("keep."))
        return replace(job, choose=(*(job.choose or ()), *freed))

    def _ways(self, names: frozenset[str], held: frozenset[str]) -> Iterator[frozenset[str]]:
        """Every way to lift some limits: a place that need not be filled may still be, to help another to its load.

        So may the dash: another head unit may drive what the original does not. If the question is about a part, an
        original that need not stay may stay anyway: another part costs money.
        """
        yield names
        counts = self.part is not None or any(map(_needs_places, held))
        places = sorted(name for name in names if _is_place(name) or name == CHOOSE_HEAD) if counts else []
        if not places or self.field(lifted(self.catalog, self.job, names)).is_bare:
            return  # no other place helps where some slot has no candidate at all
        for size in range(1, len(places) + 1):
            yield from (names - frozenset(filled) for filled in combinations(places, size))

    def _limits(self, job: Job, free: frozenset[str] = frozenset()) -> SumLimits:
        limits = sum_limits(question_of(self.catalog, job), job.limits.budget)
        uses = tuple(None if name in free else most for name, most in zip(USES, limits.uses, strict=True))
        return replace(limits, uses=uses)

    def field(self, job: Job) -> RankingField:
        """The field of a changed job, cached if only money and standby drain differ."""
        plain = replace(job, limits=replace(job.limits, budget=None, at_rest_ma=None), tiers=())
        at = next((at for at, (one, _) in enumerate(self._fields) if one == plain), None)
        if at is None:
            made = plain, gather_field(self.catalog, question_of(self.catalog, job), CandidatePass(1))
        else:
            made = self._fields.pop(at)
        self._fields = [made, *self._fields[: MOST_FIELDS - 1]]
        return made[1]


def _is_place(name: str) -> bool:
    """Return whether a limit requires a loudspeaker place to be filled."""
    stem, _, what = name.partition(".")
    return stem in ("choose", "keep") and what not in (HEAD_UNIT, *BESIDE)


def _needs_places(name: str) -> bool:
    """Whether a limit requires loudspeakers or bass: a place, or a pin that uses an amplifier."""
    stem, _, what = name.partition(".")
    return _is_place(name) or (stem == "pin" and what not in (HEAD_UNIT, *BESIDE))


Limits = frozenset[str]


def smallest_conflicts(names: list[str], possible: WhatIf) -> list[Limits]:
    """Return every minimal set of conflicting limits, by size, then by name.

    A set conflicts if there is no package with all other limits lifted. A maximal set without a known conflict either
    has a package, or halving it reveals another conflict. Once all maximal sets have a package, all conflicts are
    known.

    Sources, from memory: M. H. Liffiton, A. Previti, A. Malik, J. Marques-Silva, "Fast, flexible MUS enumeration",
    Constraints 21, 2016; U. Junker, "QuickXplain", AAAI 2004, for the halving.
    """
    everything, conflicts, whole = frozenset(names), list[Limits](), list[Limits]()

    def has_package(held: Limits) -> bool:
        if not any(held <= one for one in whole):
            if any(conflict <= held for conflict in conflicts) or possible.witness(held, everything) is None:
                return False
            whole.append(held)
        return True

    if not has_package(frozenset()):
        return [frozenset()]

    def smallest(kept: Limits, added: Limits, some: Sequence[str]) -> Limits:
        """A minimal part of some limits that conflicts together with those kept, of which some were just added."""
        if added and not has_package(kept):
            return frozenset()
        if len(some) == 1:
            return frozenset(some)
        first, second = frozenset(some[: len(some) // 2]), some[len(some) // 2 :]
        later = smallest(kept | first, first, second)
        return later | smallest(kept | later, later, some[: len(some) // 2])

    def untried() -> Limits | None:
        largest = (everything - gone for gone in hitting_sets(conflicts))
        return next((held for held in largest if not has_package(held)), None)

    while (held := untried()) is not None:
        conflicts.append(smallest(frozenset(), frozenset(), sorted(held, key=names.index)))
    return sorted(conflicts, key=lambda conflict: (len(conflict), sorted(map(names.index, conflict))))


def hitting_sets(conflicts: Iterable[Limits]) -> list[Limits]:
    """Return every minimal set of limits with a member in each conflict."""
    found: list[Limits] = [frozenset()]
    for conflict in conflicts:
        met = [one for one in found if one & conflict]
        more = [one | {name} for one in found if not one & conflict for name in sorted(conflict)]
        found = met + [one for one in more if not any(other <= one for other in met)]
    return found
