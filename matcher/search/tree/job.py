"""The tree of a job: plan, amplifiers, head unit, then loudspeakers, bass and independent slots.

The order of the unions keeps the search small: a plan is bounded by its best amplifier class and its best head units;
an amplifier class by its best head units; then the head unit's class, a second amplifier, the bass's class and coil
wiring, its driver, and the pairs of loads that may share a channel group.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from matcher.rules.package import AMPLIFIER_CHANNELS
from matcher.rules.rule import FITS, NO
from matcher.search.exact.choices import ENDLESS, IMPOSSIBLE, ROWS, SCALE, Alternative, Ints, Part, Union, union_of
from matcher.search.feeds.filtering import PlanWants, plan_wants
from matcher.search.feeds.links import channel_codes
from matcher.search.feeds.plans import Feed, Plan
from matcher.search.scoring import Scoring
from matcher.search.tree.amplifiers import AmplifierClasses, AmplifierPair, AmplifierTable
from matcher.search.tree.bass import BassOptions
from matcher.search.tree.heads import HeadUnitSlot
from matcher.search.tree.places import FeedOptions, PlaceLoudspeakers, feed_options

FEASIBLE = IMPOSSIBLE // 2
"""Relaxed values above this are possible choices."""


class _Way(NamedTuple):
    """One or two amplifiers for a plan, bounded by the class of the first."""

    tops: Ints
    cents: Ints
    uses: Ints
    code: int
    first: AmplifierTable
    pair: AmplifierPair | None


class _Rows(NamedTuple):
    """Amplifier classes of one way with equal inputs and verdict, under one union of head units."""

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
    """The input of a job's ranking, as arrays.

    Parameters
    ----------
    plans
        The source of each place.
    profiles
        Number of kinds of line inputs.
    amplifiers, pairs
        Amplifiers that drive everything, and pairs of which one drives only the bass.
    beside
        Slots that no feed involves.
    """

    plans: Sequence[Plan]
    places: Sequence[PlaceLoudspeakers]
    heads: HeadUnitSlot
    profiles: int
    classes: AmplifierClasses
    amplifiers: AmplifierTable
    pairs: Sequence[AmplifierPair]
    bass: BassOptions | None
    beside: Sequence[Part]
    scoring: Scoring
    sure: bool = False
    """Whether nothing may be open."""
    must_amplify: bool = False
    """Whether an amplifier is required."""
    must_pair: bool = False
    """Whether one for bass alone is required."""
    _known: dict[object, Any] = field(default_factory=dict)
    """Arrays shared by several plans, computed once."""

    def root(self) -> Sequence[Part]:
        """Return the whole tree: a union of plans, and independent slots."""
        return [self._plans, *self.beside]

    @cached_property
    def _plans(self) -> Union:
        """Every plan that can be filled; each is opened only when its bound is the highest."""
        bounded = [(plan, *bound) for plan in self.plans if (bound := self._bound(plan)) is not None]
        lost = [plan.without_fader * self.scoring.shared for plan, *_ in bounded]
        values = np.array([values for _, values, _ in bounded], dtype=np.int64).reshape(len(bounded), ROWS)
        values += SCALE * np.array(lost, dtype=np.int64)[:, None]
        cents = np.array([cents for *_, cents in bounded], dtype=np.int64)
        return Union(values, cents, None, lambda at: (lost[at], [_OpenedPlan(self, bounded[at][0]).union()]))

    def _once(self, key: object, make: Callable[[], Any]) -> Any:
        if key not in self._known:
            self._known[key] = make()
        return self._known[key]

    def feed(self, feed: Feed) -> FeedOptions:
        """The loudspeakers of a feed on each channel group of its source."""

        def make() -> FeedOptions:
            places = [place for name in feed.openings for place in self.places if place.opening_id == name]
            groups = self.heads.groups if feed.source == "head_unit" else self.classes.groups[feed.mode]
            return feed_options(feed, places, groups)

        options: FeedOptions = self._once(feed, make)
        return options

    def drives_bass(self, plan: Plan) -> bool:
        """Whether a plan needs an amplifier."""
        return plan.amplified or self.bass is not None

    def _bound(self, plan: Plan) -> tuple[Ints, int] | None:
        """A plan's bounds and minimum money; None if it cannot be filled."""
        driven = self.drives_bass(plan)
        if not driven and (self.must_amplify or self.must_pair):
            return None
        groups, tops, cents = self._every_head(plan.channels("head_unit"), driven, self.wants(plan))
        values = tops + self.fed_by_head(plan)[groups]
        top = values.max(axis=0, initial=IMPOSSIBLE)
        if driven:
            amplifiers, own_cents = self._every_way(plan.channels("amplifier"), plan.amplified)
            most = (amplifiers + self.driven(plan)).max(axis=0, initial=IMPOSSIBLE)
            top, cents = np.where(most > FEASIBLE, top + most, IMPOSSIBLE), cents + own_cents
        return (top, cents + self.fed_cents(plan.feeds)) if top[0] > FEASIBLE else None

    def wants(self, plan: Plan) -> PlanWants:
        """Filters and wire that a plan needs."""
        return plan_wants(plan, bass=self.bass is not None)

    def _every_head(self, needed: int, driven: bool, wanted: PlanWants) -> tuple[Ints, Ints, int]:
        """Head units for any amplifier or none: channel groups, bounds, minimum money."""

        def make() -> tuple[Ints, Ints, int]:
            inputs = [(at,) for at in range(self.profiles)] if driven else [()]
            bounding = driven and bool(self.pairs)
            every = [
                (group, union.top + SCALE * self.scoring.unknown(code), union.least_cents)
                for profile in inputs
                for (group, code), union in self.heads.by_group(needed, profile, wanted, bounding=bounding).items()
            ]
            groups = np.array([group for group, _, _ in every], dtype=np.int64)
            tops = np.array([top for _, top, _ in every], dtype=np.int64).reshape(len(every), ROWS)
            return groups, tops, min((cents for *_, cents in every), default=ENDLESS)

        found: tuple[Ints, Ints, int] = self._once(("heads", needed, driven, wanted), make)
        return found

    def _every_way(self, taken: int, amplified: bool) -> tuple[Ints, int]:
        """Bounds of each amplifier class in any way, IMPOSSIBLE if it lacks channels, and minimum money."""

        def make() -> tuple[Ints, int]:
            ways = self.ways(taken, amplified)
            nothing = np.full((len(self.classes), ROWS), IMPOSSIBLE, dtype=np.int64)
            tops: Ints = np.max([nothing, *(way.tops for way in ways)], axis=0)
            return tops, min((int(way.cents.min()) for way in ways), default=ENDLESS)

        found: tuple[Ints, int] = self._once(("ways", taken, amplified, "bound"), make)
        return found

    def fed_by_head(self, plan: Plan) -> Ints:
        """Bounds of the head unit's feeds, by its channel group."""
        nothing = np.zeros((len(self.heads.groups), ROWS), dtype=np.int64)
        return sum((self.feed(feed).tops for feed in plan.feeds if feed.source == "head_unit"), nothing)

    def driven(self, plan: Plan) -> Ints:
        """Bounds of an amplifier's feeds, by its class."""
        nothing = np.zeros((len(self.classes), ROWS), dtype=np.int64)
        return sum((self._by_class(feed) for feed in plan.feeds if feed.source == "amplifier"), nothing)

    def _by_class(self, feed: Feed) -> Ints:
        tops: Ints = self._once((feed, "by class"), lambda: self.feed(feed).tops[self.classes.group[feed.mode]])
        return tops

    def fed_cents(self, feeds: Sequence[Feed]) -> int:
        """Minimum money of the loudspeakers on some feeds."""
        return sum(self.feed(feed).least_cents for feed in feeds)

    def own_codes(self, taken: int) -> Ints:
        """Whether each amplifier class has this many channels."""
        codes: Ints = self._once(
            ("own", taken), lambda: channel_codes(AMPLIFIER_CHANNELS, self.classes.channels, taken)
        )
        return codes

    def ways(self, taken: int, amplified: bool) -> list[_Way]:
        """One amplifier for everything, or one for the loudspeakers and one for the bass; without their feeds."""
        ways: list[_Way] = self._once(("ways", taken, amplified), lambda: self._make_ways(taken, amplified))
        return ways

    def _make_ways(self, taken: int, amplified: bool) -> list[_Way]:
        if not len(self.classes):
            return []
        own = self.own_codes(taken)
        lacking = np.where(own == FITS if self.sure else own != NO, 0, IMPOSSIBLE)[:, None]
        table = self.amplifiers
        tops, cents = table.tops, table.least_cents
        if self.bass is not None:
            tops, cents = self.with_bass(table, taken)
        ways = [] if self.must_pair else [_Way(tops + lacking, cents, table.least_uses, FITS, table, None)]
        for at, pair in enumerate(self.pairs if amplified else ()):
            seconds = [one for q in range(self.profiles) if (one := self.second(at, q)) is not None]
            if seconds:
                top = np.max([one.top for one in seconds], axis=0)
                cents = pair.first.least_cents + min(one.least_cents for one in seconds)
                uses = pair.first.least_uses + np.min([one.least_uses for one in seconds], axis=0)
                ways.append(_Way(pair.first.tops + top + lacking, cents, uses, pair.code, pair.first, pair))
        return ways

    def second(self, pair: int, profile: int) -> Union | None:
        """Amplifiers for bass alone with these inputs, each class with its bass; None if there is none."""
        second: Union | None = self._once(
            ("second", pair, profile), lambda: self._make_second(self.pairs[pair].second, profile)
        )
        return second

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
        """Bounds of each amplifier class including its bass, with this many channels in use."""
        tops, cents = self._bass_bounds(taken)
        return np.maximum(table.tops + tops, IMPOSSIBLE), table.least_cents + cents

    def bass_on(self, at: int, taken: int) -> Union:
        """The bass on an amplifier class."""
        assert self.bass is not None
        sources, number = self.classes.bass_sources(taken)
        return self.bass.on(sources[number[at]])

    def _bass_bounds(self, taken: int) -> tuple[Ints, Ints]:
        assert self.bass is not None
        known = self.bass.bounds
        if taken not in known:
            sources, number = self.classes.bass_sources(taken)
            on = [self.bass.on(one) for one in sources]
            tops = np.array([one.top for one in on], dtype=np.int64).reshape(len(on), ROWS)
            known[taken] = tops[number], np.array([one.least_cents for one in on], dtype=np.int64)[number]
        return known[taken]


