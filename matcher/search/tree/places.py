"""Loudspeakers of a place: channel group, coil wiring, and points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from matcher.rules.rule import FITS, NO
from matcher.search.candidates.table import CandidateTable
from matcher.search.exact.arrays import figures_of, pareto_rows
from matcher.search.exact.choices import (
    CENTS_ONLY,
    ENDLESS,
    IMPOSSIBLE,
    SPREAD,
    Alternative,
    Ints,
    Part,
    Slot,
    Union,
    relaxed_by_cents,
)
from matcher.search.feeds.links import CoilWiring, coil_wirings
from matcher.search.feeds.parts import ByIdentity, SpeakerSignature
from matcher.search.feeds.plans import Feed, Mode
from matcher.search.fits.refusing import refuses
from matcher.search.scoring import Scoring
from matcher.search.tree.channels import OPEN_FEED, ChannelGroups, Feeds, Wired, feeds_of
from matcher.search.tree.tops import LevelTops
from matcher.settings import Settings


class LoudspeakerClass(NamedTuple):
    """A loudspeaker in a coil wiring, as a channel group sees it."""

    load_ohm: Decimal | None
    blocks: int
    rms_w: Decimal | None
    original: bool


class Wiring:
    """Every electrical class of a place in every coil wiring of a feeding mode.

    Parameters
    ----------
    nets
        Coil wirings of each class.
    """

    def __init__(self, classes: Sequence[SpeakerSignature], nets: Sequence[Sequence[CoilWiring]]) -> None:
        kinds: dict[LoudspeakerClass, int] = {}
        by_load: dict[Decimal | None, dict[int, tuple[int, CoilWiring]]] = {}
        for at, (one, some) in enumerate(zip(classes, nets, strict=True)):
            for coils in some:
                kind = LoudspeakerClass(coils.load_ohm, coils.blocks, one.rms_w, one.is_unrated)
                by_load.setdefault(coils.load_ohm, {})[at] = kinds.setdefault(kind, len(kinds)), coils
        self.loads = tuple(sorted(by_load, key=lambda load: (load is None, load)))
        self._coils = [{at: coils for at, (_, coils) in by_load[load].items()} for load in self.loads]
        self.kind_at = np.full((len(self.loads), len(classes)), -1, dtype=np.int64)
        """By load and class, the kind with this load on a group; -1 if there is none."""
        for place, load in enumerate(self.loads):
            for at, (kind_number, _) in by_load[load].items():
                self.kind_at[place, at] = kind_number
        self.kinds = tuple(kinds)

    def coils(self, load: int, group: int) -> CoilWiring:
        """Return the wiring in which a class has a load on a group."""
        return self._coils[load][group]


@dataclass
class PlaceLoudspeakers:
    """The loudspeakers of one opening.

    Parameters
    ----------
    count
        Number of loudspeakers.
    untouched
        Whether an original there keeps its wiring on the original head unit.
    net_wanted
        The only coil wiring to consider; None: all.
    """

    opening_id: str
    count: int
    table: CandidateTable
    scoring: Scoring
    sure: bool
    untouched: bool
    net_wanted: str | None = None

    def __post_init__(self) -> None:
        self._wirings: dict[tuple[bool, Mode], Wiring] = {}
        self.options: dict[object, FeedOptions] = {}
        """Return the place on the channel groups of a feed, alone or sharing them with another place."""

    @cached_property
    def tops(self) -> LevelTops:
        """Bounds of its classes for any feed."""
        table, losses = self.table, self.scoring.losses
        values = relaxed_by_cents(table.points, table.cents)
        some = pareto_rows(values, table.level, table.travel, table.group * (FITS + 1) + table.code)
        limits = table.level[some], table.travel[some]
        nothing = np.zeros(len(some), dtype=np.int64)
        lost = nothing, np.minimum(losses[OPEN_FEED] - losses[table.code[some]], 0)
        rows = table.points[some], table.cents[some], limits, lost, table.group[some]
        return LevelTops(*rows, len(table.classes), self.scoring.level_points)

    @cached_property
    def least_cents(self) -> int:
        """Minimum money of any candidate."""
        return int(self.table.cents.min(initial=ENDLESS))

    def wiring(self, feed: Feed) -> Wiring:
        """Return the coil wirings that a feed allows."""
        key = (self.untouched and feed.source == "head_unit", feed.mode)
        if key not in self._wirings:
            classes = self.table.classes
            self._wirings[key] = Wiring(classes, [self._nets(one, *key) for one in classes])
        return self._wirings[key]

    def _nets(self, one: SpeakerSignature, untouched: bool, mode: Mode) -> list[CoilWiring]:
        wanted = self.net_wanted
        return [coils for coils in coil_wirings(one, self.count, mode, untouched) if wanted in (None, coils.net)]


@dataclass(frozen=True)
class OnFeed:
    """Contents of a place's slot: the feed, its channel group, and the loads on it."""

    place: PlaceOnGroups
    feed: Feed
    group: int
    load: int | None
    """The only load allowed there; None: any."""
    beside: int

    def wired(self, row: int) -> CoilWiring:
        """Return the wiring with the most points for a row: ties go to the better verdict, then to the first."""
        return self.place.best_wiring(row, self.group, self.load, self.beside)


