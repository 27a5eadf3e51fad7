"""The tree of a job: a plan, amplifiers, a head unit, then loudspeakers, bass and what stands beside.

The order of the unions is what keeps the search small: a plan is bounded by its best amplifier class and its best
head units; an amplifier class by its best head units; then the head unit's class, a second amplifier, the bass's class
and coil wiring, its driver, and the pairs of loads that may share a channel group.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np

from matcher.rules.package import AMPLIFIER_CHANNELS
from matcher.rules.rule import FITS, NO
from matcher.search.exact.choices import IMPOSSIBLE, ROWS, SCALE, Alternative, Ints, Part, Union, union_of
from matcher.search.feeds.links import channel_codes
from matcher.search.feeds.plans import Feed, Plan
from matcher.search.scoring import Scoring
from matcher.search.tree.amplifiers import AmplifierClasses, AmplifierPair, AmplifierTable
from matcher.search.tree.bass import BassOptions
from matcher.search.tree.heads import HeadUnits
from matcher.search.tree.places import FeedOptions, Place, feed_options

FEASIBLE = IMPOSSIBLE // 2
"""Above it there is something to choose."""


class _Way(NamedTuple):
    """One or two amplifiers for a plan, bounded by the class of the first."""

    tops: Ints
    cents: Ints
    uses: Ints
    code: int
    first: AmplifierTable
    pair: AmplifierPair | None


class _Rows(NamedTuple):
    """Amplifier classes of one way with one kind of inputs and one verdict, under one union of head units."""

    values: Ints
    cents: Ints
    uses: Ints
    classes: Ints
    way: _Way
    code: int
    profile: int
    heads: Union | None


@dataclass
class JobTree:
    """Everything a job's ranking is made of, as arrays.

    Parameters
    ----------
    plans
        Which source feeds which place.
    profiles
        How many kinds of line inputs there are.
    amplifiers, pairs
        Amplifiers that drive all there is, and pairs of which one drives the bass alone.
    beside
        Slots that no feed concerns.
    """

    plans: Sequence[Plan]
    places: Sequence[Place]
    heads: HeadUnits
    profiles: int
    classes: AmplifierClasses
    amplifiers: AmplifierTable
    pairs: Sequence[AmplifierPair]
    bass: BassOptions | None
    beside: Sequence[Part]
    scoring: Scoring
    sure: bool = False
    """Whether nothing may be left to measure."""
    by_goods: bool = False
    """Whether only the ways to take each part matter that no other beats: to list packages of different goods."""
    must_amplify: bool = False
    """Whether an amplifier has to be there."""
    must_pair: bool = False
    """Whether one has to drive the bass alone."""
    _feeds: dict[Feed, FeedOptions] = field(default_factory=dict)
    _seconds: dict[tuple[int, int], Union | None] = field(default_factory=dict)

    def root(self) -> Sequence[Part]:
        """The whole tree: a union of plans, and what stands beside."""
        return [self._plans, *self.beside]

    @cached_property
    def _plans(self) -> Union:
        bounded = [one for plan in self.plans if (one := self._plan(plan)) is not None]
        values = np.array([values for values, _, _ in bounded], dtype=np.int64).reshape(len(bounded), ROWS)
        cents = np.array([cents for _, cents, _ in bounded], dtype=np.int64)
        return Union(values, cents, None, lambda at: bounded[at][2]())

    @cached_property
    def _head_groups(self) -> int:
        return len(self.heads.groups.least.values)

    def feed(self, feed: Feed) -> FeedOptions:
        """The loudspeakers of a feed on each channel group of its source."""
        if feed not in self._feeds:
            places = [place for name in feed.openings for place in self.places if place.opening_id == name]
            from_head = feed.source == "head_unit"
            groups = self.heads.groups if from_head else self.classes.groups[feed.mode]
            self._feeds[feed] = feed_options(feed, places, groups, by_goods=self.by_goods)
        return self._feeds[feed]

    def _plan(self, plan: Plan) -> tuple[Ints, int, Callable[[], Alternative]] | None:
        """A plan's bounds, its least money, and what opens it; None if nothing fills it."""
        opened = _OpenedPlan(self, plan)
        if not opened.needs_amplifier:
            if self.must_amplify or self.must_pair:
                return None
            heads = opened.heads((), code=FITS)
            if heads is None:
                return None
            return heads.top, heads.least_cents, lambda: (0, [heads])
        ways = opened.ways
        best = max((way.tops[:, 0].max(initial=IMPOSSIBLE) for way in ways), default=IMPOSSIBLE)
        some = [one for at in range(self.profiles) if (one := opened.bounding((at,), code=FITS)) is not None]
        if best <= FEASIBLE or not some:
            return None
        top = np.max([way.tops.max(axis=0) for way in ways], axis=0) + np.max([one.top for one in some], axis=0)
        cents = min(int(way.cents.min()) for way in ways) + min(one.least_cents for one in some)
        return top, cents + opened.driven_cents, lambda: (0, [opened.union()])

    def second(self, pair: int, profile: int) -> Union | None:
        """Amplifiers for the bass alone with these inputs, each class with its bass; None if there is none."""
        key = pair, profile
        if key not in self._seconds:
            self._seconds[key] = self._make_second(self.pairs[pair].second, profile)
        return self._seconds[key]

    def _make_second(self, table: AmplifierTable, profile: int) -> Union | None:
        tops, cents = self.with_bass(table, 0)
        some = np.flatnonzero((self.classes.profile == profile) & (tops[:, 0] > FEASIBLE))
        if not len(some):
            return None

        def make(at: int) -> Alternative:
            one = int(some[at])
            return 0, [table.slot(one), self.bass_on(one, 0)]

        return Union(tops[some], cents[some], table.least_uses[some], make)

    def with_bass(self, table: AmplifierTable, taken: int) -> tuple[Ints, Ints]:
        """Bounds of each amplifier class together with the bass on it, beside so many channels that are taken."""
        tops, cents = self._bass_bounds(taken)
        return np.maximum(table.tops + tops, IMPOSSIBLE), table.least_cents + cents

    def bass_on(self, at: int, taken: int) -> Union:
        """The bass on an amplifier class."""
        assert self.bass is not None
        return self.bass.on(self.classes.bass_sources(taken)[at])

    def _bass_bounds(self, taken: int) -> tuple[Ints, Ints]:
        known: dict[int, tuple[Ints, Ints]] = self.__dict__.setdefault("_bass_known", {})
        if taken not in known:
            on = [self.bass_on(at, taken) for at in range(len(self.classes))]
            tops = np.array([one.top for one in on], dtype=np.int64).reshape(len(on), ROWS)
            known[taken] = tops, np.array([one.least_cents for one in on], dtype=np.int64)
        return known[taken]


