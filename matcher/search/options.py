"""A job's ranking: candidates, cores, the best packages, and the best at each budget."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from dataclasses import field as dataclass_field
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING

from catalog_schema.jobs import Job
from catalog_schema.parts import FAMILIES
from matcher.rules.rule import FITS
from matcher.search.candidates.accessories import equipped
from matcher.search.candidates.amplifiers import amplifiers
from matcher.search.candidates.boards import boarded
from matcher.search.candidates.common import Filled
from matcher.search.candidates.extras import beside
from matcher.search.candidates.head_units import head_units
from matcher.search.candidates.line_aids import line_aids
from matcher.search.candidates.loudspeakers import speakers
from matcher.search.candidates.supply import supplied
from matcher.search.cores import Field
from matcher.search.exact.packages import Bounds, Found
from matcher.search.exact.patience import Patience
from matcher.search.exact.ranking import Ranking
from matcher.search.feeds.parts import ROOM, Candidate
from matcher.search.fits.looks import Look, Needs
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion, question_of
from matcher.search.rooms import Rooms
from matcher.search.scoring import Scoring
from matcher.store.connection import Connection, Interrupted

if TYPE_CHECKING:
    from matcher.search.bass.side import BassSide


@dataclass(frozen=True, slots=True)
class Ranked:
    """What the ranking found."""

    question: JobQuestion
    field: Field
    found: list[Found]
    sure: Found | None
    """The best package in which nothing is left to measure."""
    at_budget: list[tuple[Decimal, Found | None]]
    missed: int | None = None
    """The most points that a package left out may have, where the search was ended early and that is known."""
    complete: bool = True
    """Whether nothing is left out."""
    unread: bool = False
    """Whether time was over before what fits was read, so that nothing was looked at."""

    @property
    def considered(self) -> int:
        """How many combinations of parts, plans and coil nets the answer covers."""
        return self.field.considered()

    @property
    def listed(self) -> list[Found]:
        """The best packages, and the best sure one where it is not among them: its parts may be, fed otherwise."""
        told = self.sure is None or any(found.name == self.sure.name and self.is_sure(found) for found in self.found)
        return self.found if told or self.sure is None else sorted([*self.found, self.sure], key=lambda one: one.order)

    def is_sure(self, found: Found) -> bool:
        """Whether nothing in a package is left to measure."""
        return is_sure(found, bounds_of(self.question, None, sure=True))


def is_sure(found: Found, bounds: Bounds) -> bool:
    """Whether nothing in a package is left to measure, with what it may take in the worst case."""
    fitted = [one for entry in found.entries for one in entry.what]
    within = all(most is None or used <= most for used, most in zip(found.uses, bounds.uses, strict=True))
    doubt = any(one.unsure or one.candidate.is_open for one in fitted)
    return within and found.core.what.code == FITS and not doubt


def rank(
    sweeps: Sweeps,
    job: Job,
    top: int,
    patience: Patience | None = None,
    meanwhile: Callable[[JobQuestion], None] = lambda _: None,
) -> Ranked:
    """The best packages of a job, in the total order, and the best at each of its budgets.

    Where `patience` ends while what fits is still read, a first look tells what it found, if that was read.
    `meanwhile` may begin what will be asked of the store once the ranking is known (`Sweeps.ahead`).
    """
    question = question_of(sweeps, job)
    meanwhile(question)
    budgets = sorted({tier for tier in job.tiers if tier is not None})
    whole = Asked(bounds_of(question, job.limits.budget), top)
    asked = [
        whole,
        Asked(bounds_of(question, job.limits.budget, sure=True), 1, sure=True),
        *(Asked(bounds_of(question, _within(question, budget)), 1) for budget in budgets),
    ]
    telling = telling_field(sweeps, question, top, asked, patience)
    field, found, missed = telling.field, telling.found, telling.missed
    complete = not telling.ended
    if not telling.ended:
        rankings = {sure: Ranking(field.cores(sure=sure), patience) for sure in (False, True)}
        found = {one: rankings[one.sure].best(one.bounds, one.k, telling.least.get(one)) for one in asked}
        missed = max((each.missed for each in rankings.values() if each.missed is not None), default=None)
        complete = missed is None
    at_budget = [(budget, _first(found[one])) for budget, one in zip(budgets, asked[2:], strict=True)]
    sure = _first(found[asked[1]])
    return Ranked(question, field, found[whole], sure, at_budget, missed, complete, telling.unread)


def _first(found: list[Found]) -> Found | None:
    return found[0] if found else None


def _within(question: JobQuestion, budget: Decimal) -> Decimal:
    """A budget, or the limit on money where that is less."""
    limit = question.job.limits.budget
    return budget if limit is None else min(budget, limit)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a field: the k best packages within bounds, and whether nothing may be left to measure."""

    bounds: Bounds
    k: int
    sure: bool = False
    least: int | None = None
    """Points that k packages are known to reach; none where that is not known."""


