"""The smallest relaxations of a job without a package: which limits to relax, and by how much at least.

Lifting a set of limits with a member in every conflict gives a package. Each of these limits is then tightened in turn
as far as a package remains, so that none is relaxed more than needed given the others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product

from catalog_schema.figures import Figure
from catalog_schema.jobs import LADDER, Job, step_rank
from catalog_schema.parts import FAMILIES
from matcher.kernel.exact import from_micro
from matcher.search.candidates.controls import closed_spots
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.wishes import ANY
from matcher.search.packages import Found
from matcher.search.question import allowed_step, question_of
from matcher.search.what_if.relaxed import Limits, WhatIf, hitting_sets, lifted, stepped, with_limits

MOST = 4
"""Largest number of limits relaxed together."""
SHOWN = 6
"""Number of sets of limits tried and shown."""

MONEY, DRAIN = 0, 1
"""Indices of money and standby drain among the sums of a package."""
Value = Decimal | str | None


@dataclass(frozen=True, slots=True)
class RelaxedLimit:
    """A relaxed limit."""

    limit: str
    """Name as in `limits_of`; an alteration by its opening."""
    value: Value
    """New value of the limit; None if it is dropped."""


@dataclass(frozen=True, slots=True)
class Loosened:
    """A job with some limits changed, and its best package."""

    changes: tuple[RelaxedLimit, ...]
    job: Job
    found: Found


Way = tuple[tuple[RelaxedLimit, ...], Job]


def relaxations(possible: WhatIf, names: Sequence[str], conflicts: Sequence[Limits]) -> Iterator[Loosened]:
    """Return every smallest relaxation, first those that still fulfill every wish."""
    sets = helping_sets(names, conflicts)
    whole = [some for some in sets if not any(map(_gives_up, some))]
    least = min(map(len, whole or sets), default=0)
    shown = sorted((some for some in sets if len(some) <= least), key=lambda some: sum(map(_gives_up, some)))
    for some in shown[:SHOWN]:
        yield from drawn_back(possible, sorted(some, key=_order))


def helping_sets(names: Sequence[str], conflicts: Sequence[Limits]) -> list[Limits]:
    """Every smallest set of limits with a member in each conflict, by size, then by name."""
    found = [some for some in hitting_sets(conflicts) if 0 < len(some) <= MOST]
    return sorted(found, key=lambda some: (len(some), sorted(map(names.index, some))))


def drawn_back(possible: WhatIf, names: Sequence[str]) -> Iterator[Loosened]:
    """Every way to relax these limits no more than needed."""
    start = next(((freed, job) for freed, job in _starts(possible, names) if possible.best(job)), None)
    if start is None:
        return
    freed, loose = start
    ways: list[Way] = [((), loose)]
    for name in names:
        ways = [
            ((*changes, *more), job) for changes, loose in ways for more, job in _drawn(possible, loose, name, freed)
        ]
    for changes, job in ways:
        found = possible.best(job)
        if found is not None:
            yield Loosened(changes, job, found)


def _drawn(possible: WhatIf, loose: Job, name: str, freed: Mapping[str, str]) -> Iterator[Way]:
    """Each way to tighten a lifted limit again; a dropped one stays dropped."""
    stem, _, what = name.partition(".")
    how = DRAWN_BACK.get(stem)
    yield from [((RelaxedLimit(name, freed.get(name)),), loose)] if how is None else how(possible, loose, what)


def _starts(possible: WhatIf, names: Sequence[str]) -> Iterator[tuple[dict[str, str], Job]]:
    """The job with all of these lifted; a place whose original need not stay gets a part, or stays empty."""
    loose = lifted(possible.catalog, possible.job, names)
    question = question_of(possible.catalog, possible.job)
    places = [one.opening_id for one in question.speakers if one.kept and f"keep.{one.opening_id}" in names]
    for filled in product((True, False), repeat=len(places)):
        given = [place for place, is_filled in zip(places, filled, strict=True) if is_filled]
        freed = {f"keep.{place}": "replaced" if place in given else "left out" for place in places}
        yield freed, replace(loose, choose=(*(loose.choose or ()), *given))


def _gives_up(name: str) -> bool:
    """Whether a wish would not be fulfilled at all."""
    return name.partition(".")[0] in ("choose", "security_routes")


ORDER = (
    "choose",
    "keep",
    "must",
    "security_routes",
    "per_opening",
    "alteration",
    "pin",
    "without",
    "deliver_within_days",
    "screen_min_in",
    "at_rest_ma",
    "budget",
)
"""The order in which limits are tightened: money last, so that it is the price of all the others."""


def _order(name: str) -> tuple[int, str]:
    return ORDER.index(name.partition(".")[0]), name


def _enough(
    possible: WhatIf, all_gone: Way, names: Sequence[str], without: Callable[[str, tuple[str, ...]], Way]
) -> Iterator[Way]:
    """Each single name of a list that suffices to drop; otherwise all of them."""
    ways = (without(name, tuple(other for other in names if other != name)) for name in names if len(names) > 1)
    yield from [way for way in ways if possible.best(way[1])] or [all_gone]


def _routes(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """One theft route to leave uncovered if that suffices; otherwise all of them."""

    def without(route: str, others: tuple[str, ...]) -> Way:
        return (RelaxedLimit(f"security_routes.{route}", None),), replace(loose, security_routes=others)

    all_gone = (RelaxedLimit("security_routes", None),), loose
    return _enough(possible, all_gone, possible.job.security_routes or (), without)


def _allowed(possible: WhatIf, loose: Job, kind: str) -> Iterator[Way]:
    """Each single part, maker or supplier that suffices to allow; otherwise all of them."""

    def without(name: str, others: tuple[str, ...]) -> Way:
        limit = RelaxedLimit(f"without.{kind}", name)
        return (limit,), with_limits(loose, without=replace(loose.limits.without, **{kind: others}))

    all_gone = (RelaxedLimit(f"without.{kind}", None),), loose
    return _enough(possible, all_gone, getattr(possible.job.limits.without, kind), without)


def _anywhere(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The least step at one opening, for each opening where that suffices; or else the least in the whole car, then
    the least at each opening.
    """
    tight = with_limits(loose, alteration=possible.job.limits.alteration)
    places = [place for place in openings_of(possible, loose) if place not in possible.job.limits.per_opening]
    ways = [way for place in places for way in _stepped(possible, tight, place)]
    yield from ways or [_everywhere(possible, tight, places)]