class _OpenedPlan:
    """One plan of a job: its amplifiers and head units."""

    def __init__(self, tree: JobTree, plan: Plan) -> None:
        self.tree, self.plan = tree, plan
        self.taken, self.needed = plan.channels("amplifier"), plan.channels("head_unit")
        self.needs_amplifier = plan.amplified or tree.bass is not None
        self._of_head = [feed for feed in plan.feeds if feed.source == "head_unit"]
        self._of_amplifier = [feed for feed in plan.feeds if feed.source == "amplifier"]
        self._heads: dict[tuple[tuple[int, ...], bool, bool], Union | None] = {}

    @cached_property
    def _fed_by_head(self) -> Ints:
        """The tops of what the head unit feeds, by its channel group."""
        nothing = np.zeros((self.tree._head_groups, ROWS), dtype=np.int64)
        return sum((self.tree.feed(feed).tops for feed in self._of_head), nothing)

    def heads(self, profiles: tuple[int, ...], code: int) -> Union | None:
        """The head units for amplifiers with these inputs, with what they feed; `code` is said of all else.

        What is left to measure of the sources costs points once: here if nothing is left of all else.
        """
        return self._kept_heads(profiles, code, bounding=False)

    def bounding(self, profiles: tuple[int, ...], code: int) -> Union | None:
        """What bounds the head units for an amplifier with these inputs, whichever second amplifier there is."""
        return self._kept_heads(profiles, code, bounding=bool(self.tree.pairs))

    def _kept_heads(self, profiles: tuple[int, ...], code: int, *, bounding: bool) -> Union | None:
        key = profiles, code == FITS, bounding
        if key not in self._heads:
            self._heads[key] = self._make_heads(profiles, alone=code == FITS, bounding=bounding)
        return self._heads[key]

    def _make_heads(self, profiles: tuple[int, ...], *, alone: bool, bounding: bool) -> Union | None:
        found = self.tree.heads.by_group(self.needed, profiles, bounding=bounding)
        fed = self._fed_by_head
        keys = [key for key in found if fed[key[0], 0] > FEASIBLE] if len(fed) else []
        if not keys:
            return None
        lost = [self.tree.scoring.unknown(True) if alone and code != FITS else 0 for _, code in keys]
        values = np.array([found[key].top + fed[key[0]] + SCALE * doubt for key, doubt in zip(keys, lost, strict=True)])
        fed_cents = sum(self.tree.feed(feed).least_cents for feed in self._of_head)
        cents = np.array([found[key].least_cents + fed_cents for key in keys], dtype=np.int64)
        uses = np.array([found[key].least_uses for key in keys])

        def make(at: int) -> Alternative:
            feeds = (self.tree.feed(feed).part(keys[at][0]) for feed in self._of_head)
            return lost[at], [found[keys[at]], *feeds]

        return Union(values, cents, uses, make)

    @cached_property
    def _own(self) -> Ints:
        """By amplifier class: whether it has the channels."""
        return channel_codes(AMPLIFIER_CHANNELS, self.tree.classes.channels, self.taken)

    @cached_property
    def _driven(self) -> Ints:
        """By amplifier class: the tops of the loudspeakers that it feeds."""
        tree, classes = self.tree, self.tree.classes
        driven = np.zeros((len(classes), ROWS), dtype=np.int64)
        for feed in self._of_amplifier:
            driven = driven + tree.feed(feed).tops[classes.group[feed.mode]]
        allowed = self._own == FITS if tree.sure else self._own != NO
        return np.where(allowed[:, None], np.maximum(driven, IMPOSSIBLE), IMPOSSIBLE)

    @cached_property
    def driven_cents(self) -> int:
        """The least money of the loudspeakers that an amplifier feeds."""
        return sum(self.tree.feed(feed).least_cents for feed in self._of_amplifier)

    @cached_property
    def ways(self) -> list[_Way]:
        """One amplifier for all, or one for the loudspeakers and one for the bass alone."""
        tree = self.tree
        if not len(tree.classes):
            return []
        if tree.bass is None:
            tops, cents = tree.amplifiers.tops, tree.amplifiers.least_cents
        else:
            tops, cents = tree.with_bass(tree.amplifiers, self.taken)
        alone = self._way(tops, cents, tree.amplifiers.least_uses, FITS, tree.amplifiers, None)
        ways = [] if tree.must_pair else [alone]
        for at, pair in enumerate(tree.pairs if self.plan.amplified else ()):
            seconds = [one for q in range(tree.profiles) if (one := tree.second(at, q)) is not None]
            if seconds:
                top = np.max([one.top for one in seconds], axis=0)
                cents = pair.first.least_cents + min(one.least_cents for one in seconds)
                uses = pair.first.least_uses + np.min([one.least_uses for one in seconds], axis=0)
                ways.append(self._way(pair.first.tops + top, cents, uses, pair.code, pair.first, pair))
        return ways

    def _way(
        self, tops: Ints, cents: Ints, uses: Ints, code: int, first: AmplifierTable, pair: AmplifierPair | None
    ) -> _Way:
        return _Way(np.maximum(self._driven + tops, IMPOSSIBLE), cents, uses, code, first, pair)

    def union(self) -> Union:
        """Every class of amplifiers in every way, as one array."""
        rows = [one for way in self.ways for one in self._rows(way)]
        if not rows:
            return union_of([])
        values, cents, uses = (np.concatenate([one[at] for one in rows]) for at in range(3))
        which = [(one, int(at)) for one in rows for at in one.classes]
        return Union(values, cents, uses, lambda at: self._open(*which[at]))

    def _rows(self, way: _Way) -> list[_Rows]:
        """The amplifier classes of a way by their inputs and by what is said of them."""
        rows, feasible = [], way.tops[:, 0] > FEASIBLE
        code = np.minimum(self._own, way.code)
        for profile in range(self.tree.profiles):
            here = feasible & (self.tree.classes.profile == profile)
            for told in sorted(set(code[here].tolist())):
                find = self.heads if way.pair is None else self.bounding
                heads = find((profile,), told)
                some = np.flatnonzero(here & (code == told))
                if heads is not None:
                    lost = 0 if told == FITS else SCALE * self.tree.scoring.unknown(True)
                    values = way.tops[some] + heads.top + lost
                    cents = way.cents[some] + heads.least_cents + self.driven_cents
                    uses = way.uses[some] + heads.least_uses
                    rows.append(_Rows(values, cents, uses, some, way, told, profile, heads))
        return rows

    def _open(self, rows: _Rows, at: int) -> Alternative:
        """One class of amplifiers in one way."""
        tree, way = self.tree, rows.way
        feeds = [tree.feed(feed).part(int(tree.classes.group[feed.mode][at])) for feed in self._of_amplifier]
        points = 0 if rows.code == FITS else tree.scoring.unknown(True)
        parts: list[Part] = [way.first.slot(at), *feeds]
        if way.pair is not None:
            parts.insert(0, self._seconds(rows))
        else:
            assert rows.heads is not None
            parts.insert(0, rows.heads)
            if tree.bass is not None:
                parts.append(tree.bass_on(at, self.taken))
        return points, parts

    def _seconds(self, rows: _Rows) -> Union:
        """Head units with a second amplifier, by the inputs of the latter."""
        pair = self.tree.pairs.index(rows.way.pair) if rows.way.pair is not None else -1
        alternatives: list[Alternative] = []
        for profile in range(self.tree.profiles):
            second = self.tree.second(pair, profile)
            heads = None if second is None else self.heads(tuple(sorted({rows.profile, profile})), rows.code)
            if second is not None and heads is not None:
                alternatives.append((0, [heads, second]))
        return union_of(alternatives)
