"""The smallest relaxations of a job that has no package: which limits give, and by how much at least.

A set of limits that has a member in every clash gives a package when all of it is lifted. Then each of
them is drawn back, one after the other, as far as there is a package still: so none of them gives more
than it has to beside the others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations, product

from catalog_schema.figures import Figure
from catalog_schema.jobs import LADDER, Job, step_rank
from catalog_schema.parts import FAMILIES
from matcher.kernel.exact import from_micro
from matcher.search.candidates.controls import closed_spots
from matcher.search.catalog.wishes import ANY
from matcher.search.packages import Found
from matcher.search.question import allowed_step, question_of
from matcher.search.what_if.relaxed import WhatIf, lifted

MOST = 4
"""How many limits may give together."""
SHOWN = 6
"""How many sets of limits are drawn back and shown."""

Value = Decimal | str | None


@dataclass(frozen=True, slots=True)
class Change:
    """A limit that gives."""

    limit: str
    """Its name, as `limits_of` names it, an alteration by its opening."""
    value: Value
    """What it becomes; none where it goes altogether."""


@dataclass(frozen=True, slots=True)
class Loosened:
    """A job with some limits changed, and its best package."""

    changes: tuple[Change, ...]
    job: Job
    found: Found


Way = tuple[tuple[Change, ...], Job]


def relaxations(possible: WhatIf, names: Sequence[str], clashes: Sequence[frozenset[str]]) -> Iterator[Loosened]:
    """Every smallest relaxation, those first in which every wish is still filled."""
    sets = helping_sets(names, clashes)
    whole = [some for some in sets if not any(map(_gives_up, some))]
    least = min(map(len, whole or sets), default=0)
    shown = sorted((some for some in sets if len(some) <= least), key=lambda some: sum(map(_gives_up, some)))
    for some in shown[:SHOWN]:
        yield from drawn_back(possible, sorted(some, key=_order))


def helping_sets(names: Sequence[str], clashes: Sequence[frozenset[str]]) -> list[frozenset[str]]:
    """Every smallest set of limits with a member in each clash."""
    found: list[frozenset[str]] = []
    useful = [name for name in names if any(name in clash for clash in clashes)]
    for size in range(1, MOST + 1):
        for some in map(frozenset, combinations(useful, size)):
            if all(some & clash for clash in clashes) and not any(smaller <= some for smaller in found):
                found.append(some)
    return found


def drawn_back(possible: WhatIf, names: Sequence[str]) -> Iterator[Loosened]:
    """Every way in which these limits give no more than they have to."""
    start = next(((freed, job) for freed, job in _starts(possible, names) if possible.glimpse(job)), None)
    if start is None:
        return
    ways: list[tuple[tuple[Change, ...], Job]] = [((), start[1])]
    for name in names:
        stem, _, what = name.partition(".")
        drawn = start[0].get(name) or DRAWN_BACK.get(stem, _gone)
        ways = [
            ((*changes, *more), job) for changes, loose in ways for more, job in drawn(possible, loose, what or stem)
        ]
    for changes, job in ways:
        found = possible.best(job)
        if found is not None:
            yield Loosened(changes, job, found)


def _starts(possible: WhatIf, names: Sequence[str]) -> Iterator[tuple[dict[str, DrawnBack], Job]]:
    """The job with all of these lifted; a place whose original need not stay gets a part, or stands empty."""
    loose = lifted(possible.catalog, possible.job, frozenset(names))
    question = question_of(possible.catalog, possible.job)
    places = [one.opening_id for one in question.speakers if one.kept and f"keep.{one.opening_id}" in names]
    for filled in product((True, False), repeat=len(places)):
        given = tuple(place for place, is_filled in zip(places, filled, strict=True) if is_filled)
        freed: dict[str, DrawnBack] = {f"keep.{place}": _replaced if place in given else _left_out for place in places}
        yield freed, replace(loose, choose=(*(loose.choose or ()), *given))


def _gives_up(name: str) -> bool:
    """Whether a wish for something would not be filled at all."""
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
"""The order in which limits are drawn back: money last, so that it is what all the others cost."""


def _order(name: str) -> tuple[int, str]:
    return ORDER.index(name.partition(".")[0]), name


DrawnBack = Callable[[WhatIf, Job, str], Iterator[Way]]
"""A job in which a limit is lifted, and what it is about: each way to draw it back."""


def _gone(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    yield (Change(f"choose.{what}", None),), loose


def _without(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    yield (Change(f"must.{what}", None),), loose


def _free(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    yield (Change(f"keep.{what}", None),), loose


def _replaced(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    yield (Change(f"keep.{what}", "replaced"),), loose


def _left_out(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    yield (Change(f"keep.{what}", "left out"),), loose


def _routes(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """One route of theft that is not covered, where that is enough; else none of them is."""
    routes = possible.job.security_routes or ()
    fewer = [(route, tuple(other for other in routes if other != route)) for route in routes]
    enough = [
        ((Change(f"security_routes.{route}", None),), job)
        for route, others in fewer
        if others and possible.glimpse(job := replace(loose, security_routes=others))
    ]
    yield from enough or [((Change("security_routes", None),), loose)]


def _at_one(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The least step at an opening that has a step of its own."""
    yield from _stepped(possible, loose, what)


