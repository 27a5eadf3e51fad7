"""Packages that could still win: those that would if everything open about one of their parts turned out well.

Open figures cost points. Slot by slot, candidates with open figures are ranked without this cost and all others as they
are: a package below the winner even then can never win by measuring. Of candidates with the same open figures only the
best is needed. A part at several places, or an adapter, is assumed known at each of them.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Collection, Hashable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import word_code
from matcher.rules.rule import FITS
from matcher.search.candidates.amplifiers import Amplifiers
from matcher.search.candidates.head_units import NO_SETS, HeadGroup, HeadUnits, head_groups
from matcher.search.candidates.line_aids import LineAids, line_aids
from matcher.search.candidates.loudspeakers import speakers_at
from matcher.search.candidates.table import Alternative, Beside, CandidateTable, Flags, Tabled, table_of
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.choices import Ints
from matcher.search.feeds.parts import Candidate, LineAid, has_unknown_load, is_incomplete
from matcher.search.feeds.plans import Mode, Source
from matcher.search.field import PinnedSlot, RankingField
from matcher.search.fits.families import supply_code
from matcher.search.fits.place import CandidatePass
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.question import HEAD_UNIT, JobQuestion
from matcher.search.ranking import packages_of
from matcher.search.what_if.forced import AMPLIFIERS

EVERY = 101
"""More packages than are asked for, so that no candidate is dropped for a better one that may be open as well."""
MOST_IN_VAIN = 4
"""So many packages without a new cause in a row, and those with the causes seen so far are left out of the search."""
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
    unmeasured: Collection[str] = ()
    """Openings where no part is sure before a figure is known that all of them need: they are left as they are."""
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
        found = self._best(self._hoped)
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
        """By slot, and by use of a source: the best packages with open figures there assumed known."""
        if self.question.dash_id not in self.unmeasured:
            yield self._heads(None)
            for use in self._uses(HEAD_UNIT):
                yield self._heads(use)
        yield from (self._speakers(place) for place in self._hoped.speakers if place not in self.unmeasured)
        for use in dict.fromkeys(use for uses in self._open_amplifiers.values() for use in uses):
            yield self._amplifiers(use)
        if self._hoped.bass is not None:
            yield self._systems()
        yield from map(self._beside, range(len(self._hoped.beside)))

    def _uses(self, slot: str) -> list[Use]:
        return list(dict.fromkeys(plan.modes(SOURCES[slot]) for plan in self._plain.plans))

    def _each_new(
        self,
        fields_without: Callable[[set[Hashable]], list[RankingField]],
        causes_of: Callable[[Found], list[Hashable]],
        alone: Callable[[Found, Hashable], Found | None] = lambda found, cause: found,
    ) -> Iterator[Found]:
        """The best package with each cause: the open figures in it that are assumed known.

        When several packages in a row bring no new cause, those with the causes seen so far are left out of the search.

        Parameters
        ----------
        fields_without
            The fields to search, without some causes.
        causes_of
            The causes in a package.
        alone
            The best package in which nothing but a cause is assumed known.
        """
        seen: set[Hashable] = set()
        waiting: list[Found] = []
        while rankings := [self._ranking(field) for field in fields_without(seen)]:
            before, in_vain = len(seen), 0
            for found in heapq.merge(*rankings, key=lambda one: one.order):
                while waiting and waiting[0].order <= found.order:
                    yield waiting.pop(0)
                new = [cause for cause in dict.fromkeys(causes_of(found)) if cause not in seen]
                seen.update(new)
                by_itself = (alone(found, cause) for cause in new)
                waiting = sorted([*waiting, *(one for one in by_itself if one is not None)], key=lambda one: one.order)
                in_vain = 0 if new else in_vain + 1
                if in_vain == MOST_IN_VAIN:
                    break
            if len(seen) == before:
                break
        yield from waiting

    def _heads(self, use: Use) -> Iterator[Found]:
        """Head units; those with an unknown line figure are ranked in each use."""
        groups = [
            one._replace(sets=[some] if some else NO_SETS)
            for one in head_groups(self._hoped.heads)
            for some in one.sets
        ]

        def without(seen: set[Any]) -> list[RankingField]:
            causes = [[some[at] for some in seen if some[at] is not None] for at in range(len(groups))]
            left = [
                _open_heads(one, use) & ~np.isin(one.table.cause, gone)
                for one, gone in zip(groups, causes, strict=True)
            ]
            heads = HeadUnits([group.some(some) for group, some in zip(groups, left, strict=True)])
            hoped = replace(self._plain, heads=heads, scoring=self._hoped.scoring)
            return [_in_use(hoped, HEAD_UNIT, use)] if any(some.any() for some in left) else []

        def causes(found: Found) -> list[Hashable]:
            (head,) = _filling(found, HEAD_UNIT)
            return [tuple(_cause(group, head) for group in groups)]

        return self._each_new(without, causes)

    def _speakers(self, place: str) -> Iterator[Found]:
        """Loudspeakers at a place; they and their adapters are assumed known at the other places as well."""
        every = table_of(self._hoped.speakers[place])
        unknown = np.array([is_incomplete(one) for one in every.classes], np.bool_)
        rows = np.flatnonzero(every.open | unknown[every.group])

        def row_of(found: Found) -> Ints:
            (one,) = _filling(found, place)
            same: Ints = rows[(every.ids[rows] == _ids(one)).all(axis=1)][:1]
            return same

        def without(seen: set[Any]) -> list[RankingField]:
            left = rows[~np.isin(every.cause[rows], list(seen))]
            return [self._with_speakers(place, every.some(left))] if len(left) else []

        def alone(found: Found, cause: Hashable) -> Found | None:
            own = every.some(row_of(found))
            others = every.some(rows[every.cause[rows] != cause])
            is_helped = self._is_helped(found, place, own, others)
            return self._best(self._with_speakers(place, own)) if is_helped else found

        return self._each_new(without, lambda found: every.cause[row_of(found)].tolist(), alone)

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
        if place in self.unmeasured:
            return self._plain.speakers[place]
        plain, hoped = (table_of(one.speakers[place]) for one in (self._plain, self._hoped))
        known, same = hoped.holds(named), ~plain.holds(named)
        changed = known.any() or not same.all()
        return Tabled(plain.some(same).joined(hoped.some(known))) if changed else self._plain.speakers[place]

    def _systems(self) -> Iterator[Found]:
        """Bass systems."""
        side = self._hoped.bass
        assert side is not None
        side = replace(side, stocks=[one for one in side.stocks if one.opening_id not in self.unmeasured])

        def without(seen: set[Any]) -> list[RankingField]:
            left = side.only(lambda stock: stock.open().named(seen, without=True))
            return [replace(self._plain, bass=left)]

        return self._each_new(without, lambda found: [one.bass.name for one in found.fitted if one.bass is not None])

    def _beside(self, at: int) -> Iterator[Found]:
        """Packages with each open alternative of an independent slot."""
        slot, now = self._hoped.beside[at], self._plain
        some_open = [some for some in slot.alternatives if any(one.is_open for one in some)]

        def without(seen: set[Hashable]) -> list[RankingField]:
            left = [some for some in some_open if _about(some, slot) not in seen]
            beside = [*now.beside[:at], replace(slot, alternatives=left), *now.beside[at + 1 :]]
            return [replace(now, beside=beside)] if left else []

        return self._each_new(without, lambda found: [_about(_filling(found, slot.slot), slot)])

    def _amplifiers(self, use: Use) -> Iterator[Found]:
        """Amplifiers: a package has none, one or two, and each is ranked with all others as they are."""
        some = {name for name, uses in self._open_amplifiers.items() if use in uses}

        def causes(found: Found) -> list[Hashable]:
            parts = {one.candidate.part_id for one in found.fitted if one.candidate.slot in AMPLIFIERS}
            return sorted(parts & some, key=str)

        def alone(found: Found, cause: Hashable) -> Found | None:
            if len(causes(found)) == 1:
                return found
            ways = map(self._best, self._driven({cause}, use))
            return min((one for one in ways if one is not None), key=lambda one: one.order, default=None)

        return self._each_new(lambda seen: self._driven(some - seen, use), causes, alone)

    @cached_property
    def _open_amplifiers(self) -> dict[str | None, list[Use]]:
        """Uses to rank of each amplifier with open figures: all together, or each if a figure of feeds is unknown."""
        every = self._hoped.amplifiers
        unknown = np.array([is_incomplete(one) for one in every.classes], np.bool_)[every.cells["group"]]
        rows = np.flatnonzero((unknown | every.cells["playing_open"]) & self._measured(every))
        uses: dict[bool, list[Use]] = {True: self._uses(AMPLIFIER), False: [None]}
        return {every.cells["part_id"][row]: uses[bool(unknown[row])] for row in rows.tolist()}

    def _driven(self, parts: Collection[Any], use: Use) -> list[RankingField]:
        """The fields with one of some amplifiers in each task, all of them assumed known."""
        if not parts:
            return []
        plain, hoping = self._plain, self._hoped.amplifiers
        hoped, known = (one.of_parts(parts) & self._measured(one) for one in (hoping, plain.amplifiers))
        every = hoping.some(hoped) + plain.amplifiers.some(~known)
        ranked = _in_use(replace(plain, amplifiers=every, scoring=self._hoped.scoring), AMPLIFIER, use)
        pins = (
            PinnedSlot(task, lambda those: those.of_parts(parts)) for task in AMPLIFIERS[: 1 + (plain.bass is not None)]
        )
        return [replace(ranked, pins=(*plain.pins, pin)) for pin in pins]

    def _measured(self, some: Amplifiers) -> Flags:
        """Whether each amplifier is on a spot that is measured."""
        return ~np.isin(some.cells["spot"].astype(str), list(self.unmeasured))

    def _best(self, field: RankingField) -> Found | None:
        return next(self._ranking(field), None)

    def _ranking(self, field: RankingField) -> Iterator[Found]:
        """The packages of a field that are not worse than the winner, in the total order."""
        self.budget.check()
        hopeful = field.scoring.hopeful
        if hopeful not in self._aids:
            self._aids[hopeful] = line_aids(self.catalog, field.scoring)
        field = replace(field, aids=self._aids[hopeful])
        if field.is_bare:
            return
        limits = sum_limits(self.question, self.question.job.limits.budget)
        for found in packages_of(field, limits, budget=self.budget, floor=self.best.points):
            yield found
            self.budget.check()
        self.budget.check()

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


def _about(some: Alternative, slot: Beside) -> frozenset[str | None]:
    """Parts with open figures."""
    return frozenset(one.part_id for one in some) - slot.known


def _in_use(field: RankingField, slot: str, use: Use) -> RankingField:
    """A field with only the plans that put a source to a use."""
    wanted = field.plans_wanted if use is None else lambda plan: plan.modes(SOURCES[slot]) == use
    return replace(field, plans_wanted=wanted)


def _ids(one: Candidate) -> tuple[str, str]:
    """Names of part and adapter."""
    return one.part_id or "", one.adapter_id or ""


def _named(ids: NDArray[np.object_]) -> set[str]:
    """All names of parts and adapters."""
    return set(ids.ravel().tolist()) - {""}