def _everywhere(possible: WhatIf, tight: Job, places: list[str]) -> Way:
    now = step_rank(possible.job.limits.alteration or LADDER[0])
    jobs = (stepped(tight, places, step) for step in LADDER[now + 1 :])
    job, found = next((job, found) for job in jobs if (found := possible.best(job)) is not None)
    changes = []
    for place in places:
        step, job, found = _lowered(possible, job, found, place, now)
        if step > now:
            changes.append(RelaxedLimit(f"per_opening.{place}", LADDER[step]))
    return tuple(changes), job


def _stepped(possible: WhatIf, loose: Job, place: str) -> Iterator[Way]:
    """The least step at one opening with a package, if there is any."""
    floor = allowed_step(possible.job, place) + 1
    job = stepped(loose, [place], LADDER[-1])
    found = possible.best(job) if floor < len(LADDER) else None
    if found is not None:
        step, job, _ = _lowered(possible, job, found, place, floor)
        yield (RelaxedLimit(f"per_opening.{place}", LADDER[step]),), job


def _lowered(possible: WhatIf, job: Job, found: Found, place: str, floor: int) -> tuple[int, Job, Found]:
    """The least step at an opening, not below a given one, with a package."""
    while True:
        step = max(floor, *(step for where, step in _altered(found) if where == place), 0)
        job = stepped(job, [place], LADDER[step])
        less = possible.best(stepped(job, [place], LADDER[step - 1])) if step > floor else None
        if less is None:
            return step, job, found
        found = less


def _altered(found: Found) -> list[tuple[str | None, int]]:
    """Every opening that a package alters, with the step, including those of accompanying parts."""
    some = [each for one in found.fitted for each in (one.candidate, *one.candidate.along)]
    return [(one.opening_id, one.step) for one in some]


def openings_of(possible: WhatIf, job: Job) -> list[str]:
    """Openings of a job where something is altered or fastened."""
    question = question_of(possible.catalog, job)
    return [
        *([question.dash_id] if question.dash_id is not None else []),
        *(place.opening_id for place in question.chosen),
        *(place.opening_id for place in question.bass),
        *question.amp_spots,
        *closed_spots(possible.catalog, question),
    ]


def _screen(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The largest screen size with a package; or none required."""
    wanted = possible.job.limits.screen_min_in
    assert wanted is not None
    sizes = [size for size in _stated(possible.catalog, "screen_in", ["head_unit"]) if size < wanted.value]
    yield _tightest(possible, loose, "screen_min_in", sizes, Figure)


def _later(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The fewest delivery days with a package; no limit if a part's delivery is later than any."""
    wanted = possible.job.limits.deliver_within_days
    assert wanted is not None
    stated = _stated(possible.catalog.wished(ANY), "lead_days", FAMILIES)
    days = sorted((day for one in stated if (day := int(one)) > wanted), reverse=True)
    yield _tightest(possible, loose, "deliver_within_days", list(map(Decimal, days)), int)


def _stated(catalog: Catalog, field: str, families: Iterable[str]) -> list[Decimal]:
    """Every value that parts of some families state, ascending."""
    columns = [catalog.parts(family).cells[field] for family in families]
    return list(map(from_micro, sorted({cell for one in columns for cell in one.values[one.known].tolist()})))


def _tightest(
    possible: WhatIf, loose: Job, limit: str, values: Sequence[Decimal], as_limit: Callable[[Decimal], object]
) -> Way:
    """The last of some values, loosest first, with a package; no limit if none has one.

    If a value has no package, tighter ones have none either.
    """
    jobs = [loose, *(with_limits(loose, **{limit: as_limit(value)}) for value in values)]
    low, high = 0, len(values)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (low, middle - 1) if possible.best(jobs[middle]) is None else (middle, high)
    return (RelaxedLimit(limit, values[low - 1] if low else None),), jobs[low]


def _budget(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The least money with a package."""
    found = possible.least(loose, MONEY)
    assert found is not None
    budget = Decimal(found.cents) / 100
    yield (RelaxedLimit("budget", budget),), with_limits(loose, budget=budget)


def _at_rest(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The least standby drain with a package."""
    found = possible.least(loose, DRAIN)
    assert found is not None
    drain_ma = Decimal(found.uses[0]) / 1000
    yield (RelaxedLimit("at_rest_ma", drain_ma),), with_limits(loose, at_rest_ma=Figure(drain_ma))


DRAWN_BACK: dict[str, Callable[[WhatIf, Job, str], Iterator[Way]]] = {
    "security_routes": _routes,
    "without": _allowed,
    "deliver_within_days": _later,
    "per_opening": _stepped,
    "alteration": _anywhere,
    "screen_min_in": _screen,
    "at_rest_ma": _at_rest,
    "budget": _budget,
}
"""Limits that can be relaxed in part: a job with one lifted, and its subject, to every way to tighten it.
All others are dropped.
"""