FEW = 2000
"""So many parts are read at once: a first look at the leaders would take longer than it saves."""


@dataclass
class Telling:
    """A field with what a first look at the leaders told of it."""

    field: Field
    least: dict[Asked, int] = dataclass_field(default_factory=dict)
    """The least points of each answer, as far as that is known."""
    found: dict[Asked, list[Found]] = dataclass_field(default_factory=dict)
    """What the leaders make."""
    ended: bool = False
    """Whether patience was over with that: then the field holds the leaders alone."""
    missed: int | None = None
    """The most points that a package left out may have then."""
    unread: bool = False
    """Whether patience was over before the leaders were read: then the field holds nothing."""


def telling_field(
    sweeps: Sweeps, question: JobQuestion, top: int, asked: Sequence[Asked], patience: Patience | None = None
) -> Telling:
    """Every candidate that can stand in an answer to one of these questions.

    How a first look at the leaders tells so much of all the others, `fits.looks` says.
    """
    if are_few(sweeps):
        return Telling(gather_field(sweeps, question, Look(top)))
    first = _gathered(sweeps, question, Look(top, leading=True), patience)
    if first is None:
        return Telling(_nothing(sweeps, question, top), found={one: [] for one in asked}, ended=True, unread=True)
    telling, needs = Telling(first), Needs()
    hurried = None if patience is None else patience.with_grace()
    rankings = {sure: Ranking(telling.field.cores(sure=sure), hurried) for sure in (False, True)}
    for sure, ranking in rankings.items():
        for one in (each for each in asked if each.sure == sure):
            telling.found[one] = found = ranking.best(one.bounds, one.k, one.least)
            least = found[-1].points if len(found) == one.k else one.least
            if least is not None:
                telling.least[one] = least
            needs.sure = sure
            for slot, need in ranking.needed(one.bounds, telling.least.get(one, NOTHING)):
                slot.tell(need, needs)
    whole = None
    if patience is None or hurried is None or not (patience.is_over() or hurried.is_over()):
        if patience is not None:
            patience.kept = 0  # nothing of the first look is held on to
        whole = _gathered(sweeps, question, Look(top, needs=needs), patience)
    if whole is None:
        highest = (rankings[one.sure].highest(one.bounds) for one in asked)
        telling.ended, telling.missed = True, max((one for one in highest if one is not None), default=None)
    else:
        telling.field = whole
    return telling


def _gathered(sweeps: Sweeps, question: JobQuestion, look: Look, patience: Patience | None) -> Field | None:
    """As `gather_field`; none where patience is over before it is read."""
    if patience is None:
        return gather_field(sweeps, question, look)
    try:
        with patience.reading(sweeps.interrupt):
            return gather_field(sweeps, question, look)
    except Interrupted:
        return None


def _nothing(sweeps: Sweeps, question: JobQuestion, top: int) -> Field:
    """A field of which nothing was read."""
    scoring = Scoring(question.job.wishes, sweeps.settings)
    names = [place.opening_id for place in question.speakers]
    return Field(question, scoring, top, [], [], {name: [] for name in names}, tallies={name: {} for name in names})


