"""One place against all parts of a share: which go in, by which way, and what their worst rule says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from catalog_schema.ladder import LADDER
from matcher.search.fits.place import DRILLED
from matcher.search.matrix.spots import BARE, PlaceClass, Spot
from matcher.search.matrix.tables import Tables
from matcher.search.matrix.verdicts import DOUBT, FREE, LIMIT, Numbers, RowVerdicts, Telling

NEVER = len(LADDER)
"""No step of the ladder."""
FAR = 1 << 40
"""After every way in."""


class WayParts(NamedTuple):
    """The parts that go through a way in, or all if every pair is told."""

    at: Numbers
    """Where they stand among the share's parts."""
    spot: Numbers
    """Which of the way's spots each takes."""
    takes: Numbers
    """The least step that each takes."""
    order: Numbers
    """Of several ways in for one part that with the least is taken."""


class Shown(NamedTuple):
    """Verdicts of some parts at a place."""

    at: Numbers
    adapter_no: Numbers
    takes: Numbers
    told: Numbers
    """The number of what is told of the worst rule."""


@dataclass(frozen=True)
class Ask:
    """Question for every place of a share."""

    tables: Tables
    telling: Telling
    step: int
    every: bool

    def of(self, place: PlaceClass) -> Shown:
        """Rows for the parts that go in at a place, or for all."""
        if place.closed is not None and not self.every:
            return self._shown([], _NONE, _NONE, _NONE)
        found = [self._through(spots) for spots in place.ways]
        starts = np.cumsum([0, *map(len, place.ways)])
        spots = [spot for way in place.ways for spot in way]
        if len(found) == 1:
            return self._shown(spots, found[0].at, found[0].spot, found[0].takes)
        best = np.full(self._many, FAR, np.int64)
        for way, through in enumerate(found):
            best[through.at] = np.minimum(best[through.at], through.order * len(found) + way)
        takes, spot = np.full(self._many, NEVER, np.int8), np.zeros(self._many, np.int64)
        for way, through in enumerate(found):
            taken = best[through.at] % len(found) == way
            takes[through.at[taken]] = through.takes[taken]
            spot[through.at[taken]] = through.spot[taken] + starts[way]
        at = np.flatnonzero(best < FAR)
        return self._shown(spots, at, spot[at], takes[at])

    def refused(self, place: PlaceClass, shown: Shown) -> Numbers:
        """Of the parts that do not go in, how many each rule refuses first, without an adapter."""
        goes_in = shown.at[shown.takes <= self.step]
        bare = place.ways[0]
        allowed = [spot for spot in bare if spot.step <= self.step]
        counts = np.zeros(FREE, np.int64)
        if not allowed or place.closed is not None:
            counts[LIMIT if not allowed else place.closed] = self._many - len(goes_in)
            return counts
        boldest = allowed[-1]
        counts += self._refuses_all(boldest)
        # A hole that is cut may refuse what the hole as found takes, and any hole what an adapter takes.
        if len(place.ways) > 1 or len(bare) > 1:
            counts -= _count(self._refusing(boldest, goes_in))
        return counts

    @cached_property
    def _many(self) -> int:
        return len(self.tables.part_no)

    def _refuses_all(self, spot: Spot) -> Numbers:
        gate = self.tables.every[0]
        said = gate.first[spot.given[0]]
        passes = said >= DOUBT
        shut = np.bincount(said[~passes], self.tables.many[~passes], FREE).astype(np.int64)
        return shut + _count(self._refusing(spot, self.tables.of_sets(passes)))

    def _refusing(self, spot: Spot, at: Numbers) -> Numbers:
        firm, lifted = self._said(spot, at)
        return firm if self.step >= DRILLED else np.minimum(firm, lifted)

    def _said(self, spot: Spot, at: Numbers) -> tuple[Numbers, Numbers]:
        """Verdicts of some parts at a spot: by the rules of every step, and by those that new screw holes lift."""
        firm, lifted = (np.full(len(at), said.first, np.int8) for said in (spot.firm, spot.lifted))
        for table, sets, given in zip(self.tables.every, self.tables.sets, spot.given, strict=True):
            said = lifted if table.is_lifted else firm
            np.minimum(said, table.first[given].take(sets.take(at)), out=said)
        return firm, lifted

    def _through(self, spots: Sequence[Spot]) -> WayParts:
        """The parts that go through one way in; of its spots that is taken which takes the least."""
        found = [self._at_spot(spot, number) for number, spot in enumerate(spots)]
        if len(found) == 1:
            return found[0]
        best = np.full(self._many, FAR, np.int64)
        takes, order = np.full(self._many, NEVER, np.int8), np.zeros(self._many, np.int64)
        for number, (one, spot) in enumerate(zip(found, spots, strict=True)):
            least = np.where(one.takes <= self.step, one.takes * np.int64(10) + spot.step, self._boldest(spot))
            best[one.at] = np.minimum(best[one.at], least * 2 + number)
            takes[one.at] = np.minimum(takes[one.at], one.takes)
        for number, one in enumerate(found):
            taken = best[one.at] % 2 == number
            order[one.at[taken]] = one.order[taken]
        at = np.flatnonzero(best < FAR)
        return WayParts(at, best[at] % 2, takes[at], order[at])

    def _boldest(self, spot: Spot) -> int:
        """Where a spot stands among those none of which takes a part: the boldest within the step is told."""
        return 1000 - spot.step if spot.step <= self.step else 2000 + spot.step

    def _at_spot(self, spot: Spot, number: int) -> WayParts:
        if self.every:
            at = np.arange(self._many)
        else:
            gate = self.tables.every[0]
            at = self.tables.of_sets(gate.first[spot.given[0]] >= DOUBT)
        firm, lifted = self._said(spot, at)
        takes = np.where(lifted >= DOUBT, np.int8(spot.step), np.int8(max(spot.step, DRILLED)))
        takes[firm < DOUBT] = NEVER
        if not self.every:
            goes_in = takes <= self.step
            at, firm, lifted, takes = at[goes_in], firm[goes_in], lifted[goes_in], takes[goes_in]
        worst = np.where(takes >= DRILLED, firm, np.minimum(firm, lifted))
        order = (FREE - np.where(takes <= self.step, worst, 0).astype(np.int64)) * 10 + takes
        return WayParts(at, np.full(len(at), number), takes, order)

    def _shown(self, spots: Sequence[Spot], at: Numbers, spot: Numbers, takes: Numbers) -> Shown:
        """Rows for some parts, each at its spot."""
        shown = Shown(at, np.full(len(at), BARE, np.int32), takes, np.zeros(len(at), np.int32))
        for number, one in enumerate(spots):
            here = np.flatnonzero(spot == number) if len(spots) > 1 else slice(None)
            shown.adapter_no[here] = one.adapter_no
            shown.told[here] = self._worst(one, at[here], takes[here])
        return shown

    def _worst(self, spot: Spot, at: Numbers, takes: Numbers) -> Numbers:
        """Worst rule of some parts at a spot."""
        key, told = np.full(len(at), spot.firm.key), np.full(len(at), self._number(spot.firm), np.int32)
        drilled = np.where(takes < NEVER, np.minimum(takes, self.step), self.step) >= DRILLED
        self._worsen(key, told, spot.lifted, ~drilled)
        for table, sets, given in zip(self.tables.every, self.tables.sets, spot.given, strict=True):
            p = sets.take(at)
            said = table.key[given].take(p)
            worse = said < key
            if table.is_lifted and self.step >= DRILLED:
                worse &= ~drilled
            np.copyto(key, said, where=worse)
            told[worse] = table.told[given].take(p[worse])
        self._worsen(key, told, spot.beyond, np.ones(len(at), np.bool_))
        return told

    def _worsen(self, key: Numbers, told: Numbers, said: RowVerdicts, where: Numbers) -> None:
        """Put what is said in where it is worse."""
        worse = where & (said.key < key)
        if worse.any():
            key[worse], told[worse] = said.key, self._number(said)

    def _number(self, said: RowVerdicts) -> int:
        return self.telling.number(self.telling.kind, said.key, said.margin, said.tol)


def _count(said: Numbers) -> Numbers:
    """Number of rejections by each rule."""
    return np.bincount(said[said < DOUBT], minlength=FREE)


_NONE = np.zeros(0, np.int64)
