"""A job's options as an answer: packages, tiers, trade-offs, and why there is nothing."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from decimal import Decimal

from catalog_schema.answers import Gain, Options, Package, Tier
from catalog_schema.jobs import Job
from matcher.explain.clash import clashes
from matcher.explain.packages import Describer
from matcher.explain.slots import slot_counts
from matcher.explain.tradeoffs import tradeoffs
from matcher.explain.warnings import warnings_of
from matcher.explain.wording import amount, cautions, gain_says
from matcher.search.options import Ranked, rank
from matcher.search.ranking import Found
from matcher.search.sweep import Sweeps
from matcher.settings import Settings
from matcher.store.connection import Connection


def answer_options(con: Connection, job: Job, top: int, version: int, settings: Settings) -> Options:
    """Rank a job and tell the outcome.

    Parameters
    ----------
    top
        How many packages to list; the best one without anything to measure comes on top of them
        where it is not among them.
    version
        The catalog's version, which the answer names.
    """
    started = time.monotonic()
    sweeps = Sweeps(con, settings)
    ranked = rank(sweeps, job, top)
    describer = Describer(sweeps, ranked.question)
    packages = [_with_tradeoffs(describer, ranked, found, place) for place, found in enumerate(ranked.listed, 1)]
    answer = Options(
        job_id=job.job_id,
        catalog_version=version,
        considered=ranked.considered,
        complete=True,
        seconds=0,
        packages=packages,
        tiers=_tiers(describer, ranked, packages),
        clash=[] if packages else clashes(sweeps, job),
        slots=slot_counts(con, ranked.field, settings),
        cautions=[*warnings_of(sweeps, ranked.question, ranked.listed, packages), *cautions(ranked.question)],
    )
    # The whole of the answer, clashes too, in whole seconds, upward: so that the same question gives the same bytes.
    return replace(answer, seconds=math.ceil(time.monotonic() - started))


def _with_tradeoffs(describer: Describer, ranked: Ranked, found: Found, place: int) -> Package:
    package = describer.package(found, place)
    return replace(package, tradeoffs=tradeoffs(describer, ranked.field, found))


def _tiers(describer: Describer, ranked: Ranked, packages: list[Package]) -> list[Tier]:
    """The best package at each budget, with what it buys over the tier below."""
    known = {_wired(found): package for found, package in zip(ranked.listed, packages, strict=True)}
    tiers: list[Tier] = []
    below: Package | None = None
    for budget, found in ranked.at_budget:
        package = None
        if found is not None:
            package = known.get(_wired(found)) or _with_tradeoffs(describer, ranked, found, len(packages) + 1)
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


GAIN_UNITS = {"level_db": "dB", "low_hz": "Hz", "screen_in": "in"}
"""What a line shows that a customer hears or sees, with its unit."""


def gains(below: Package, above: Package) -> list[Gain]:
    """What changes from one package to the next: what is heard and seen at each place, then the price."""
    lines = {(line.slot, line.opening_id): line for line in below.lines}
    changes = [
        Gain(criterion=name, where=str(line.opening_id), before=before, after=after, unit=unit)
        for line in above.lines
        for name, unit in GAIN_UNITS.items()
        if (before := getattr(lines.get((line.slot, line.opening_id)), name, None)) != (after := getattr(line, name))
    ]
    heard = [None if package.bass is None else package.bass.max_db_40hz for package in (below, above)]
    if heard[0] != heard[1]:
        levels = [None if level is None else Decimal(str(level)) for level in heard]
        changes.append(Gain(criterion="max_db_40hz", where="bass", before=levels[0], after=levels[1], unit="dB"))
    if above.price.total != below.price.total:
        changes.append(
            Gain(criterion="price", where="whole", before=below.price.total, after=above.price.total, unit="money")
        )
    return [replace(gain, says=gain_says(gain)) for gain in changes]