Loads = tuple[Decimal | None, ...]


@lru_cache(maxsize=256)
def feeds_on(
    groups: ChannelGroups,
    kinds: tuple[LoudspeakerClass, ...],
    besides: Loads | None,
    hopeful: bool,
    settings: Settings,
    *,
    is_refusing: bool,
) -> Feeds:
    """Return the feeds of loudspeakers on every group: figures decide them, so questions share them.

    `is_refusing` is only part of the key: verdicts depend on what `refuses` returns.
    """
    wired = Wired(
        figures_of([kind.load_ohm for kind in kinds]),
        np.array([kind.blocks for kind in kinds], dtype=np.int64),
        figures_of([kind.rms_w for kind in kinds]),
        np.array([kind.original for kind in kinds], dtype=np.bool_),
    )
    return feeds_of(groups, wired, None if besides is None else figures_of(besides), hopeful, settings)


class PlaceOnGroups:
    """A place on every channel group of a source in a mode, with each load that may share the group."""

    def __init__(self, place: PlaceLoudspeakers, wiring: Wiring, groups: ChannelGroups, besides: Loads | None) -> None:
        self.place, self.wiring = place, wiring
        scoring = place.scoring
        self._feeds = feeds_on(groups, wiring.kinds, besides, scoring.hopeful, scoring.settings, is_refusing=refuses())
        self._slots: dict[object, Slot] = {}

    @cached_property
    def tops(self) -> Ints:
        """Maximum relaxed values, shape (groups, loads, besides, multipliers of money)."""
        feeds = self._feeds
        allowed = feeds.code == FITS if self.place.sure else feeds.code != NO
        groups, _, besides = allowed.shape
        out = np.full((groups, len(self.wiring.loads), besides, len(CENTS_ONLY)), IMPOSSIBLE, dtype=np.int64)
        tables, at = self.place.tops.tables(feeds.gain)
        is_doubtful = (feeds.code != FITS).astype(np.int64)
        for load, kinds in enumerate(self.wiring.kind_at):
            classes = np.flatnonzero(kinds >= 0)
            kind = kinds[classes]
            tops = tables[at[:, kind], is_doubtful[:, kind], classes[:, None]]
            tops = np.where(allowed[:, kind, :, None], tops, IMPOSSIBLE)
            out[:, load] = tops.max(axis=1, initial=IMPOSSIBLE)
        return out

    def _earned(self, group: int, kind: Ints, beside: int, rows: Ints) -> Ints:
        """Points of rows, each in a wiring, on a group with a parallel load; IMPOSSIBLE if refused."""
        scoring, table, feeds = self.place.scoring, self.place.table, self._feeds
        code, gain = (one[group, kind, beside] for one in (feeds.code, feeds.gain))
        points = scoring.level_points(np.minimum(table.level[rows] + gain, table.travel[rows]))
        lost = np.minimum(scoring.losses[code] - scoring.losses[table.code[rows]], 0)
        allowed = code == FITS if self.place.sure else code != NO
        return np.where(allowed, points + lost, IMPOSSIBLE)

    def slot(self, feed: Feed, group: int, load: int | None, beside: int) -> Slot:
        """Return the loudspeakers on one channel group, with a given load or any, and a parallel load."""
        key = (feed, group, load, beside)
        if key not in self._slots:
            table, every = self.place.table, np.arange(len(self.place.table))
            earned = self._most_earned(every, group, load, beside)
            rows = np.flatnonzero(earned > IMPOSSIBLE // 2)
            fills = OnFeed(self, feed, group, load, beside)
            self._slots[key] = table.slot(rows, fills, TURN, earned[rows])
        return self._slots[key]

    def _most_earned(self, rows: Ints, group: int, load: int | None, beside: int) -> Ints:
        most = np.full(len(rows), IMPOSSIBLE, dtype=np.int64)
        for at in range(len(self.wiring.loads)) if load is None else (load,):
            kind = self.wiring.kind_at[at][self.place.table.group[rows]]
            some = np.flatnonzero(kind >= 0)
            earned = self._earned(group, kind[some], beside, rows[some])
            most[some] = np.maximum(most[some], earned)
        return most

    def best_wiring(self, row: int, group: int, load: int | None, beside: int) -> CoilWiring:
        """Return the wiring with the most points for a row: ties go to the better verdict, then to the first."""
        at_class, rows = int(self.place.table.group[row]), np.array([row])
        found = []
        for at in range(len(self.wiring.loads)) if load is None else (load,):
            kind = int(self.wiring.kind_at[at][at_class])
            if kind >= 0:
                earned = int(self._earned(group, np.array([kind]), beside, rows)[0])
                found.append((-earned, -self._feeds.code[group, kind, beside], at))
        return self.wiring.coils(min(found)[2], at_class)

    def code(self, row: int, group: int, coils: CoilWiring, beside: int) -> int:
        """Return the worst verdict code of a row in a wiring."""
        at = self.wiring.loads.index(coils.load_ohm)
        kind = self.wiring.kind_at[at][self.place.table.group[row]]
        return int(self._feeds.code[group, kind, beside])


TURN = 4
"""Loudspeakers use only money, so they are chosen last."""


class FeedOptions:
    """The loudspeakers of one feed on each channel group of its source."""

    def __init__(self, feed: Feed, places: Sequence[PlaceLoudspeakers], groups: ChannelGroups) -> None:
        self.feed, self.places = feed, places
        wirings = [place.wiring(feed) for place in places]
        besides = [wiring.loads for wiring in reversed(wirings)] if len(places) > 1 else [None]
        self._on = [
            PlaceOnGroups(place, wiring, groups, beside)
            for place, wiring, beside in zip(places, wirings, besides, strict=True)
        ]
        self._parts: dict[int, Part] = {}
        self._money: Ints = self._loads_tops()

    def _loads_tops(self) -> Ints:
        """Shape (groups, alternatives, multipliers of money): alternatives are the pairs of loads on one group."""
        first = self._on[0].tops
        if len(self._on) == 1:
            most: Ints = first.max(axis=1, initial=IMPOSSIBLE)
            return most
        both: Ints = first + self._on[1].tops.transpose(0, 2, 1, 3)
        return both.reshape(len(both), both.shape[1] * both.shape[2], both.shape[3])

    @cached_property
    def tops(self) -> Ints:
        """Maximum relaxed values by channel group, one column per row of multipliers."""
        most: Ints = self._money.max(axis=1, initial=IMPOSSIBLE)[:, SPREAD]
        return most

    @property
    def least_cents(self) -> int:
        """Minimum money of them together."""
        return sum(place.least_cents for place in self.places)

    def part(self, group: int) -> Part:
        """Return the loudspeakers on one channel group: a slot, or a union over the pairs of loads that share it."""
        if group not in self._parts:
            self._parts[group] = self._shared(group) if len(self._on) > 1 else self._alone(group)
        return self._parts[group]

    def _alone(self, group: int) -> Part:
        return self._on[0].slot(self.feed, group, None, 0)

    def _shared(self, group: int) -> Part:
        tops = self._money[group]
        some = np.flatnonzero(tops[:, 0] > IMPOSSIBLE // 2)
        besides = len(self._on[1].wiring.loads)

        def make(at: int) -> Alternative:
            own, beside = divmod(int(some[at]), besides)
            first = self._on[0].slot(self.feed, group, own, beside)
            return 0, [first, self._on[1].slot(self.feed, group, beside, own)]

        cents = np.full(len(some), self.least_cents, dtype=np.int64)
        return Union(tops[some][:, SPREAD], cents, None, make)


def feed_options(feed: Feed, places: Sequence[PlaceLoudspeakers], groups: ChannelGroups) -> FeedOptions:
    """Return the loudspeakers of some places on a feed, cached by places and groups."""
    key = feed, tuple(map(ByIdentity, places)), ByIdentity(groups)
    options = places[0].options
    if key not in options:
        options[key] = FeedOptions(feed, places, groups)
    return options[key]
