"""Packages that could still win: those that would if everything open about one of their parts turned out well.

Open figures cost points. Slot by slot, candidates with open figures are ranked without this cost and all others as they
are: a package below the winner even then can never win by measuring. Of candidates with the same open figures only the
best is needed. A part at several places, or an adapter, is assumed known at each of them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import word_code
from matcher.rules.rule import FITS
from matcher.search.candidates.head_units import NO_SETS, HeadGroup, HeadUnits, head_groups
from matcher.search.candidates.line_aids import LineAids, line_aids
from matcher.search.candidates.loudspeakers import speakers_at
from matcher.search.candidates.table import Alternative, Beside, CandidateTable, Flags, Tabled, table_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.budget import SearchBudget
from matcher.search.feeds.parts import Candidate, LineAid, has_unknown_load, is_incomplete
from matcher.search.feeds.plans import Mode, Source
from matcher.search.field import PinnedSlot, RankingField
from matcher.search.fits.families import supply_code
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.question import HEAD_UNIT, JobQuestion
from matcher.search.ranking import best_of
from matcher.search.what_if.forced import AMPLIFIERS

EVERY = 101
"""More packages than are asked for, so that no candidate is dropped for a better one that may be open as well."""
AMPLIFIER = "amplifier"
SOURCES: dict[str, Source] = {HEAD_UNIT: "head_unit", AMPLIFIER: "amplifier"}
"""The source that each slot is to a plan."""
Use = frozenset[Mode] | None
"""Uses of a source's channels by a plan, if a figure of the source is unknown; None: all."""


