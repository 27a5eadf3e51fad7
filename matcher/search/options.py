"""A job's ranking: its candidates, the best packages, and the best at each budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from catalog_schema.jobs import Job
from matcher.kernel.columns import columns_of
from matcher.kernel.sums import most_of
from matcher.rules.package import AT_REST, BUDGET
from matcher.rules.rule import FITS
from matcher.search.catalog.catalog import Catalog
from matcher.search.distinct import DistinctPackage, list_distinct
from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.enumeration import SumLimits
from matcher.search.feeds.parts import ROOM
from matcher.search.field import RankingField
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.packages import Found
from matcher.search.question import JobQuestion, question_of
from matcher.search.ranking import PackageRanking, least_of, most_missed, packages_of
from matcher.settings import DEFAULT_SETTINGS

MICRO_IN_CENT, MICRO_MA_IN_UA = 10_000, 1000


@dataclass(frozen=True, slots=True)
class JobRanking:
    """A job's ranking."""

    question: JobQuestion
    field: RankingField
    packages: list[DistinctPackage]
    """The best packages that differ in their main goods."""
    sure: Found | None
    """The best package with nothing open."""
    at_budget: list[tuple[Decimal, Found | None]]
    cheapest: Found | None = None
    """The cheapest package, if some budget has none."""
    missed: int | None = None
    """After an early end: the maximum points of any package left out."""

    @property
    def complete(self) -> bool:
        """Whether the search was exhaustive."""
        return self.missed is None

    @property
    def considered(self) -> int:
        """Number of combinations of parts, plans and coil wirings that the answer covers."""
        return self.field.considered()

    @property
    def found(self) -> list[Found]:
        """The best packages."""
        return [one.found for one in self.packages]

    @property
    def listed(self) -> list[Found]:
        """The best packages and the best one with nothing open, possibly of the same parts fed differently."""
        is_listed = self.sure is None or any(
            found.name == self.sure.name and self.is_sure(found) for found in self.found
        )
        return (
            self.found
            if is_listed or self.sure is None
            else sorted([*self.found, self.sure], key=lambda one: one.order)
        )

    def is_sure(self, found: Found) -> bool:
        """Return whether nothing in a package is open."""
        return is_sure(found, sum_limits(self.question, None, sure=True))


def is_sure(found: Found, limits: SumLimits) -> bool:
    """Return whether nothing in a package is open, including its sums in the worst case."""
    doubt = any(one.unsure or one.candidate.is_open for one in found.fitted)
    return limits.holds(0, found.uses) and found.sources.code == FITS and not doubt


def rank(
    catalog: Catalog,
    job: Job,
    top: int,
    budget: SearchBudget | None = None,
) -> JobRanking:
    """Return the best packages of a job in the total order, and the best at each of its budgets."""
    question = question_of(catalog, job)
    field = gather_field(catalog, question, CandidatePass(top))
    limit = job.limits.budget
    whole = list_distinct(field, sum_limits(question, limit), top, budget)
    known = (
        gather_field(catalog, question, CandidatePass(top, known_delivery=True))
        if job.limits.deliver_within_days is not None
        else field
    )
    looked = whole.looked if known is field else []
    best_sure, searched = _best_sure(known, looked, sum_limits(question, limit, sure=True), budget)
    amounts = sorted({tier for tier in job.tiers if tier is not None})
    tiers = [
        packages_of(field, sum_limits(question, amount if limit is None else min(amount, limit)), budget=budget)
        for amount in amounts
    ]
    at_budget = [(amount, next(iter(one), None)) for amount, one in zip(amounts, tiers, strict=True)]
    is_empty = bool(whole.packages) and any(found is None for _, found in at_budget)
    cheapest = least_of(field, sum_limits(question, limit), 0) if is_empty else None
    return JobRanking(
        question,
        field,
        whole.packages,
        best_sure,
        at_budget,
        cheapest,
        most_missed([whole.missed, *(one.missed for one in (*searched, *tiers))]),
    )


def _best_sure(
    field: RankingField, looked: Sequence[Found], limits: SumLimits, budget: SearchBudget | None
) -> tuple[Found | None, list[PackageRanking]]:
    """The best package with nothing open, and the searches it took.

    It is among the packages already enumerated if each one before it contains an open part: no feed of such a part is
    sure.
    """
    for found in looked:
        if is_sure(found, limits):
            return found, []
        if not any(one.candidate.is_open for one in found.fitted):
            break
    sure = packages_of(field, limits, sure=True, budget=budget)
    return next(iter(sure), None), [sure]


def sum_limits(question: JobQuestion, budget: Decimal | None, *, sure: bool = False) -> SumLimits:
    """Return the limits on the package; in the worst case if nothing may be open."""
    cents, drain_ua = _most_of_whole(budget, question.at_rest_ma, sure)
    return SumLimits(cents, (drain_ua, question.headroom.most_ma(sure=sure), ROOM))


@lru_cache(maxsize=1024)
def _most_of_whole(budget: Decimal | None, at_rest_ma: Decimal, sure: bool) -> tuple[int | None, int | None]:
    """The maximum money in cents, and the maximum standby drain in microamperes, that the rules of a package allow."""
    limits = columns_of("whole", [{"budget": budget, "at_rest_ma": at_rest_ma}])
    money, drain = (most_of(rule, limits, DEFAULT_SETTINGS, sure=sure) for rule in (BUDGET, AT_REST))
    return (None if money is None else money // MICRO_IN_CENT), (None if drain is None else drain // MICRO_MA_IN_UA)
