"""A package that was chosen, put together again of its own parts, whatever the rules say of it now.

The rules are asked of it afterwards, as of any package. So a rule that now refuses it can be named with its margin,
where a search would only leave the package out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from catalog_schema.answers import Line, Package
from catalog_schema.jobs import LADDER, Job, step_rank
from matcher.search.candidates.table import Beside
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.enumeration import SumLimits
from matcher.search.feeds.parts import Candidate
from matcher.search.feeds.plans import Plan
from matcher.search.field import RankingField
from matcher.search.fits.place import CandidatePass
from matcher.search.fits.refusing import nothing_refused
from matcher.search.gathering import gather_field
from matcher.search.packages import Found, PackageCandidate
from matcher.search.question import question_of
from matcher.search.ranking import first_of
from matcher.settings import Settings
from matcher.store.database.connection import Connection

if TYPE_CHECKING:
    from matcher.search.bass.side import BassSide
    from matcher.search.candidates.amplifiers import Amplifiers

NO_LIMITS = SumLimits()
WAYS = 16
"""Number of ways to put the same parts together that are tried: with an accessory or without, on any spot."""


def parts_of(package: Package) -> set[str]:
    """Return every part of a package, those of its adapters and its kit and the customer's own, too."""
    return {*package.bought(), *(str(line.part_id) for line in package.lines if line.is_owned)}


def put_together(con: Connection, job: Job, package: Package, settings: Settings) -> Found | None:
    """The package of its own parts, each where it was, fed as it was; None if that cannot be any more.

    It is to be asked on a catalog that holds its parts alone.
    """
    with nothing_refused():
        catalog = Catalog(con, settings)  # what it reads in here is for nobody else
        question = question_of(catalog, _without_limits(job))
        field = _narrowed(gather_field(catalog, question, CandidatePass(WAYS)), package)
        fed = _fed(package)
        field = replace(field, plans_wanted=lambda plan: _feeds(plan) == fed)
        ways = first_of(field, NO_LIMITS, WAYS)
    whole = next((found for found in ways if _is_whole(found, package)), None)
    return None if whole is None else _bass_as_stood(whole, package)


def _without_limits(job: Job) -> Job:
    """The job with nothing that keeps a candidate from being looked at."""
    limits = replace(job.limits, alteration=LADDER[-1], per_opening={}, budget=None)
    return replace(job, limits=limits, tiers=())


def _narrowed(field: RankingField, package: Package) -> RankingField:
    """The field with what the package has, and nothing else."""
    lines = package.lines
    return replace(
        field,
        heads=_of_lines(field.heads, lines, "head_unit"),
        amplifiers=_amplifiers(field.amplifiers, lines),
        speakers={name: _of_lines(some, lines, "speaker") for name, some in field.speakers.items()},
        beside=[_beside(slot, lines) for slot in field.beside],
        bass=None if field.bass is None else _bass(field.bass, package),
        nets_wanted={name: link.net for link in package.links for name in link.to if name not in _bass_places(package)},
    )


def _of_lines(candidates: Iterable[Candidate], lines: Sequence[Line], *slots: str) -> list[Candidate]:
    """The candidates that stand on some lines, each at the step that its line was chosen at."""
    return [_as_stood(one, line) for one in candidates for line in lines if line.slot in slots and _is_on(one, line)]


def _amplifiers(every: Amplifiers, lines: Sequence[Line]) -> Amplifiers:
    """The amplifiers that stand on some lines."""
    found = every.some(np.zeros(0, np.int64))
    for line in lines:
        if line.slot in ("amplifier", "bass_amplifier"):
            here = every.some(every.of_parts([line.part_id]) & (every.cells["spot"] == line.opening_id))
            found += here.told(partial(_as_stood, line=line))
    return found


def _is_on(one: Candidate, line: Line) -> bool:
    return (one.part_id, one.adapter_id, one.opening_id) == (line.part_id, line.adapter_id, line.opening_id)


def _as_stood(one: Candidate, line: Line) -> Candidate:
    quiet = None if one.quiet is None else _as_stood(one.quiet, line)
    return replace(one, step=step_rank(line.alteration), quiet=quiet)


def _bass(side: BassSide, package: Package) -> BassSide:
    """The one bass system that was chosen, on the feed that it was chosen with."""
    driver, box = (next((line for line in package.lines if line.slot == slot), None) for slot in ("bass", "enclosure"))
    feeds = [(link.mode, link.net) for link in package.links if set(link.to) <= _bass_places(package)]
    names = []
    if driver is not None and box is not None and package.bass is not None:
        names = [(driver.part_id or "", box.part_id or "", f"{package.bass.drivers} {box.opening_id}")]
    return replace(side.only(lambda stock: stock.named(names)), feed_wanted=next(iter(feeds), None))


def _bass_as_stood(found: Found, package: Package) -> Found:
    """The package with drivers and box at the steps that their lines were chosen at."""
    lines = {line.slot: line for line in package.lines}

    def stood(one: PackageCandidate) -> PackageCandidate:
        if one.bass is None:
            return one
        driver, box = _as_stood(one.bass.driver, lines["bass"]), _as_stood(one.bass.box, lines["enclosure"])
        system = replace(one.bass, driver=driver, box=box)
        return replace(one, candidate=driver if one.candidate.slot == "bass" else box, bass=system)

    return replace(found, fitted=tuple(map(stood, found.fitted)))


def _beside(slot: Beside, lines: Sequence[Line]) -> Beside:
    """Of film or security the parts that were chosen, a film on the panes that it was chosen for."""
    chosen = {line.part_id: tuple(line.covers) for line in lines if line.slot == slot.slot}
    some = [alternative for alternative in slot.alternatives if {one.part_id for one in alternative} == set(chosen)]
    if slot.slot == "film":
        some = [tuple(replace(one, covers=chosen[one.part_id]) for one in alternative) for alternative in some]
    return replace(slot, alternatives=some)


Feeds = frozenset[tuple[str, str, frozenset[str]]]
"""Every feed but that of bass: its source, how its channels are used, its openings."""


def _feeds(plan: Plan) -> Feeds:
    return frozenset((feed.source, feed.mode, frozenset(feed.openings)) for feed in plan.feeds)


def _fed(package: Package) -> Feeds:
    bass = _bass_places(package)
    return frozenset(
        (link.slot, link.mode, frozenset([*link.to, *link.beside])) for link in package.links if not bass & set(link.to)
    )


def _bass_places(package: Package) -> set[str]:
    return {str(line.opening_id) for line in package.lines if line.slot == "bass"}


def _is_whole(found: Found, package: Package) -> bool:
    """Whether it has all the parts of the package, what comes along with others too."""
    chosen = [one.candidate for one in found.fitted]
    some = sorted((one.slot, str(one.part_id)) for each in chosen for one in (each, *each.along))
    return some == sorted((line.slot, str(line.part_id)) for line in package.lines)
