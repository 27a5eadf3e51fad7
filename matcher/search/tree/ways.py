"""The ways to amplify a plan: one amplifier for everything, or one for the loudspeakers and one for the bass.

Their bounds do not depend on the loudspeakers, so jobs with equal amplifiers and equal bass share them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np

from matcher.rules.package import AMPLIFIER_CHANNELS
from matcher.rules.rule import FITS, NO
from matcher.search.exact.choices import ENDLESS, IMPOSSIBLE, ROWS, Alternative, Ints, Union
from matcher.search.feeds.links import channel_codes
from matcher.search.tree.amplifiers import AmplifierClasses, AmplifierPair, AmplifierTable
from matcher.search.tree.bass import BassOptions

FEASIBLE = IMPOSSIBLE // 2
"""Relaxed values above this are possible choices."""


class AmplifierWay(NamedTuple):
    """One or two amplifiers for a plan, bounded by the class of the first."""

    tops: Ints
    cents: Ints
    uses: Ints
    code: int
    first: AmplifierTable
    pair: int | None
    """Index of the pair of two amplifiers."""


@dataclass
class AmplifierWays:
    """Every way to amplify a plan, without its loudspeakers.

    Parameters
    ----------
    profiles
        Number of kinds of line inputs.
    one, pairs
        Amplifiers that drive everything, and pairs of which one drives only the bass.
    sure
        Whether nothing may be open.
    must_pair
        Whether one for bass alone is required.
    """

    classes: AmplifierClasses
    profiles: int
    one: AmplifierTable
    pairs: Sequence[AmplifierPair]
    bass: BassOptions | None
    sure: bool
    must_pair: bool

    def __post_init__(self) -> None:
        self.ways, self.bounds, self.second = cache(self._ways), cache(self._bounds), cache(self._second)
        self.own_codes, self._of_bass = cache(self._own_codes), cache(self._bass_bounds)

    def _own_codes(self, taken: int) -> Ints:
        """Whether each amplifier class has this many channels."""
        return channel_codes(AMPLIFIER_CHANNELS, self.classes.channels, taken)

    def _bounds(self, taken: int, amplified: bool) -> tuple[Ints, int]:
        """Bounds of each amplifier class in any way, IMPOSSIBLE if it lacks channels, and minimum money."""
        ways = self.ways(taken, amplified)
        nothing = np.full((len(self.classes), ROWS), IMPOSSIBLE, dtype=np.int64)
        tops: Ints = np.max([nothing, *(way.tops for way in ways)], axis=0)
        return tops, min((int(way.cents.min()) for way in ways), default=ENDLESS)

    def _ways(self, taken: int, amplified: bool) -> list[AmplifierWay]:
        """The ways with this many channels in use for loudspeakers."""
        if not len(self.classes):
            return []
        own = self.own_codes(taken)
        lacking = np.where(own == FITS if self.sure else own != NO, 0, IMPOSSIBLE)[:, None]
        tops, cents = self._with_bass(self.one, taken)
        ways = (
            [] if self.must_pair else [AmplifierWay(tops + lacking, cents, self.one.least_uses, FITS, self.one, None)]
        )
        for at, pair in enumerate(self.pairs if amplified else ()):
            seconds = [one for profile in range(self.profiles) if (one := self.second(at, profile)) is not None]
            if seconds:
                top = np.max([one.top for one in seconds], axis=0)
                cents = pair.first.least_cents + min(one.least_cents for one in seconds)
                uses = pair.first.least_uses + np.min([one.least_uses for one in seconds], axis=0)
                ways.append(AmplifierWay(pair.first.tops + top + lacking, cents, uses, pair.code, pair.first, at))
        return ways

    def _second(self, pair: int, profile: int) -> Union | None:
        """Amplifiers for bass alone with these inputs, each class with its bass; None if there is none."""
        table = self.pairs[pair].second
        tops, cents = self._with_bass(table, 0)
        some = np.flatnonzero((self.classes.profile == profile) & (tops[:, 0] > FEASIBLE))
        if not len(some):
            return None

        def make(at: int) -> Alternative:
            one = int(some[at])
            return 0, [table.slot(one), self.bass_on(one, 0)]

        return Union(tops[some], cents[some], table.least_uses[some], make)

    def bass_on(self, at: int, taken: int) -> Union:
        """Return the bass on an amplifier class."""
        assert self.bass is not None
        sources, number = self.classes.bass_sources(taken)
        return self.bass.on(sources[number[at]])

    def _with_bass(self, table: AmplifierTable, taken: int) -> tuple[Ints, Ints]:
        """Bounds of each amplifier class including its bass, with this many channels in use."""
        if self.bass is None:
            return table.tops, table.least_cents
        tops, cents = self._of_bass(taken)
        return np.maximum(table.tops + tops, IMPOSSIBLE), table.least_cents + cents

    def _bass_bounds(self, taken: int) -> tuple[Ints, Ints]:
        """Bounds of the bass on each amplifier class."""
        assert self.bass is not None
        sources, number = self.classes.bass_sources(taken)
        on = [self.bass.on(one) for one in sources]
        tops = np.array([one.top for one in on], dtype=np.int64).reshape(len(on), ROWS)
        return tops[number], np.array([one.least_cents for one in on], dtype=np.int64)[number]
