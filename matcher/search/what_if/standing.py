"""A chosen package rebuilt from its own parts, whatever its verdict is now.

The rules are then evaluated as for any package, so that a rule that now refuses it can be named with its margin. A
search would only leave the package out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from dataclasses import replace
from functools import partial
from itertools import islice
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
from matcher.search.ranking import packages_of
from matcher.settings import Settings
from matcher.store.database.connection import Connection

if TYPE_CHECKING:
    from matcher.search.bass.side import BassSide

NO_LIMITS = SumLimits()
WAYS = 16
"""Number of ways to combine the same parts that are tried: with or without an accessory, on any spot."""


def parts_of(package: Package) -> set[str]:
    """Return every part of a package, including adapters, kit and the customer's own parts."""
    return {*package.bought(), *(str(line.part_id) for line in package.lines if line.is_owned)}


def put_together(con: Connection, job: Job, package: Package, settings: Settings) -> Found | None:
    """Return the package rebuilt with its parts, places and feeds; None if that is no longer possible.

    The store must contain only the package's parts. No limit of the job excludes a candidate.
    """
    limits = replace(job.limits, alteration=LADDER[-1], per_opening={}, budget=None)
    bass = {str(line.opening_id) for line in package.lines if line.slot == "bass"}
    others = [link for link in package.links if not bass & set(link.to)]
    fed = {(link.slot, link.mode, frozenset([*link.to, *link.beside])) for link in others}
    with nothing_refused():
        catalog = Catalog(con, settings)  # nothing read here is cached for other questions
        question = question_of(catalog, replace(job, limits=limits, tiers=()))
        field = _narrowed(gather_field(catalog, question, CandidatePass(WAYS)), package, bass)
        field = replace(field, plans_wanted=lambda plan: fed == _feeds(plan))
        ways = list(islice(packages_of(field, NO_LIMITS), WAYS))
    parts = sorted((line.slot, str(line.part_id)) for line in package.lines)
    whole = next((found for found in ways if _parts(found) == parts), None)
    return None if whole is None else _bass_as_stood(whole, package)


def _feeds(plan: Plan) -> set[tuple[str, str, frozenset[str]]]:
    """Return every feed but that of bass: its source, the mode of its channels, its openings."""
    return {(feed.source, feed.mode, frozenset(feed.openings)) for feed in plan.feeds}


def _parts(found: Found) -> list[tuple[str, str]]:
    """Return slot and name of every part of a package, accompanying parts included."""
    chosen = [one.candidate for one in found.fitted]
    return sorted((one.slot, str(one.part_id)) for each in chosen for one in (each, *each.along))


def _narrowed(field: RankingField, package: Package, bass: Set[str]) -> RankingField:
    """Return the field with only the package's parts; `bass` are the openings of its bass system."""
    lines = package.lines
    amplifiers = field.amplifiers.some(np.zeros(0, np.int64))
    for line in lines:
        if line.slot in ("amplifier", "bass_amplifier"):
            here = field.amplifiers.of_parts([line.part_id]) & (field.amplifiers.cells["spot"] == line.opening_id)
            amplifiers += field.amplifiers.some(here).changed(partial(_as_stood, line=line))
    return replace(
        field,
        heads=_of_lines(field.heads, lines, "head_unit"),
        amplifiers=amplifiers,
        speakers={name: _of_lines(some, lines, "speaker") for name, some in field.speakers.items()},
        beside=[_beside(slot, lines) for slot in field.beside],
        bass=None if field.bass is None else _bass(field.bass, package, bass),
        nets_wanted={name: link.net for link in package.links for name in link.to if name not in bass},
    )


def _of_lines(candidates: Iterable[Candidate], lines: Sequence[Line], slot: str) -> list[Candidate]:
    """Return the candidates of a slot's lines, each at the alteration step of its line."""
    of_slot = [line for line in lines if line.slot == slot]
    return [
        _as_stood(one, line)
        for one in candidates
        for line in of_slot
        if (one.part_id, one.adapter_id, one.opening_id) == (line.part_id, line.adapter_id, line.opening_id)
    ]


def _as_stood(one: Candidate, line: Line) -> Candidate:
    quiet = None if one.quiet is None else _as_stood(one.quiet, line)
    return replace(one, step=step_rank(line.alteration), quiet=quiet)


def _bass(side: BassSide, package: Package, places: Set[str]) -> BassSide:
    """Return the chosen bass system on its chosen feed."""
    lines = {line.slot: line for line in reversed(package.lines)}
    feeds = [(link.mode, link.net) for link in package.links if set(link.to) <= places]
    names = []
    if {"bass", "enclosure"} <= lines.keys() and package.bass is not None:
        driver, box = lines["bass"], lines["enclosure"]
        names = [(driver.part_id or "", box.part_id or "", f"{package.bass.drivers} {box.opening_id}")]
    return replace(side.only(lambda stock: stock.named(names)), feed_wanted=next(iter(feeds), None))


def _bass_as_stood(found: Found, package: Package) -> Found:
    """The package with driver and box at the steps of their lines."""
    lines = {line.slot: line for line in package.lines}

    def stood(one: PackageCandidate) -> PackageCandidate:
        if one.bass is None:
            return one
        driver, box = _as_stood(one.bass.driver, lines["bass"]), _as_stood(one.bass.box, lines["enclosure"])
        system = replace(one.bass, driver=driver, box=box)
        return replace(one, candidate=driver if one.candidate.slot == "bass" else box, bass=system)

    return replace(found, fitted=tuple(map(stood, found.fitted)))


def _beside(slot: Beside, lines: Sequence[Line]) -> Beside:
    """The chosen parts of film or security, a film on its chosen panes."""
    chosen = {line.part_id: tuple(line.covers) for line in lines if line.slot == slot.slot}
    some = [alternative for alternative in slot.alternatives if {one.part_id for one in alternative} == set(chosen)]
    if slot.slot == "film":
        some = [tuple(replace(one, covers=chosen[one.part_id]) for one in alternative) for alternative in some]
    return replace(slot, alternatives=some)
