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

from matcher.rules.rule import FITS
from matcher.search.exact.choices import IMPOSSIBLE, ROWS, SCALE, Alternative, Ints, Part, Union, union_of
from matcher.search.feeds.filtering import PlanWants, plan_wants
from matcher.search.feeds.plans import Feed, Plan
from matcher.search.scoring import Scoring
from matcher.search.tree.heads import HeadUnitSlot
from matcher.search.tree.places import FeedOptions, PlaceLoudspeakers, feed_options
from matcher.search.tree.ways import FEASIBLE, AmplifierWay, AmplifierWays


class _Rows(NamedTuple):
    """Amplifier classes of one way with equal inputs and verdict, under one union of head units."""

    values: Ints
    cents: Ints
    uses: Ints
    classes: Ints
    way: AmplifierWay
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
    amplifiers
        Amplifiers, with the bass that they drive.
    beside
        Slots that no feed involves.
    """

    plans: Sequence[Plan]
    places: Sequence[PlaceLoudspeakers]
    heads: HeadUnitSlot
    amplifiers: AmplifierWays
    beside: Sequence[Part]
    scoring: Scoring
    must_amplify: bool = False
    """Whether an amplifier is required."""
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
            groups = self.heads.groups if feed.source == "head_unit" else self.amplifiers.classes.groups[feed.mode]
            return feed_options(feed, places, groups)

        options: FeedOptions = self._once(feed, make)
        return options

    def drives_bass(self, plan: Plan) -> bool:
        """Whether a plan needs an amplifier."""
        return plan.amplified or self.amplifiers.bass is not None

    def _bound(self, plan: Plan) -> tuple[Ints, int] | None:
        """A plan's bounds and minimum money; None if it cannot be filled."""
        driven = self.drives_bass(plan)
        if not driven and (self.must_amplify or self.amplifiers.must_pair):
            return None
        inputs = self.amplifiers.profiles if driven else None
        needed, bounding = plan.channels("head_unit"), driven and bool(self.amplifiers.pairs)
        groups, tops, cents = self.heads.every(needed, inputs, self.wants(plan), bounding=bounding)
        values = tops + self.fed_by_head(plan)[groups]
        top = values.max(axis=0, initial=IMPOSSIBLE)
        if driven:
            amplifiers, own_cents = self.amplifiers.bounds(plan.channels("amplifier"), plan.amplified)
            most = (amplifiers + self.driven(plan)).max(axis=0, initial=IMPOSSIBLE)
            top, cents = np.where(most > FEASIBLE, top + most, IMPOSSIBLE), cents + own_cents
        return (top, cents + self.fed_cents(plan.feeds)) if top[0] > FEASIBLE else None

    def wants(self, plan: Plan) -> PlanWants:
        """Filters and wire that a plan needs."""
        return plan_wants(plan, bass=self.amplifiers.bass is not None)

    def fed_by_head(self, plan: Plan) -> Ints:
        """Bounds of the head unit's feeds, by its channel group."""
        nothing = np.zeros((len(self.heads.groups), ROWS), dtype=np.int64)
        return sum((self.feed(feed).tops for feed in plan.feeds if feed.source == "head_unit"), nothing)

    def driven(self, plan: Plan) -> Ints:
        """Bounds of an amplifier's feeds, by its class."""
        nothing = np.zeros((len(self.amplifiers.classes), ROWS), dtype=np.int64)
        return sum((self._by_class(feed) for feed in plan.feeds if feed.source == "amplifier"), nothing)

    def _by_class(self, feed: Feed) -> Ints:
        tops: Ints = self._once(
            (feed, "by class"), lambda: self.feed(feed).tops[self.amplifiers.classes.group[feed.mode]]
        )
        return tops

    def fed_cents(self, feeds: Sequence[Feed]) -> int:
        """Minimum money of the loudspeakers on some feeds."""
        return sum(self.feed(feed).least_cents for feed in feeds)


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
        return self._kept_heads(profiles, code, bounding=bool(self.tree.amplifiers.pairs))

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
        ways = self.tree.amplifiers.ways(self.taken, self.plan.amplified)
        rows = [one for way in ways for one in self._rows(way, driven)]
        if not rows:
            return union_of([])
        values, cents, uses = (np.concatenate([one[at] for one in rows]) for at in range(3))
        ends = np.cumsum([len(one.classes) for one in rows])

        def make(at: int) -> Alternative:
            which = int(np.searchsorted(ends, at, side="right"))
            return self._open(rows[which], int(rows[which].classes[at - ends[which]]))

        return Union(values, cents, uses, make)

    def _rows(self, way: AmplifierWay, driven: Ints) -> list[_Rows]:
        """The amplifier classes of a way, by inputs and verdict."""
        rows, tops = [], way.tops + driven
        feasible, driven_cents = tops[:, 0] > FEASIBLE, self.tree.fed_cents(self._of_amplifier)
        code = np.minimum(self.tree.amplifiers.own_codes(self.taken), way.code)
        for profile in range(self.tree.amplifiers.profiles):
            here = feasible & (self.tree.amplifiers.classes.profile == profile)
            for verdict in sorted(set(code[here].tolist())):
                find = self.heads if way.pair is None else self.bounding
                heads = find((profile,), verdict)
                some = np.flatnonzero(here & (code == verdict))
                if heads is not None:
                    lost = SCALE * self.tree.scoring.unknown(verdict)
                    values = tops[some] + heads.top + lost
                    cents = way.cents[some] + heads.least_cents + driven_cents
                    uses = way.uses[some] + heads.least_uses
                    rows.append(_Rows(values, cents, uses, some, way, verdict, profile, heads))
        return rows

    def _open(self, rows: _Rows, at: int) -> Alternative:
        """One class of amplifiers in one way."""
        tree, way = self.tree, rows.way
        feeds = [tree.feed(feed).part(int(tree.amplifiers.classes.group[feed.mode][at])) for feed in self._of_amplifier]
        points = tree.scoring.unknown(rows.code)
        parts: list[Part] = [way.first.slot(at), *feeds]
        if way.pair is not None:
            parts.insert(0, self._seconds(rows, way.pair))
        else:
            assert rows.heads is not None
            parts.insert(0, rows.heads)
            if tree.amplifiers.bass is not None:
                parts.append(tree.amplifiers.bass_on(at, self.taken))
        return points, parts

    def _seconds(self, rows: _Rows, pair: int) -> Union:
        """Head units with a second amplifier, by its inputs."""
        alternatives: list[Alternative] = []
        for profile in range(self.tree.amplifiers.profiles):
            second = self.tree.amplifiers.second(pair, profile)
            heads = None if second is None else self.heads((rows.profile, profile), rows.code)
            if second is not None and heads is not None:
                alternatives.append((0, [heads, second]))
        return union_of(alternatives)
