"""Packages that could still win: those that would, were everything open about one of their parts to turn out well.

What is not known costs points. Of one slot after another the candidates about which something is open are ranked as
if it cost them none, the others as they are: what stands below the winner even so can never win by being measured.
A part that stands at several places, or an adapter, is taken as known at each of them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property

from matcher.rules.rule import FITS
from matcher.search.candidates.line_aids import LineAids, line_aids
from matcher.search.catalog.catalog import Catalog
from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.enumeration import SumLimits
from matcher.search.feeds.parts import Candidate
from matcher.search.feeds.plans import Mode, Source
from matcher.search.field import Field, Pin
from matcher.search.fits.families import supply_code
from matcher.search.fits.place import Look
from matcher.search.gathering import gather_field
from matcher.search.options import sum_limits
from matcher.search.packages import Found
from matcher.search.question import HEAD_UNIT, JobQuestion, question_of
from matcher.search.ranking import best_of
from matcher.search.what_if.doubts import (
    SYSTEM,
    Choice,
    Doubt,
    doubt_of,
    filling,
    has_unknown_load,
    is_incomplete,
    system_name,
)
from matcher.search.what_if.forced import AMPLIFIERS
from matcher.settings import Settings

EVERY = 101
"""So many packages are asked for that no candidate is left out for another one: that one may be open as well."""

AMPLIFIER = "amplifier"
SOURCES: dict[str, Source] = {HEAD_UNIT: "head_unit", AMPLIFIER: "amplifier"}
"""By slot: what its parts are to a plan."""
Use = frozenset[Mode] | None
"""How a plan uses the channels of a source of which a figure is not known: each use hangs on others. None: all."""
Contender = tuple[Found, str, tuple[Doubt, Use]]
"""A package that could still win, the slot in which something is open, and what."""


def hoping(settings: Settings) -> Settings:
    """The shop's settings, but that nothing is lost for what is not known."""
    return Settings({**settings.own, "points_unknown": Decimal(0)}, settings.own_words)


