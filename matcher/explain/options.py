"""A job's options as an answer: packages, tiers, trade-offs, and why there is nothing."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from catalog_schema.answers import Options, Package, Tier
from catalog_schema.jobs import Job
from matcher.explain.clash import clashes
from matcher.explain.gains import gains
from matcher.explain.packages import Describer
from matcher.explain.slots import count_ahead, slot_counts
from matcher.explain.tradeoffs import tradeoffs
from matcher.explain.warnings import warnings_of
from matcher.explain.wording import amount, cautions
from matcher.search.exact.packages import Found
from matcher.search.exact.patience import Patience
from matcher.search.fits.sweep import Sweeps
from matcher.search.options import Ranked, rank


def answer_options(sweeps: Sweeps, job: Job, top: int, version: int, patience: Patience | None = None) -> Options:
    """Rank a job and tell the outcome.

    Parameters
    ----------
    top
        How many packages to list; the best one without anything to measure comes on top of them
        where it is not among them.
    version
        The catalog's version, which the answer names.
    patience
        How long the search may look and how much it may keep; without it it looks to the end.
    """
    started = time.monotonic()
    ranked = rank(sweeps, job, top, patience, partial(count_ahead, sweeps))
    describer = Describer(sweeps, ranked.question)
    describer.ask_fits([*ranked.listed, *(found for _, found in ranked.at_budget if found is not None)])
    packages = _packages(describer, ranked, ranked.listed)
    answer = Options(
        job_id=job.job_id,
        catalog_version=version,
        considered=ranked.considered,
        complete=ranked.complete,
        missed_score_at_most=None if ranked.missed is None else -(-ranked.missed // 100),
        seconds=0,
        packages=packages,
        tiers=_tiers(describer, ranked, packages),
        clash=clashes(sweeps, job) if not packages and ranked.complete else [],
        slots=[] if ranked.unread else slot_counts(sweeps, ranked.field),
        cautions=[*warnings_of(sweeps, ranked.question, ranked.listed, packages), *cautions(ranked.question)],
    )
    # The whole of the answer, clashes too, in whole seconds, upward: so that the same question gives the same bytes.
    return replace(answer, seconds=math.ceil(time.monotonic() - started))


def _packages(describer: Describer, ranked: Ranked, some: Sequence[Found], first: int = 1) -> list[Package]:
    """Some packages with their trade-offs, ranked from a place on."""
    given_up = tradeoffs(describer, ranked.field, some)
    packages = zip(describer.packages(some, first), given_up, strict=True)
    return [replace(package, tradeoffs=offs) for package, offs in packages]


def _tiers(describer: Describer, ranked: Ranked, packages: list[Package]) -> list[Tier]:
    """The best package at each budget, with what it buys over the tier below."""
    known = {_wired(found): package for found, package in zip(ranked.listed, packages, strict=True)}
    tiers: list[Tier] = []
    below: Package | None = None
    for budget, found in ranked.at_budget:
        package = None
        if found is not None:
            package = known.get(_wired(found)) or _packages(describer, ranked, [found], len(packages) + 1)[0]
        listed = package is not None and any(package is one for one in packages)
        tiers.append(
            Tier(
                name=f"up to {amount(budget)}",
                budget=budget,
                rank=package.rank if package is not None and listed else None,
                package=package,
                gains=[] if package is None or below is None else gains(below, package),
            )
        )
        below = package or below
    return tiers


def _wired(found: Found) -> tuple[object, ...]:
    """What tells packages apart: their parts, and how these are fed."""
    return found.name, found.points, found.core.rank
