"""A job's ranking: candidates, cores, the best packages, and the best at each budget."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING

from catalog_schema.jobs import Job
from matcher.rules.rule import FITS
from matcher.search.accessories import equipped
from matcher.search.boards import boarded
from matcher.search.candidates import amplifiers, head_units, speakers
from matcher.search.cores import Field
from matcher.search.extras import beside
from matcher.search.line_aids import line_aids
from matcher.search.parts import ROOM
from matcher.search.patience import Patience
from matcher.search.question import JobQuestion, read_question
from matcher.search.ranking import Bounds, Found, Ranking
from matcher.search.rooms import Rooms
from matcher.search.scoring import Scoring
from matcher.search.supply import supplied
from matcher.search.sweep import Sweeps

if TYPE_CHECKING:
    from matcher.search.bass import BassSide


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
    """The most points that a package left out may have, where the search was ended early; None: nothing is left out."""

    @property
    def considered(self) -> int:
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


def rank(sweeps: Sweeps, job: Job, top: int, patience: Patience | None = None) -> Ranked:
    """The best packages of a job, in the total order, and the best at each of its budgets.

    What fits is read to the end; `patience` bounds the search that follows.
    """
    question = read_question(sweeps.con, job, sweeps.settings)
    field = gather_field(sweeps, question, top)
    ranking, surely = (Ranking(field.cores(sure=sure), patience) for sure in (False, True))
    bounds = bounds_of(question, job.limits.budget)
    found = ranking.best(bounds, top)
    sure = surely.best(bounds_of(question, job.limits.budget, sure=True), 1)
    budgets = sorted({tier for tier in job.tiers if tier is not None})
    at_budget = [(budget, best_at(ranking, question, budget)) for budget in budgets]
    missed = max((each.missed for each in (ranking, surely) if each.missed is not None), default=None)
    return Ranked(question, field, found, sure[0] if sure else None, at_budget, missed)


def gather_field(sweeps: Sweeps, question: JobQuestion, top: int) -> Field:
    """Every candidate of every slot, with what the rules say of their links."""
    scoring = Scoring(question.job.wishes, sweeps.settings)
    aids = line_aids(sweeps, scoring, top)
    heads = head_units(sweeps, question, scoring, aids.needs, top)
    more = equipped(sweeps, question, scoring, aids.needs, top)
    filled = {place.opening_id: speakers(sweeps, question, place, scoring, top) for place in question.speakers}
    on_boards = boarded(sweeps, question, scoring, amplifiers(sweeps, question, scoring))
    field = Field(
        question,
        scoring,
        top,
        [*heads.candidates, *more.candidates],
        supplied(sweeps, question, scoring, on_boards),
        {name: one.candidates for name, one in filled.items()},
        beside(sweeps, question, scoring, top),
        _bass_side(sweeps, question, scoring, top),
        codes=sweeps.codes,
        head_tallies=[*heads.tallies.values(), *more.tallies.values()],
        tallies={name: one.tallies for name, one in filled.items()},
        aids=aids,
        rooms=partial(Rooms, sweeps, scoring, question.job.vehicle_id),
    )
    field.ask_rules(sweeps.con)
    return field


def _bass_side(sweeps: Sweeps, question: JobQuestion, scoring: Scoring, top: int) -> BassSide | None:
    """Every bass system, where bass is asked for: what no job needs is not loaded for it."""
    if not question.bass_names:
        return None
    from matcher.search.bass_systems import bass_side

    return bass_side(sweeps, question, scoring, top)


def best_at(ranking: Ranking, question: JobQuestion, budget: Decimal) -> Found | None:
    """The best package at a budget."""
    limit = question.job.limits.budget
    found = ranking.best(bounds_of(question, budget if limit is None else min(budget, limit)), 1)
    return found[0] if found else None


def bounds_of(question: JobQuestion, budget: Decimal | None, *, sure: bool = False) -> Bounds:
    """The limits on the whole: where nothing may be left to measure, those that hold in the worst case."""
    money = None if budget is None else int(budget * 100)
    return Bounds(money, (int(question.at_rest_ma * 1000), question.headroom.most_ma(sure=sure), ROOM))