@dataclass
class Contenders:
    """The packages of a job that could still win, asked one after another."""

    catalog: Catalog
    question: JobQuestion
    best: Found
    """The winner of now."""
    budget: SearchBudget = field(default_factory=SearchBudget)
    complete: bool = False
    """Whether every one was looked at."""
    missed: int | None = None
    """Until then: the most points that one which was not looked at has; none where that is not known yet."""
    _seen: set[tuple[Doubt, Use]] = field(default_factory=set)
    _driven: dict[tuple[Doubt, Use], Found | None] = field(default_factory=dict)
    _open: dict[str, dict[Doubt, Choice]] = field(default_factory=dict)
    _aids: dict[bool, LineAids] = field(default_factory=dict)
    _asked: set[str] = field(default_factory=set)
    """Amplifiers that were looked at."""

    def each(self, most: int | None = None) -> Iterator[Found]:
        """The most promising first; each with something open about a part that none before it had.

        Parameters
        ----------
        most
            So many are looked at; none: all of them.

        Raises
        ------
        SearchEnded
            where time is over in the midst of it.
        """
        asked = ((slot, use) for slot in self._slots for use in self._uses(slot))
        waiting = [one for slot, use in asked if (one := self._best_at(slot, use)) is not None]
        while waiting:
            waiting.sort(key=lambda one: one[0].order)
            found, slot, (doubt, use) = waiting.pop(0)
            self.missed = found.points  # whatever comes later has no more
            if most == 0:
                return
            if found.name != self.best.name:
                most = None if most is None else most - 1
                yield found
            self._seen.add((doubt, use))
            waiting += [one] if (one := self._best_at(slot, use)) is not None else []
        self.complete, self.missed = True, None

    def together(self) -> Found | None:
        """The best package, were everything that is open about all of them to turn out well."""
        found = self._ranked(self._fresh(replace(self._hoped, k=1)))
        return None if found is None or found.name == self.best.name else found

    def places_of(self, part_id: str) -> set[str] | None:
        """A loudspeaker's family, and the openings at which alone it may stand, whatever is measured of it.

        None for a part of another family.
        """
        if self.catalog.parts("speaker").row(part_id) is None:
            return None
        places = self._hoped.speakers
        return {place for place, some in places.items() if any(one.part_id == part_id for one in some)}

    def _uses(self, slot: str) -> Iterator[Use]:
        """The uses that what is open in a slot is looked at in; amplifiers are so one by one."""
        yield None
        if slot == HEAD_UNIT:
            yield from dict.fromkeys(plan.modes(SOURCES[slot]) for plan in self._plain.plans)

    def _best_at(self, slot: str, use: Use) -> Contender | None:
        """The best package with what is open in one slot taken as known, but for what was seen."""
        if slot == AMPLIFIER:
            return self._best_driven()
        if slot == SYSTEM:
            return self._best_system()
        left = {doubt: some for doubt, some in self._open_at(slot).items() if (doubt, use) not in self._seen}
        if slot == HEAD_UNIT:
            left = {doubt: some for doubt, some in left.items() if is_incomplete(some[0]) == (use is not None)}
        while left:
            found = self._ranked(self._field(self._hoped, slot, list(left.values())), slot, use)
            if found is None:
                return None
            doubt = doubt_of(filling(found, slot))
            own = left.pop(doubt)
            # Others that were taken as known, too, may have helped it at other places.
            alone: Found | None = found
            if self._is_helped(found, slot, own, left.values()):
                alone = self._ranked(self._field(self._hoped, slot, [own]), slot, use)
            if alone is not None:
                return alone, slot, (doubt, use)
            self._seen.add((doubt, use))
        return None

    def _is_helped(self, found: Found, slot: str, own: Choice, others: Collection[Choice]) -> bool:
        """Whether a package may have something at another place that was taken as known for another loudspeaker."""
        if slot not in self._plain.speakers:
            return False
        if any(has_unknown_load(one) for (one,) in (own, *others)):
            return True
        mine, known = _named([own]), _named(others)
        elsewhere = (_named([filling(found, place)]) for place in self._plain.speakers if place != slot)
        return any(some & known and not some & mine for some in elsewhere)

    def _best_system(self) -> Contender | None:
        """The same of bass systems."""
        assert self._hoped.bass is not None
        seen = {system_name(doubt) for doubt, _ in self._seen if doubt[0][0] == SYSTEM}
        side = self._hoped.bass.only(lambda stock: stock.open().named(seen, without=True))
        found = self._ranked(self._fresh(replace(self._plain, bass=side)))
        return None if found is None else (found, SYSTEM, (doubt_of(filling(found, SYSTEM)), None))

    def _best_driven(self) -> Contender | None:
        """The same of amplifiers, of which a package has none, one or two: each by itself, in each use.

        Those are looked at that stand in the best package with all taken as known, then without them, until that
        package is behind the best one found: what any by itself brings is no better.
        """
        every = [one for (one,) in self._open_at(AMPLIFIER).values()] if self._may_drive else []
        left, best = [one for one in every if one.part_id not in self._asked], self._best_asked(every)
        while left:
            bound = self._bounding(left)
            if bound is None or (best is not None and bound.order > best[0].order):
                break
            self._asked |= {str(one.candidate.part_id) for one in bound.fitted if one.candidate.slot in AMPLIFIERS}
            left, best = [one for one in left if one.part_id not in self._asked], self._best_asked(every)
        return best

    def _best_asked(self, every: Sequence[Candidate]) -> Contender | None:
        """The best contender of the amplifiers that were looked at."""
        modes = dict.fromkeys(plan.modes(SOURCES[AMPLIFIER]) for plan in self._plain.plans)
        able = []
        for one in (one for one in every if one.part_id in self._asked):
            for use in modes if is_incomplete(one) else (None,):
                key = (doubt_of((one,)), use)
                if key not in self._seen and (found := self._best_with(one, use)) is not None:
                    able.append((found, AMPLIFIER, key))
        return min(able, key=lambda one: one[0].order, default=None)

    def _bounding(self, left: Sequence[Candidate]) -> Found | None:
        """The best package with one of some amplifiers, were all that is open about all of them known."""
        ways = (self._ranked(way) for way in self._driven_by(self._hoped, {str(one.part_id) for one in left}))
        return min((one for one in ways if one is not None), key=lambda found: found.order, default=None)

    def _best_with(self, one: Candidate, use: Use) -> Found | None:
        """The best package with an amplifier taken as known, in one use."""
        key = (doubt_of((one,)), use)
        if key not in self._driven:
            ways = (self._ranked(way, AMPLIFIER, use) for way in self._driven_by(self._hoped, {str(one.part_id)}))
            some = (found for found in ways if found is not None)
            self._driven[key] = min(some, key=lambda found: found.order, default=None)
        return self._driven[key]

    def _driven_by(self, hoped: Field, parts: set[str]) -> Iterator[Field]:
        """A field in which some amplifiers are known and one of them is pinned, whatever it drives."""
        plain, hoping = self._plain.amplifiers, hoped.amplifiers
        some = hoping.some(hoping.of_parts(parts)) + plain.some(~plain.of_parts(parts))
        for task in AMPLIFIERS if self._plain.bass is not None else AMPLIFIERS[:1]:
            pins = (*self._plain.pins, Pin(task, lambda those: those.of_parts(parts)))
            yield self._fresh(replace(self._plain, amplifiers=some, scoring=hoped.scoring, pins=pins))

    @cached_property
    def _may_drive(self) -> bool:
        """Whether any amplifier would bring as much as the winner, were all that is open about them known."""
        hoped = self._fresh(replace(self._plain, amplifiers=self._hoped.amplifiers, scoring=self._hoped.scoring))
        return self._ranked(hoped) is not None

    def _ranked(self, one: Field, slot: str = "", use: Use = None) -> Found | None:
        """The best package of a field that is not behind the winner of now, with a source in one use."""
        self.budget.check()
        if use is not None:
            one = replace(one, plans_wanted=lambda plan: plan.modes(SOURCES[slot]) == use)
        found = best_of(one, self._limits, self.budget, floor=self.best.points)
        self.budget.check()
        return found

    def _fresh(self, one: Field) -> Field:
        """A field with the accessories of its scoring, made once."""
        key = one.scoring.hopeful
        if key not in self._aids:
            self._aids[key] = line_aids(self.catalog, one.scoring)
        return replace(one, aids=self._aids[key])

    def _field(self, hoped: Field, slot: str, some: Sequence[Choice]) -> Field:
        """Everything as it is, but of one slot only these, taken as known."""
        now = self._plain
        if slot == HEAD_UNIT:
            return self._fresh(replace(now, heads=[one for (one,) in some], scoring=hoped.scoring))
        if slot in now.speakers:
            places = {place: self._elsewhere(hoped, place, some) for place in now.speakers}
            wired = any(has_unknown_load(one) for (one,) in some)
            scoring = hoped.scoring if wired else now.scoring
            return self._fresh(replace(now, speakers=places | {slot: [one for (one,) in some]}, scoring=scoring))
        beside = [replace(one, alternatives=list(some)) if one.slot == slot else one for one in now.beside]
        return self._fresh(replace(now, beside=beside))

    def _elsewhere(self, hoped: Field, place: str, some: Sequence[Choice]) -> Sequence[Candidate]:
        """What fills another place for loudspeakers: with the parts and adapters of these it is known there as well."""
        named, plain = _named(some), self._plain.speakers[place]
        known = [one for one in hoped.speakers[place] if {one.part_id, one.adapter_id} & named]
        kept = [one for one in plain if not {one.part_id, one.adapter_id} & named]
        return kept + known if known or len(kept) < len(plain) else plain

    @cached_property
    def _hopeful(self) -> tuple[Catalog, JobQuestion]:
        catalog = self.catalog.with_settings(hoping(self.catalog.settings))
        return catalog, question_of(catalog, self.question.job)

    @cached_property
    def _plain(self) -> Field:
        """Everything as it is; but for what stands open about the vehicle's supply itself, of all that it powers."""
        made = gather_field(self.catalog, self.question, Look(1))
        if supply_code(self.catalog, self.question.job.vehicle_id) == FITS:
            return made
        hoped = self._gathered(Look(1))
        return replace(made, heads=hoped.heads, amplifiers=hoped.amplifiers)

    @cached_property
    def _hoped(self) -> Field:
        """Everything as if it were known; nothing that may still win is left out for what is open as well."""
        return self._gathered(Look(EVERY))

    def _gathered(self, look: Look) -> Field:
        """Candidates that lose nothing for what is open, in a field that hopes for what their feeds do not tell."""
        made = gather_field(*self._hopeful, look)
        bass = None if made.bass is None else made.bass.hopeful()
        return replace(made, scoring=replace(made.scoring, hopeful=True), bass=bass)

    @cached_property
    def _slots(self) -> list[str]:
        hoped = self._hoped
        bass = [] if hoped.bass is None else [SYSTEM]
        return [HEAD_UNIT, *hoped.speakers, AMPLIFIER, *bass, *(slot.slot for slot in hoped.beside)]

    @cached_property
    def _limits(self) -> SumLimits:
        return sum_limits(self.question, self.question.job.limits.budget)

    def _open_at(self, slot: str) -> dict[Doubt, Choice]:
        """The choices of a slot about which something is open, by that, found once."""
        if slot not in self._open:
            self._open[slot] = {doubt_of(some): some for some in self._choices(slot)}
        return self._open[slot]

    def _choices(self, slot: str) -> Iterator[Choice]:
        hoped = self._hoped
        alone = {HEAD_UNIT: hoped.heads, AMPLIFIER: hoped.amplifiers} | hoped.speakers
        if slot in alone:
            yield from ((one,) for one in alone[slot] if one.is_open or is_incomplete(one))
        else:
            (beside,) = (one for one in hoped.beside if one.slot == slot)
            yield from (some for some in beside.alternatives if any(one.is_open for one in some))


def _named(some: Iterable[Choice]) -> set[str]:
    """The parts and adapters of some choices."""
    return {name for each in some for one in each for name in (one.part_id, one.adapter_id) if name is not None}