def _anywhere(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The least step at one opening, for each at which that is enough; else the least in the whole car, and then
    no more at each opening than it has to be.
    """
    tight = with_limits(loose, alteration=possible.job.limits.alteration)
    places = [place for place in openings_of(possible, loose) if place not in possible.job.limits.per_opening]
    ways = [way for place in places for way in _stepped(possible, tight, place)]
    yield from ways or [_everywhere(possible, tight, places)]


def _everywhere(possible: WhatIf, tight: Job, places: list[str]) -> Way:
    now = step_rank(possible.job.limits.alteration or LADDER[0])
    jobs = ((step, stepped(tight, places, step)) for step in LADDER[now + 1 :])
    highest, job = next((step, job) for step, job in jobs if possible.glimpse(job))
    changes = []
    for place in places:
        steps = LADDER[now : step_rank(highest) + 1]
        step, job = next((step, less) for step in steps if possible.glimpse(less := stepped(job, [place], step)))
        if step_rank(step) > now:
            changes.append(Change(f"per_opening.{place}", step))
    return tuple(changes), job


def stepped(job: Job, places: list[str], step: str) -> Job:
    """A job with a step of the ladder at some openings."""
    return with_limits(job, per_opening=job.limits.per_opening | dict.fromkeys(places, step))


def _stepped(possible: WhatIf, loose: Job, place: str) -> Iterator[Way]:
    """The least step at one opening with which there is a package, if there is any."""
    steps = LADDER[allowed_step(possible.job, place) + 1 :]
    jobs = [(step, stepped(loose, [place], step)) for step in steps]
    if jobs and possible.glimpse(jobs[-1][1]):
        yield next(((Change(f"per_opening.{place}", step),), job) for step, job in jobs if possible.glimpse(job))


def openings_of(possible: WhatIf, job: Job) -> list[str]:
    """The openings of a job at which something is altered or fastened."""
    question = question_of(possible.catalog, job)
    return [
        *([question.dash_id] if question.dash_id is not None else []),
        *(place.opening_id for place in question.chosen),
        *(place.opening_id for place in question.bass),
        *question.amp_spots,
        *closed_spots(possible.catalog, question),
    ]


def _screen(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The largest screen that there is a package with; or none asked for."""
    asked = possible.job.limits.screen_min_in
    assert asked is not None
    screens = possible.catalog.parts("head_unit").cells["screen_in"]
    every = map(from_micro, sorted(set(screens.values[screens.known].tolist())))
    sizes = [size for size in every if size < asked.value]
    jobs = [loose, *(with_limits(loose, screen_min_in=Figure(size)) for size in sizes)]
    at = _last(len(jobs), lambda place: possible.glimpse(jobs[place]) is not None)
    yield (Change("screen_min_in", sizes[at - 1] if at else None),), jobs[at]


def _unpinned(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    yield (Change(f"pin.{what}", None),), loose


def _allowed(possible: WhatIf, loose: Job, kind: str) -> Iterator[Way]:
    """Each single part, maker or supplier that it is enough to allow; else all of them."""
    names = getattr(possible.job.limits.without, kind)
    fewer = [(name, tuple(other for other in names if other != name)) for name in names]
    enough = [
        ((Change(f"without.{kind}", name),), job)
        for name, others in fewer
        if others and possible.glimpse(job := _without_those(loose, kind, others))
    ]
    yield from enough or [((Change(f"without.{kind}", None),), loose)]


def _without_those(job: Job, kind: str, names: tuple[str, ...]) -> Job:
    return with_limits(job, without=replace(job.limits.without, **{kind: names}))


def _later(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The fewest days within which there is a package; none of the job's if a part's delivery is later than any."""
    asked = possible.job.limits.deliver_within_days
    assert asked is not None
    catalog = possible.catalog.wished(ANY)
    columns = [catalog.parts(family).cells["lead_days"] for family in FAMILIES]
    days = sorted({int(from_micro(cell)) for one in columns for cell in set(one.values[one.known].tolist())})
    jobs = [loose, *(with_limits(loose, deliver_within_days=day) for day in reversed(days) if day > asked)]
    at = _last(len(jobs), lambda place: possible.glimpse(jobs[place]) is not None)
    within = jobs[at].limits.deliver_within_days
    yield (Change("deliver_within_days", None if within is None else Decimal(within)),), jobs[at]


def _last(count: int, holds: Callable[[int], bool]) -> int:
    """The last of some places at which something holds that holds at the first, and never again once it does not."""
    low, high = 0, count - 1
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if holds(middle) else (low, middle - 1)
    return low


def _budget(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The least money that there is a package for."""

    def at(cents: int) -> Job:
        return with_limits(loose, budget=Decimal(cents) / 100)

    cents = _least(possible, at, lambda found: found.cents, loose)
    yield (Change("budget", Decimal(cents) / 100),), at(cents)


def _at_rest(possible: WhatIf, loose: Job, what: str) -> Iterator[Way]:
    """The least drain at rest that there is a package with."""

    def at(drain_ua: int) -> Job:
        return with_limits(loose, at_rest_ma=Figure(Decimal(drain_ua) / 1000))

    drain_ua = _least(possible, at, lambda found: found.uses[0], loose)
    yield (Change("at_rest_ma", Decimal(drain_ua) / 1000),), at(drain_ua)


def _least(possible: WhatIf, at: Callable[[int], Job], taken: Callable[[Found], int], loose: Job) -> int:
    """The least of something that is limited over the whole with which there is a package."""
    found = possible.glimpse(loose)
    assert found is not None
    low, high = 0, taken(found)
    while low < high:
        found = possible.glimpse(at((low + high) // 2))
        low, high = ((low + high) // 2 + 1, high) if found is None else (low, taken(found))
    return high


def with_limits(job: Job, **limits: object) -> Job:
    """A job with some of its limits changed."""
    return replace(job, limits=replace(job.limits, **limits))  # type: ignore[arg-type]


DRAWN_BACK: dict[str, DrawnBack] = {
    "choose": _gone,
    "keep": _free,
    "must": _without,
    "security_routes": _routes,
    "pin": _unpinned,
    "without": _allowed,
    "deliver_within_days": _later,
    "per_opening": _at_one,
    "alteration": _anywhere,
    "screen_min_in": _screen,
    "at_rest_ma": _at_rest,
    "budget": _budget,
}