class _OpenedPlan:
    """One plan of a job: its amplifiers and head units."""

    def __init__(self, tree: JobTree, plan: Plan) -> None:
        self.tree, self.plan = tree, plan
        self.taken = plan.channels("amplifier")
        self._of_head = [feed for feed in plan.feeds if feed.source == "head_unit"]
        self._of_amplifier = [feed for feed in plan.feeds if feed.source == "amplifier"]
        self._heads: dict[tuple[tuple[int, ...], int, bool], Union | None] = {}

    def heads(self, profiles: tuple[int, ...], code: int) -> Union | None:
        """Head units for amplifiers with these inputs, with their feeds; `code` is that of everything else.

        Open verdicts of the sources cost points once: here, the loss in addition to that of everything else.
        """
        return self._kept_heads(profiles, code, bounding=False)

    def bounding(self, profiles: tuple[int, ...], code: int) -> Union | None:
        """Bounds of the head units for an amplifier with these inputs, with any second amplifier."""
        return self._kept_heads(profiles, code, bounding=bool(self.tree.pairs))

    def _kept_heads(self, profiles: tuple[int, ...], code: int, *, bounding: bool) -> Union | None:
        key = profiles, code, bounding
        if key not in self._heads:
            self._heads[key] = self._make_heads(profiles, code, bounding=bounding)
        return self._heads[key]

    def _make_heads(self, profiles: tuple[int, ...], beside: int, *, bounding: bool) -> Union | None:
        tree = self.tree
        needed, wanted = self.plan.channels("head_unit"), tree.wants(self.plan)
        found = tree.heads.by_group(needed, profiles, wanted, bounding=bounding)
        fed, fed_cents = tree.fed_by_head(self.plan), tree.fed_cents(self._of_head)
        keys = [key for key in found if fed[key[0], 0] > FEASIBLE] if len(fed) else []
        if not keys:
            return None
        lost = [tree.scoring.unknown_beside(code, beside) for _, code in keys]
        values = np.array([found[key].top + fed[key[0]] + SCALE * doubt for key, doubt in zip(keys, lost, strict=True)])
        cents = np.array([found[key].least_cents + fed_cents for key in keys], dtype=np.int64)
        uses = np.array([found[key].least_uses for key in keys])

        def make(at: int) -> Alternative:
            feeds = (tree.feed(feed).part(keys[at][0]) for feed in self._of_head)
            return lost[at], [found[keys[at]], *feeds]

        return Union(values, cents, uses, make)

    def union(self) -> Union:
        """Head units, or every amplifier class in every way with its head units, as one array."""
        if not self.tree.drives_bass(self.plan):
            return self.heads((), FITS) or union_of([])
        driven = self.tree.driven(self.plan)
        rows = [one for way in self.tree.ways(self.taken, self.plan.amplified) for one in self._rows(way, driven)]
        if not rows:
            return union_of([])
        values, cents, uses = (np.concatenate([one[at] for one in rows]) for at in range(3))
        ends = np.cumsum([len(one.classes) for one in rows])

        def make(at: int) -> Alternative:
            which = int(np.searchsorted(ends, at, side="right"))
            return self._open(rows[which], int(rows[which].classes[at - ends[which]]))

        return Union(values, cents, uses, make)

    def _rows(self, way: _Way, driven: Ints) -> list[_Rows]:
        """The amplifier classes of a way, by inputs and verdict."""
        rows, tops = [], way.tops + driven
        feasible, driven_cents = tops[:, 0] > FEASIBLE, self.tree.fed_cents(self._of_amplifier)
        code = np.minimum(self.tree.own_codes(self.taken), way.code)
        for profile in range(self.tree.profiles):
            here = feasible & (self.tree.classes.profile == profile)
            for told in sorted(set(code[here].tolist())):
                find = self.heads if way.pair is None else self.bounding
                heads = find((profile,), told)
                some = np.flatnonzero(here & (code == told))
                if heads is not None:
                    lost = SCALE * self.tree.scoring.unknown(told)
                    values = tops[some] + heads.top + lost
                    cents = way.cents[some] + heads.least_cents + driven_cents
                    uses = way.uses[some] + heads.least_uses
                    rows.append(_Rows(values, cents, uses, some, way, told, profile, heads))
        return rows

    def _open(self, rows: _Rows, at: int) -> Alternative:
        """One class of amplifiers in one way."""
        tree, way = self.tree, rows.way
        feeds = [tree.feed(feed).part(int(tree.classes.group[feed.mode][at])) for feed in self._of_amplifier]
        points = tree.scoring.unknown(rows.code)
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
        """Head units with a second amplifier, by its inputs."""
        pair = self.tree.pairs.index(rows.way.pair) if rows.way.pair is not None else -1
        alternatives: list[Alternative] = []
        for profile in range(self.tree.profiles):
            second = self.tree.second(pair, profile)
            heads = None if second is None else self.heads((rows.profile, profile), rows.code)
            if second is not None and heads is not None:
                alternatives.append((0, [heads, second]))
        return union_of(alternatives)
