"""Bass systems that any feed sees as the same: bounds of all of them, and those of them that bring something.

A system is worked out only where a bound on what it brings reaches what is asked. What k others always beat stays
out: they cost no more, have no fewer points, are no less loud by power and by travel, and stand before it by name.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from operator import le
from typing import Any, NamedTuple

from matcher.search.bass.figures import BassSystem
from matcher.search.bass.shelves import BoxAt, Front, Member, foremost, level_on
from matcher.search.exact.entries import MULTIPLIERS, SCALE, Values, brings, relaxed
from matcher.search.feeds.links import Coils
from matcher.search.feeds.parts import SpeakerSignature
from matcher.search.fits.looks import LEAD
from matcher.search.scoring import Scoring, gain_cdb

Merit = tuple[int, int, int, bool]
"""Points, level on 1 W, level at the end of travel (-1: not known), whether unsure."""


class Rivals:
    """Systems that others are held against: those that come later in money, or by name where they cost the same."""

    def __init__(self, k: int, doubt: int) -> None:
        self._k, self._doubt = k, doubt
        self._merits: list[Merit] = []

    def add(self, merit: Merit) -> None:
        """Take in one."""
        self._merits.append(merit)

    def beat(self, merit: Merit) -> bool:
        """Whether k of them always beat one that comes later."""
        points, at_1w, travel, unsure = merit
        beating = 0
        for other_points, other_at_1w, other_travel, other_unsure in self._merits:
            # No fewer points on any feed: on a doubtful one only what is sure by itself loses some.
            lost = self._doubt if unsure and not other_unsure else 0
            if (
                other_points + lost >= points
                and other_at_1w >= at_1w
                and other_travel >= travel
                and other_unsure <= unsure
            ):
                beating += 1
                if beating == self._k:
                    return True
        return False


def unbeaten(systems: Iterable[BassSystem], k: int, doubt: int) -> list[BassSystem]:
    """Kept: systems that fewer than k others beat in money, points and both levels at once."""
    kept: list[BassSystem] = []
    rivals = Rivals(k, doubt)
    for one in sorted(systems, key=lambda one: (one.cents, one.name)):
        merit = merit_of(one)
        if not rivals.beat(merit):
            kept.append(one)
            rivals.add(merit)
    return kept


def merit_of(one: BassSystem) -> Merit:
    """What a system is held against others by."""
    if one.at_1w_cdb is None or one.travel_cdb is None:
        return one.points, -1, -1, one.unsure
    return one.points, one.at_1w_cdb, one.travel_cdb, one.unsure


@dataclass(frozen=True, slots=True)
class BassTop:
    """What systems have at most: alone, by multiplier, and in both levels; and at least in money."""

    values: Values
    fronts: Sequence[Front]
    cents: int


class Pair(NamedTuple):
    """A system by its place in money and name, with bounds on what it brings."""

    cents: int
    name: tuple[str, str, str]
    points: int
    front: Front | None
    """None: its level is not known."""
    unsure: bool
    of: BassSystem | tuple[Member, BoxAt, bool]
    """What is worked out already, or drivers and box, with whether their fit is open."""

    @property
    def system(self) -> BassSystem:
        """The system, worked out."""
        return self.of[0].make(*self.of) if isinstance(self.of, tuple) else self.of

    @property
    def most(self) -> Merit:
        """What its merit is at most."""
        power, travel = (-1, -1) if self.front is None else self.front[:2]
        return self.points, power, travel, self.unsure

    @property
    def least(self) -> Merit:
        """What its merit is at least."""
        power, travel = (-1, -1) if self.front is None else self.front.least
        return self.points, power, travel, self.unsure


class BassGroup:
    """Systems of so many drivers with the same coils and rating: one net after another of the same coils."""

    def __init__(
        self,
        signature: SpeakerSignature,
        nets: tuple[Coils, ...],
        members: Sequence[Member],
        listed: Sequence[BassSystem],
        asked: tuple[int, Scoring, bool],
    ) -> None:
        """`listed` are worked out already: those in boxes made to measure; `asked` is how many packages are, by which
        points, and whether only the leaders are ever worked out."""
        self.signature, self.nets = signature, nets
        self._members, self._listed = members, listed
        self._k, self._scoring, self._leading = asked
        self._doubt = self._scoring.unknown(True)
        self._tops: dict[tuple[tuple[int, ...], bool], BassTop | None] = {}
        self._held: dict[bool, tuple[Values, int, list[BassSystem]]] = {}

    def top(self, multipliers: tuple[int, ...], sure: bool) -> BassTop | None:
        """What no system of the group exceeds, or no sure one; None where there is none."""
        key = (multipliers, sure)
        if key not in self._tops:
            self._tops[key] = self._top(multipliers, sure)
        return self._tops[key]

    def _top(self, multipliers: tuple[int, ...], sure: bool) -> BassTop | None:
        members = [(one, top) for one in self._members if (top := one.tops(multipliers, sure)) is not None]
        listed = [one for one in self._listed if not (sure and one.unsure)]
        values = [top[0] for _, top in members] + [relaxed(one.points, one.cents, multipliers) for one in listed]
        if not values:
            return None
        fronts = [front for one, _ in members for front in one.fronts]
        fronts += [front for one in listed if (front := _front_of(one)) is not None]
        return BassTop(
            tuple(map(max, *values)) if len(values) > 1 else values[0],
            foremost(sorted(fronts, reverse=True)),
            min([one.cents_least(sure) for one, _ in members] + [one.cents for one in listed]),
        )

    def worth(self, need: Values, gain: int | None, sure: bool) -> Sequence[BassSystem]:
        """The systems that bring so much with this gain of a feed, and perhaps others; none that k others beat."""
        most = NO_GAIN if gain is None else gain
        held = self._held.get(sure)
        if held is None or not (self._leading or (held[1] >= most and all(map(le, held[0], need)))):
            wanted = need if held is None else tuple(map(min, need, held[0]))
            # A little more than is asked now: the next one asks for little less.
            wanted = tuple(one - SCALE * MORE for one in wanted)
            most = most if held is None else max(most, held[1])
            pairs = self._leaders(sure) if self._leading else self._bringing(wanted, most, sure)
            held = self._held[sure] = wanted, most, self._worked_out(pairs)
        return held[2]

    def _worked_out(self, pairs: Iterable[Pair]) -> list[BassSystem]:
        """The systems of some pairs, as `unbeaten` keeps them."""
        kept: list[BassSystem] = []
        rivals = Rivals(self._k, self._doubt)
        for pair in sorted(pairs, key=_place):
            if rivals.beat(pair.most):
                continue
            one = pair.system
            merit = merit_of(one)
            if not rivals.beat(merit):
                kept.append(one)
                rivals.add(merit)
        return kept

    def _bringing(self, need: Values, gain: int, sure: bool) -> Iterator[Pair]:
        """The pairs that may bring so much."""
        for one in self._listed:
            if not (sure and one.unsure) and brings(one.points + self._earned(_front_of(one), gain), one.cents, need):
                yield _listed(one)
        for member in self._members:
            top = member.tops(MULTIPLIERS, sure)
            if top is not None:
                earned = SCALE * self._scoring.bass(level_on(member.fronts, gain))
                spare = [value + earned - least for value, least in zip(top[0], need, strict=True)]
                if min(spare) >= 0:
                    tightest = spare.index(min(spare))
                    yield from self._of_member(member, need, gain, sure, (tightest, need[tightest] - earned))

    def _of_member(self, member: Member, need: Values, gain: int, sure: bool, tight: tuple[int, int]) -> Iterator[Pair]:
        """Those of some drivers of one model, without those that k of them always beat.

        `tight` is the multiplier by which they have least to spare, by its position, and what they have to bring by it
        without what their level earns.
        """
        fronts: dict[int, tuple[Front | None, int]] = {}
        found: list[Pair] = []
        for box, is_open in member.worth(MULTIPLIERS[tight[0]], tight[1]):
            if sure and (is_open or box.unsure):
                continue
            if box.sound not in fronts:
                front = member.front(box.sound)
                fronts[box.sound] = front, self._earned(front, gain)
            front, earned = fronts[box.sound]
            points = member.points + box.points + (member.doubt if is_open else 0)
            if brings(points + earned, member.cents + box.cents, need):
                found.append(member_pair(member, box, is_open, front))
        rivals = Rivals(self._k, self._doubt)
        for pair in sorted(found, key=_place):
            if not rivals.beat(pair.most):
                rivals.add(pair.least)
                yield pair

    def _earned(self, front: Front | None, gain: int) -> int:
        """Points for the level at most."""
        return 0 if front is None else self._scoring.bass(min(front.at_1w_cdb + gain, front.travel_cdb))

    def _leaders(self, sure: bool) -> Iterable[Pair]:
        """The best by every multiplier, with what their level earns and without, the loudest, and the cheapest."""
        every = {pair[:2]: pair for pair in self._leading_pairs(sure)}
        found: dict[object, Pair] = {}
        for among in (every.values(), [pair for pair in every.values() if not pair.unsure]):
            for order in self._orders():
                found |= {pair[:2]: pair for pair in heapq.nlargest(LEAD, among, key=order)}
        return found.values()

    def _leading_pairs(self, sure: bool) -> Iterator[Pair]:
        """Of each of the drivers the pairs that may lead."""
        yield from (_listed(one) for one in self._listed if not (sure and one.unsure))
        for member in self._members:
            for among in (True,) if sure else (True, False):
                top = member.tops(MULTIPLIERS, among)
                loudest = (member.cheapest(front.sound, among) for front in member.fronts[:LEAD])
                for box in (*(() if top is None else top[1]), *(one for one in loudest if one is not None)):
                    yield member_pair(member, box, member.sure[box.place] == "0", member.front(box.sound))

    def _orders(self) -> Iterator[Callable[[Pair], Any]]:
        rms = self.signature.rms_w
        gain = gain_cdb(rms) if rms else NO_GAIN
        yield lambda pair: -pair.cents
        yield lambda pair: self._earned(pair.front, gain)
        for times in MULTIPLIERS:
            yield partial(self._value, times, None)
            yield partial(self._value, times, gain)

    def _value(self, times: int, gain: int | None, pair: Pair) -> int:
        earned = 0 if gain is None else self._earned(pair.front, gain)
        return SCALE * (pair.points + earned) - times * pair.cents


NO_GAIN = -(2**40)
"""The gain of a feed whose power is not known: with it no level earns anything."""
MORE = 200
"""So many hundredths of a point more than is asked are looked at."""


def member_pair(member: Member, box: BoxAt, is_open: bool, front: Front | None) -> Pair:
    """Some drivers of one model in a box."""
    points = member.points + box.points + (member.doubt if is_open else 0)
    name = (member.part_id, box.part_id, f"{member.shelf.drivers} {member.shelf.opening_id}")
    unsure = is_open or box.unsure
    return Pair(member.cents + box.cents, name, points, front, unsure, (member, box, is_open))


def _place(pair: Pair) -> tuple[int, tuple[str, str, str]]:
    """Where a pair stands in money and name."""
    return pair[:2]


def _listed(one: BassSystem) -> Pair:
    return Pair(one.cents, one.name, one.points, _front_of(one), one.unsure, one)


def _front_of(one: BassSystem) -> Front | None:
    if one.at_1w_cdb is None or one.travel_cdb is None:
        return None
    return Front(one.at_1w_cdb, one.travel_cdb)