def are_few(sweeps: Sweeps) -> bool:
    """Whether the catalog is looked at once."""
    return bool(sweeps.once("parts", lambda: _parts(sweeps.con)) <= FEW)


def best_of(sweeps: Sweeps, question: JobQuestion, bounds: Bounds, least: int | None = None) -> Found | None:
    """The best package within bounds; of so many points at least, if that is known."""
    return best_of_each(sweeps, question, [bounds], least)[0]


def best_of_each(
    sweeps: Sweeps, question: JobQuestion, each: Sequence[Bounds], least: int | None = None
) -> list[Found | None]:
    """The best package within each of some bounds: what fits is looked at once for all of them."""
    asked = [Asked(bounds, 1, least=least) for bounds in each]
    telling = telling_field(sweeps, question, 1, asked)
    ranking = Ranking(telling.field.cores())
    return [_first(ranking.best(one.bounds, 1, telling.least.get(one, one.least))) for one in asked]


NOTHING = -(10**12)
"""Fewer points than any package has."""


def _parts(con: Connection) -> int:
    """How many parts the catalog has."""
    row = con.execute(" UNION ALL ".join(f'SELECT count(*) AS many FROM "{family}"' for family in FAMILIES))
    return sum(many for (many,) in row.fetchall())


def gather_field(sweeps: Sweeps, question: JobQuestion, look: Look) -> Field:
    """Every candidate of every slot that a look asks for, with what the rules say of their links."""
    scoring, top = Scoring(question.job.wishes, sweeps.settings), look.k
    aids = line_aids(sweeps, scoring, top)
    matter = () if look.leading else aids.needs  # whose features differ, leads no class of its own

    def at_dash() -> tuple[Filled, Filled]:
        heads = head_units(sweeps, question, scoring, matter, look)
        return heads, equipped(sweeps, question, scoring, matter, look)

    def on_spots() -> tuple[Filled, list[Candidate]]:
        found = amplifiers(sweeps, question, scoring, look)
        return found, supplied(sweeps, question, scoring, boarded(sweeps, question, scoring, found.candidates))

    (heads, more), (amps, fed), stands, bass, *loudspeakers = sweeps.together(
        at_dash,
        on_spots,
        partial(beside, sweeps, question, scoring, top),
        partial(_bass_side, sweeps, question, scoring, look),
        *(partial(speakers, sweeps, question, place, scoring, look) for place in question.speakers),
    )
    filled: dict[str, Filled] = dict(zip((place.opening_id for place in question.speakers), loudspeakers, strict=True))
    field = Field(
        question,
        scoring,
        top,
        [*heads.candidates, *more.candidates],
        fed,
        {name: one.candidates for name, one in filled.items()},
        stands,
        bass,
        codes=sweeps.codes,
        once=sweeps.once,
        head_tallies=[*heads.tallies.values(), *more.tallies.values()],
        tallies={name: one.tallies for name, one in filled.items()},
        amplifier_tallies=amps.tallies,
        aids=aids,
        rooms=partial(Rooms, sweeps, scoring, question.job.vehicle_id),
    )
    field.ask_rules(sweeps.con)
    return field


def _bass_side(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, look: Look) -> BassSide | None:
    """Every bass system, where bass is asked for: what no job needs is not loaded for it."""
    if not question.bass_names:
        return None
    from matcher.search.bass.systems import bass_side

    side: BassSide = sweeps.once(
        ("bass", question.job.vehicle_id, question.bass, scoring.wishes, look.k, look.leading),
        lambda: bass_side(sweeps, question, scoring, look),
    )
    return side


def bounds_of(question: JobQuestion, budget: Decimal | None, *, sure: bool = False) -> Bounds:
    """The limits on the whole: where nothing may be left to measure, those that hold in the worst case."""
    money = None if budget is None else int(budget * 100)
    return Bounds(money, (int(question.at_rest_ma * 1000), question.headroom.most_ma(sure=sure), ROOM))
