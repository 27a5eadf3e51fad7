"""The best package with one given part, and the best parts for each opening, each by ranking again.

The part's candidates come from a catalog with no other part of its family, and are pinned to one slot after another;
the other slots use the whole catalog.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from catalog_schema.jobs import Job
from matcher.search.candidates.head_units import HeadUnits, head_groups
from matcher.search.candidates.line_aids import line_aids
from matcher.search.candidates.table import Alternative, CandidateTable, Tabled, table_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.enumeration import SumLimits
from matcher.search.feeds.parts import Candidate
from matcher.search.field import PinnedSlot, RankingField, every_model
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found, PackageCandidate
from matcher.search.question import JobQuestion, question_of, wished
from matcher.search.ranking import best_of
from matcher.search.what_if.assumed import only_part

IN_SETS = frozenset({"security", "accessory"})
"""Families whose parts are combined in sets: there no other part may be left out."""
AMPLIFIERS = ("amplifier", "bass_amplifier")
"""Tasks of an amplifier: everything or the loudspeakers, or only the bass."""


@dataclass
class OnePart:
    """One part, as a question for several jobs of a vehicle."""

    catalog: Catalog
    part_id: str
    family: str
    spared: Collection[str] = ()
    """Openings that cannot take the part."""
    _alone: Catalog = field(init=False)

    def __post_init__(self) -> None:
        catalog = self.catalog
        is_in_sets = self.family in IN_SETS
        self._alone = catalog if is_in_sets else only_part(catalog, self.family, self.part_id, self.spared)

    def field(self, question: JobQuestion) -> RankingField:
        """A field with only this part of its family, or with every set that may contain it."""
        many = len(self.catalog.parts(self.family)) if self.family in IN_SETS else 1
        return gather_field(self._alone, question, CandidatePass(many))

    def best(self, whole: RankingField, limits: SumLimits) -> Found | None:
        """Return the best package of a field that contains the part."""
        found = [one for way in self.ways(whole) if (one := best_of(way, limits)) is not None]
        return min(found, key=lambda one: (one.order, one.rank), default=None)

    def ways(self, whole: RankingField) -> Iterator[RankingField]:
        """The field with the part pinned to each slot that it can fill."""
        alone = self.field(whole.question)
        if heads := self.heads(alone):
            yield replace(whole, heads=heads)
        if self.makes_level(whole):
            aids = line_aids(wished(self.catalog, whole.question.job), whole.scoring).only(self.part_id)
            yield replace(whole, aids=aids, pins=(*whole.pins, PinnedSlot("line_aid", every_model)))
        for place, speakers in self.speakers(alone).items():
            yield replace(whole, speakers=whole.speakers | {place: Tabled(speakers)})
        mine = alone.amplifiers.some(self._brings(alone.amplifiers))
        if mine:
            others = whole.amplifiers.some(~self._brings(whole.amplifiers))
            for task in AMPLIFIERS if whole.bass is not None else AMPLIFIERS[:1]:
                yield replace(whole, amplifiers=mine + others, pins=(*whole.pins, PinnedSlot(task, self._brings)))
        if whole.bass is not None:
            bass = whole.bass.only(lambda stock: stock.with_part(self.part_id))
            if bass.ways:
                yield replace(whole, bass=bass)
        for at, slot in enumerate(alone.beside):
            sets = _with(self.part_id, slot.alternatives)
            if sets:
                kept = replace(whole.beside[at], alternatives=sets)
                yield replace(whole, beside=[*whole.beside[:at], kept, *whole.beside[at + 1 :]])

    def heads(self, alone: RankingField) -> HeadUnits:
        """The head units of a field that are or go with the part."""
        own = (group.some(group.table.holds({self.part_id})) for group in head_groups(alone.heads))
        with_it = (group._replace(sets=_with(self.part_id, group.sets)) for group in head_groups(alone.heads))
        return HeadUnits([group for group in (*own, *with_it) if len(group.table) and group.sets])

    def speakers(self, alone: RankingField) -> dict[str, CandidateTable]:
        """The loudspeakers of a field that are or go with the part, by place."""
        tables = {place: table_of(some) for place, some in alone.speakers.items()}
        own = {place: table.some(table.holds({self.part_id})) for place, table in tables.items()}
        return {place: table for place, table in own.items() if len(table)}

    def is_in(self, one: Candidate) -> bool:
        """Return whether a candidate includes the part."""
        return self.part_id in names_of(one)

    def makes_level(self, whole: RankingField) -> bool:
        """Whether the part is a line-level accessory."""
        return whole.aids is not None and len(whole.aids.only(self.part_id)) > 0

    def _brings(self, candidates: Sequence[Candidate]) -> NDArray[np.bool_]:
        """Return which candidates include the part."""
        return np.array([self.is_in(one) for one in candidates], np.bool_)


def _with(part_id: str, sets: Sequence[Alternative]) -> list[Alternative]:
    return [some for some in sets if any(one.part_id == part_id for one in some)]


def best_mounted(
    whole: RankingField, parts: Sequence[OnePart], limits: SumLimits, budget: SearchBudget, floor: int
) -> Found | None:
    """Return the best package with at least one of some head units, loudspeakers or adapters at an opening.

    Parameters
    ----------
    whole
        The field without what is special about these parts: their own candidates take the place of its.
    floor
        Minimum points of interest.
    """
    names = {one.part_id for one in parts}
    every = [(one, one.field(whole.question)) for one in parts]
    heads = [group for one, alone in every for group in one.heads(alone).groups]
    others = [group.some(~group.table.holds(names)) for group in head_groups(whole.heads)]
    mine: dict[str, CandidateTable] = {}
    for one, alone in every:
        for place, table in one.speakers(alone).items():
            mine[place] = mine[place].joined(table) if place in mine else table
    speakers = dict(whole.speakers)
    for place, table in mine.items():
        plain = table_of(whole.speakers[place])
        speakers[place] = Tabled(plain.some(~plain.holds(names)).joined(table))
    whole = replace(whole, heads=HeadUnits([*others, *heads]), speakers=speakers)
    ways = [replace(whole, heads=HeadUnits(heads))] if heads else []
    ways += [replace(whole, speakers=speakers | {place: Tabled(table)}) for place, table in mine.items()]
    found = [best for way in ways if (best := best_of(way, limits, budget, floor)) is not None]
    return min(found, key=lambda best: (best.order, best.rank), default=None)


def names_of(one: Candidate) -> tuple[str | None, ...]:
    """All parts of a candidate: itself, its adapter, and accompanying parts."""
    return (one.part_id, one.adapter_id, *(other.part_id for other in one.along))


def holds(found: Found, part_id: str) -> bool:
    """Return whether a package contains a part."""
    return any(part_id in names_of(one.candidate) for one in found.fitted)


def best_instead(catalog: Catalog, job: Job, most: int) -> dict[str, list[Found]]:
    """Return the best package for each of the best parts at every opening for head units or loudspeakers, best first.

    Parameters
    ----------
    most
        Number of parts per opening.
    """
    question = question_of(catalog, job)
    field, limits = gather_field(catalog, question, CandidatePass(most)), sum_limits(question, job.limits.budget)
    first = best_of(field, limits)
    if first is None:
        return {}
    places = {question.dash_id: field.heads} if question.dash_id else {}
    return {
        place: [first, *islice(_further(field, place, some, first, limits), most - 1)]
        for place, some in (places | field.speakers).items()
    }


def at_opening(found: Found, opening_id: str) -> PackageCandidate:
    """The head unit or loudspeaker of a package at an opening."""
    slots = ("head_unit", "speaker")
    return next(one for one in found.fitted if one.candidate.opening_id == opening_id and one.candidate.slot in slots)


def _further(
    field: RankingField, place: str, some: Sequence[Candidate], found: Found, limits: SumLimits
) -> Iterator[Found]:
    """The best packages with different parts at an opening."""
    left = list(some)
    while True:
        chosen = at_opening(found, place).candidate.part_id
        left = [one for one in left if one.part_id != chosen]
        is_dash = place == field.question.dash_id
        way = replace(field, heads=left) if is_dash else replace(field, speakers=field.speakers | {place: left})
        best = best_of(way, limits)
        if best is None:
            return
        found = best
        yield found
