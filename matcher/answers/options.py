"""A job's options as an answer: packages, tiers, trade-offs, and the reasons if there are none."""

from __future__ import annotations

import math
import time
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Alternative, Conflict, Line, Options, Package, Tier
from catalog_schema.jobs import Job
from matcher.answers.fitted import fitted_of
from matcher.answers.gains import gains, main_goods_say, step_says
from matcher.answers.messages import ALWAYS, amount
from matcher.answers.packages import Describer, price_of
from matcher.answers.slots import slot_counts
from matcher.answers.tradeoffs import rivals_of, tradeoff
from matcher.answers.warnings import warnings_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.budget import SearchBudget
from matcher.search.options import JobRanking, rank
from matcher.search.packages import Found
from matcher.search.question import wished


def answer_options(catalog: Catalog, job: Job, top: int, version: int, budget: SearchBudget | None = None) -> Options:
    """Rank a job's packages and return the answer.

    Parameters
    ----------
    top
        Number of packages to list; the best one without anything to measure is added if it is not among them.
    version
        The catalog's version, which the answer states.
    budget
        Time and memory limits of the search; unlimited by default.
    """
    started = time.monotonic()
    catalog = wished(catalog, job)
    ranked = rank(catalog, job, top, budget)
    describer = Describer(catalog, ranked.question)
    packages, tiers = _packages_and_tiers(describer, ranked)
    shown = [*ranked.listed, *(found for _, found in ranked.at_budget if found is not None)]
    at_budget = [tier.package for tier in tiers if tier.package is not None]
    answer = Options(
        job_id=job.job_id,
        catalog_version=version,
        considered=ranked.considered,
        complete=ranked.complete,
        missed_score_at_most=None if ranked.missed is None else -(-ranked.missed // 100),
        seconds=0,
        packages=packages,
        tiers=tiers,
        conflicts=_conflicts(catalog, job) if not packages and ranked.complete else [],
        slots=slot_counts(catalog, ranked.field, with_reasons=not packages),
        cautions=[*warnings_of(catalog, ranked.question, shown, [*packages, *at_budget]), *ALWAYS],
    )
    # Whole seconds for all of the answer including conflicts, rounded up, so that equal questions give equal bytes.
    return replace(answer, seconds=math.ceil(time.monotonic() - started))


def _conflicts(catalog: Catalog, job: Job) -> list[Conflict]:
    from matcher.answers.conflicts import conflicts  # only jobs without a package need what-ifs

    return conflicts(catalog, job)


def _packages_and_tiers(describer: Describer, ranked: JobRanking) -> tuple[list[Package], list[Tier]]:
    """Return the listed packages, and the best one at each budget; their parts are checked together."""
    at_budget = (found for _, found in ranked.at_budget if found is not None)
    shown = {_wired(found): found for found in (*at_budget, *ranked.listed)}
    rivals = {wired: list(rivals_of(describer, ranked.field, found)) for wired, found in shown.items()}
    describer.ask_fits(shown.values(), [rival.candidate for some in rivals.values() for _, rival in some])
    rank = {_wired(found): place for place, found in enumerate(ranked.listed, 1)}

    others = {_wired(one.found): one.alternatives for one in ranked.packages}
    listed = (*shown.values(), *(found for some in others.values() for found in some))
    describer.name_parts(one.candidate for found in listed for one in fitted_of(found))

    def tell(wired: Wired) -> Package:
        package = describer.package(shown[wired], rank.get(wired, len(rank) + 1))
        return replace(
            package,
            tradeoffs=[tradeoff(describer, *each) for each in rivals[wired]],
            alternatives=[_alternative(describer, package, found) for found in others.get(wired, [])],
        )

    packages = {wired: tell(wired) for wired in shown}
    first = next(iter(rank), None)
    if first is not None:
        packages = {wired: replace(one, differs=_beyond(packages[first], one.lines)) for wired, one in packages.items()}
    return [packages[wired] for wired in rank], _tiers(ranked, packages, set(rank))


def _alternative(describer: Describer, package: Package, found: Found) -> Alternative:
    fitted = fitted_of(found)
    lines = [describer.line(one) for one in fitted]
    return Alternative(
        score=round(found.points / 100),
        price=price_of(fitted, describer.catalog.settings),
        lines=_beyond(package, lines),
    )


def _beyond(package: Package, lines: Sequence[Line]) -> list[Line]:
    """Return the lines that a package lacks."""
    held = {_item(line) for line in package.lines}
    return [line for line in lines if _item(line) not in held]


def _item(line: Line) -> tuple[object, ...]:
    return line.slot, line.opening_id, line.part_id, line.adapter_id, line.pieces, tuple(line.covers)


def _tiers(ranked: JobRanking, packages: Mapping[Wired, Package], ranks: Collection[Wired]) -> list[Tier]:
    """Return the best package at each budget, with its advantages over the tier below."""
    tiers: list[Tier] = []
    below: Package | None = None
    least = None if ranked.cheapest is None else Decimal(ranked.cheapest.cents) / 100
    for budget, found in ranked.at_budget:
        package = None if found is None else packages[_wired(found)]
        listed = found is not None and _wired(found) in ranks
        tiers.append(
            Tier(
                name=f"up to {amount(budget)}",
                budget=budget,
                rank=package.rank if package is not None and listed else None,
                package=package,
                gains=[] if package is None or below is None else gains(below, package),
                least=least if package is None else None,
                says=_tier_says(least, below, package),
            )
        )
        below = package or below
    return tiers


def _tier_says(least: Decimal | None, below: Package | None, package: Package | None) -> str:
    if package is None:
        return f"no package at this budget{'' if least is None else f'; the cheapest costs {amount(least)}'}"
    return main_goods_say(package) if below is None else step_says(below, package)


Wired = tuple[object, ...]


def _wired(found: Found) -> Wired:
    """Key of a package: its parts and their feeds."""
    return found.name, found.points, found.rank