@dataclass
class Contenders:
    """The packages of a job that could still win, one after another."""

    catalog: Catalog
    question: JobQuestion
    best: Found
    """The current winner."""
    budget: SearchBudget = field(default_factory=SearchBudget)
    complete: bool = False
    """Whether the search was exhaustive."""
    missed: int | None = None
    """Until then: the maximum points of a package not yet searched; None if unknown."""
    _aids: dict[bool, LineAids] = field(default_factory=dict)

    def each(self, most: int | None = None) -> Iterator[Found]:
        """Yield packages by falling points; each has an open figure that none before it had.

        Parameters
        ----------
        most
            Number of packages; None: all.

        Raises
        ------
        SearchEnded
            if the time is used up.
        """
        waiting = [(found, slot) for slot in self._slots() if (found := next(slot, None)) is not None]
        while waiting:
            waiting.sort(key=lambda one: one[0].order)
            found, slot = waiting.pop(0)
            self.missed = found.points  # whatever comes later has no more
            if most == 0:
                return
            if found.name != self.best.name:
                most = None if most is None else most - 1
                yield found
            waiting += [(after, slot)] if (after := next(slot, None)) is not None else []
        self.complete, self.missed = True, None

    def together(self) -> Found | None:
        """Return the best package if everything open about all packages turned out well."""
        found = self._ranked(self._hoped)
        return None if found is None or found.name == self.best.name else found

    def places_of(self, part_id: str) -> set[str] | None:
        """Return the only openings that can take a head unit, loudspeaker or adapter, whatever its readings.

        None for a part of another family.
        """
        adapters, row = self.catalog.parts("adapter"), self.catalog.parts("speaker").row(part_id)
        places = [place for place in self.question.speakers if not place.kept]
        if (adapter := adapters.row(part_id)) is not None:
            is_plate = adapters.cells["for"].values[adapter] == word_code("dash")
            return {str(self.question.dash_id)} if is_plate else {place.opening_id for place in places}
        if row is None:
            is_head = self.catalog.parts("head_unit").row(part_id) is not None
            return {str(self.question.dash_id)} if is_head else None
        ways = [speakers_at(self.catalog, self.question, place).mountings for place in places]
        return {place.opening_id for place, some in zip(places, ways, strict=True) if row in some.part}

    def _slots(self) -> Iterator[Iterator[Found]]:
        """By slot, and by use of a head unit: the best packages with open figures there assumed known."""
        yield self._heads(None)
        for use in dict.fromkeys(plan.modes(SOURCES[HEAD_UNIT]) for plan in self._plain.plans):
            yield self._heads(use)
        yield from map(self._speakers, self._hoped.speakers)
        yield self._amplifiers()
        if self._hoped.bass is not None:
            yield self._systems()
        yield from map(self._beside, range(len(self._hoped.beside)))

    def _heads(self, use: Use) -> Iterator[Found]:
        """Head units; those with an unknown line figure are ranked in each use."""
        groups = [
            one._replace(sets=[some] if some else NO_SETS)
            for one in head_groups(self._hoped.heads)
            for some in one.sets
        ]
        left = [_open_heads(group, use) for group in groups]
        while any(some.any() for some in left):
            heads = HeadUnits([group.some(some) for group, some in zip(groups, left, strict=True)])
            hoped = replace(self._plain, heads=heads, scoring=self._hoped.scoring)
            found = self._ranked(hoped, HEAD_UNIT, use)
            if found is None:
                return
            (head,) = _filling(found, HEAD_UNIT)
            causes = [_cause(group, head) for group in groups]
            left = [some & (one.table.cause != cause) for some, one, cause in zip(left, groups, causes, strict=True)]
            yield found

    def _speakers(self, place: str) -> Iterator[Found]:
        """Loudspeakers at a place; they and their adapters are assumed known at the other places as well."""
        every = table_of(self._hoped.speakers[place])
        unknown = np.array([is_incomplete(one) for one in every.classes], np.bool_)
        rows = np.flatnonzero(every.open | unknown[every.group])
        while len(rows):
            found = self._ranked(self._with_speakers(place, every.some(rows)))
            if found is None:
                return
            (one,) = _filling(found, place)
            own = every.some(rows[(every.ids[rows] == _ids(one)).all(axis=1)][:1])
            left = every.some(rows := rows[every.cause[rows] != own.cause[0]])
            # Others that were taken as known, too, may have helped it at other places.
            if self._is_helped(found, place, own, left):
                alone = self._ranked(self._with_speakers(place, own))
                if alone is None:
                    continue
                found = alone
            yield found

    def _is_helped(self, found: Found, place: str, own: CandidateTable, others: CandidateTable) -> bool:
        """Whether a package may benefit at another place from a figure assumed for a different loudspeaker."""
        if any(map(has_unknown_load, (*own.classes, *others.classes))):
            return True
        mine, known = _named(own.ids), _named(others.ids)
        elsewhere = (_ids(_filling(found, other)[0]) for other in self._plain.speakers if other != place)
        return any(known.intersection(some) and not mine.intersection(some) for some in elsewhere)

    def _with_speakers(self, place: str, some: CandidateTable) -> RankingField:
        """The field with only some loudspeakers at one place, assumed known everywhere."""
        now, named = self._plain, _named(some.ids)
        places = {other: self._elsewhere(other, named) for other in now.speakers}
        scoring = self._hoped.scoring if any(map(has_unknown_load, some.classes)) else now.scoring
        return replace(now, speakers=places | {place: Tabled(some)}, scoring=scoring)

    def _elsewhere(self, place: str, named: set[str]) -> Sequence[Candidate]:
        """Candidates of another place, with some parts and adapters assumed known."""
        plain, hoped = (table_of(one.speakers[place]) for one in (self._plain, self._hoped))
        known, same = hoped.holds(named), ~plain.holds(named)
        changed = known.any() or not same.all()
        return Tabled(plain.some(same).joined(hoped.some(known))) if changed else self._plain.speakers[place]

    def _systems(self) -> Iterator[Found]:
        """Bass systems."""
        assert self._hoped.bass is not None
        seen: set[tuple[str, str, str]] = set()
        while True:
            side = self._hoped.bass.only(lambda stock: stock.open().named(seen, without=True))
            found = self._ranked(replace(self._plain, bass=side))
            if found is None:
                return
            seen.add(next(one.bass.name for one in found.fitted if one.bass is not None))
            yield found

    def _beside(self, at: int) -> Iterator[Found]:
        """Packages with each open alternative of an independent slot."""
        slot, now = self._hoped.beside[at], self._plain
        left = [some for some in slot.alternatives if any(one.is_open for one in some)]
        while left:
            beside = [*now.beside[:at], replace(slot, alternatives=left), *now.beside[at + 1 :]]
            found = self._ranked(replace(now, beside=beside))
            if found is None:
                return
            mine = _about(_filling(found, slot.slot), slot)
            left = [some for some in left if _about(some, slot) != mine]
            yield found

    def _amplifiers(self) -> Iterator[Found]:
        """Amplifiers: a package has none, one or two; each is ranked by itself, in each use.

        First those in the best package with all amplifiers assumed known, then in the best without these, and so on,
        until that package is worse than the best one found: none by itself can be better.
        """
        left, driven = self._open_amplifiers, list[Found]()
        while True:
            bound = self._best_driven(left) if left else None
            while driven and (bound is None or bound.order > driven[0].order):
                yield driven.pop(0)
            if bound is None:
                return
            asked = {one.candidate.part_id for one in bound.fitted if one.candidate.slot in AMPLIFIERS} & left.keys()
            every = (self._best_driven({name}, use) for name in sorted(asked, key=str) for use in left[name])
            driven = sorted([*driven, *(one for one in every if one is not None)], key=lambda one: one.order)
            left = {name: uses for name, uses in left.items() if name not in asked}

    @cached_property
    def _open_amplifiers(self) -> dict[str | None, list[Use]]:
        """Uses to rank of each amplifier with open figures."""
        every, modes = self._hoped.amplifiers, [plan.modes(SOURCES[AMPLIFIER]) for plan in self._plain.plans]
        unknown = np.array([is_incomplete(one) for one in every.classes], np.bool_)[every.cells["group"]]
        rows = np.flatnonzero(unknown | every.cells["playing_open"])
        uses = {True: list[Use](dict.fromkeys(modes)), False: list[Use]([None])}
        return {every.cells["part_id"][row]: uses[bool(unknown[row])] for row in rows.tolist()}

    def _best_driven(self, parts: Collection[str | None], use: Use = None) -> Found | None:
        """The best package with one of some amplifiers, all assumed known, in any task."""
        plain, hoping = self._plain, self._hoped.amplifiers
        every = hoping.some(hoping.of_parts(parts)) + plain.amplifiers.some(~plain.amplifiers.of_parts(parts))
        known = replace(plain, amplifiers=every, scoring=self._hoped.scoring)
        pins = (
            PinnedSlot(task, lambda those: those.of_parts(parts)) for task in AMPLIFIERS[: 1 + (plain.bass is not None)]
        )
        ways = (self._ranked(replace(known, pins=(*plain.pins, pin)), AMPLIFIER, use) for pin in pins)
        return min((one for one in ways if one is not None), key=lambda found: found.order, default=None)

    def _ranked(self, one: RankingField, slot: str = "", use: Use = None) -> Found | None:
        """The best package of a field that is not worse than the winner, with a source in one use."""
        self.budget.check()
        if use is not None:
            one = replace(one, plans_wanted=lambda plan: plan.modes(SOURCES[slot]) == use)
        hopeful = one.scoring.hopeful
        if hopeful not in self._aids:
            self._aids[hopeful] = line_aids(self.catalog, one.scoring)
        limits = sum_limits(self.question, self.question.job.limits.budget)
        found = best_of(replace(one, aids=self._aids[hopeful]), limits, self.budget, floor=self.best.points)
        self.budget.check()
        return found

    @cached_property
    def _plain(self) -> RankingField:
        """The field as it is; if the vehicle's supply is open, with everything that it powers assumed known."""
        made = gather_field(self.catalog, self.question, CandidatePass(1))
        if supply_code(self.catalog, self.question.job.vehicle_id) == FITS:
            return made
        return replace(made, heads=self._hoped.heads, amplifiers=self._hoped.amplifiers)

    @cached_property
    def _hoped(self) -> RankingField:
        """The field with everything assumed known, including unknown figures of feeds."""
        made = gather_field(self.catalog, self.question, CandidatePass(EVERY, hoping=True))
        return replace(made, bass=None if made.bass is None else made.bass.hopeful())


