"""A job's ranking: candidates, cores, the best packages, and the best at each budget."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.jobs import Job
from matcher.rules.rule import FITS
from matcher.search.cores import Field
from matcher.search.exact.packages import Bounds, Found
from matcher.search.exact.patience import Patience
from matcher.search.exact.ranking import Ranking
from matcher.search.feeds.parts import ROOM
from matcher.search.fits.sweep import Sweeps
from matcher.search.question import JobQuestion, question_of
from matcher.search.telling import Asked, telling_field


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


def bounds_of(question: JobQuestion, budget: Decimal | None, *, sure: bool = False) -> Bounds:
    """The limits on the whole: where nothing may be left to measure, those that hold in the worst case."""
    money = None if budget is None else int(budget * 100)
    return Bounds(money, (int(question.at_rest_ma * 1000), question.headroom.most_ma(sure=sure), ROOM))