def _open_heads(group: HeadGroup, use: Use) -> Flags:
    """Head units with an open line figure, if ranked in a use; otherwise those with any other open figure."""
    table, (some,) = group.table, group.sets
    unknown = np.array([is_incomplete(one) for one in table.classes], np.bool_)[table.group]
    found: Flags = unknown if use is not None else (table.open | any(one.is_open for one in some)) & ~unknown
    return found


def _cause(group: HeadGroup, one: Candidate) -> int | None:
    """Number of a head unit's open figures as a cause; None if it is in another group."""
    table, (some,) = group.table, group.sets
    along = [each.part_id for each in one.along if not isinstance(each.signature, LineAid)]
    if along != [each.part_id for each in some]:
        return None
    own = table.cause[(table.ids == _ids(one)).all(axis=1)]
    return int(own[0]) if len(own) else None


def _filling(found: Found, slot: str) -> Alternative:
    """Candidates in a slot of a package, or at a place for loudspeakers."""
    every = (one.candidate for one in found.fitted)
    return tuple(one for one in every if slot in (one.slot, one.opening_id))


def _about(some: Alternative, slot: Beside) -> set[str | None]:
    """Parts with open figures."""
    return {one.part_id for one in some} - slot.known


def _ids(one: Candidate) -> tuple[str, str]:
    """Names of part and adapter."""
    return one.part_id or "", one.adapter_id or ""


def _named(ids: NDArray[np.object_]) -> set[str]:
    """All names of parts and adapters."""
    return set(ids.ravel().tolist()) - {""}
