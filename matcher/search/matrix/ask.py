"""One place against all parts of a share: which parts fit, by which mounting, and their deciding rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from catalog_schema.ladder import LADDER
from matcher.search.fits.place import DRILLED
from matcher.search.matrix.spots import PlaceClass, Spot
from matcher.search.matrix.tables import Tables
from matcher.search.matrix.verdicts import DOUBT, FREE, LIMIT, Numbers

NEVER = len(LADDER)
"""No step of the ladder."""
FAR = 1 << 40
"""Rank after every mounting."""


class Shown(NamedTuple):
    """Verdicts of some parts at a place."""

    at: Numbers
    """Positions among the share's parts."""
    order: Numbers
    """Of several mountings of one part, the one with the lowest value is taken."""
    adapter_no: Numbers
    takes: Numbers
    """Least required step."""
    outcome: Numbers
    """Rank of the deciding rule's outcome."""


@dataclass(frozen=True)
class Ask:
    """Evaluation of every place of a share.

    Parameters
    ----------
    refused, sure
        As in `RankedOutcomes`.
    """

    tables: Tables
    refused: int
    sure: int
    step: int
    every: bool

    def of(self, place: PlaceClass) -> Shown:
        """Return rows for the parts that fit a place, or for all."""
        ways = [] if place.closed is not None and not self.every else map(self._through, place.ways)
        return self._first(list(ways))

    def _through(self, spots: Sequence[Spot]) -> Shown:
        """Parts that fit by one mounting, at the spot with the lowest value."""
        found = list(map(self._at_spot, spots))
        if len(found) == 1:
            return found[0]
        least = []
        for one, spot in zip(found, spots, strict=True):
            # Where none takes a part the boldest within the step decides.
            boldest = 1000 - spot.step if spot.step <= self.step else 2000 + spot.step
            order = np.where(one.takes <= self.step, one.takes * np.int64(10) + spot.step, boldest)
            least.append(one._replace(order=order * FAR + one.order))
        first = self._first(least)
        takes = np.minimum.reduce([one.takes for one in found]) if self.every else first.takes
        return first._replace(order=first.order % FAR, takes=takes)

    def _first(self, found: Sequence[Shown]) -> Shown:
        """The first row of each part, by order and then by sequence."""
        if len(found) == 1:
            return found[0]
        best = np.full(self.tables.parts, np.iinfo(np.int64).max)
        which = np.zeros(self.tables.parts, np.int64)
        for number, one in enumerate(found):
            is_first = one.order < best[one.at]
            best[one.at[is_first]], which[one.at[is_first]] = one.order[is_first], number
        columns = [np.zeros(self.tables.parts, kind) for kind in (np.int32, np.int8, np.int32)]
        for number, one in enumerate(found):
            taken = which[one.at] == number
            for column, own in zip(columns, one[2:], strict=True):
                column[one.at[taken]] = own[taken]
        at = np.flatnonzero(best < np.iinfo(np.int64).max)
        return Shown(at, best[at], *(column[at] for column in columns))

    def _at_spot(self, spot: Spot) -> Shown:
        tables = self.tables
        at = np.arange(tables.parts) if self.every else tables.of_sets(tables.every[0].first[spot.given[0]] >= DOUBT)
        base, bolts = (np.full(len(at), rank, np.int32) for rank in (spot.firm, spot.lifted))
        for table, sets, given in zip(tables.every, tables.sets, spot.given, strict=True):
            worst = bolts if table.is_lifted else base
            np.minimum(worst, table.numbers[given].take(sets.take(at)), out=worst)
        takes = np.where(bolts >= self.refused, np.int8(spot.step), np.int8(max(spot.step, DRILLED)))
        takes[base < self.refused] = NEVER
        goes_in = takes <= self.step
        if not self.every:
            at, base, bolts, takes = at[goes_in], base[goes_in], bolts[goes_in], takes[goes_in]
            goes_in = goes_in[goes_in]
        outcome = np.where(np.where(goes_in, takes, self.step) >= DRILLED, base, np.minimum(base, bolts))
        order = np.where(goes_in, np.where(outcome >= self.sure, 0, 10), FREE * 10) + takes
        return Shown(at, order, np.full(len(at), spot.adapter_no, np.int32), takes, np.minimum(outcome, spot.beyond))

    def refusals(self, place: PlaceClass, shown: Shown) -> Numbers:
        """Count the parts that do not fit by the first rule that refuses them, without an adapter."""
        goes_in = shown.at[shown.takes <= self.step]
        bare = place.ways[0]
        allowed = [spot for spot in bare if spot.step <= self.step]
        counts = np.zeros(FREE, np.int64)
        if not allowed or place.closed is not None:
            counts[LIMIT if not allowed else place.closed] = self.tables.parts - len(goes_in)
            return counts
        boldest, gate = allowed[-1], self.tables.every[0]
        first = gate.first[boldest.given[0]]
        passes = first >= DOUBT
        counts += np.bincount(first[~passes], self.tables.many[~passes], FREE).astype(np.int64)
        counts += self._refusing(boldest, self.tables.of_sets(passes))
        # A hole that is cut may refuse what the hole as found takes, and any hole what an adapter takes.
        if len(place.ways) > 1 or len(bare) > 1:
            counts -= self._refusing(boldest, goes_in)
        return counts

    def _refusing(self, spot: Spot, at: Numbers) -> Numbers:
        """Number of parts that each rule refuses at a spot without an adapter."""
        first = np.full(len(at), FREE, np.int8)
        for table, sets, given in zip(self.tables.every, self.tables.sets, spot.given, strict=True):
            if not (table.is_lifted and self.step >= DRILLED):
                np.minimum(first, table.first[given].take(sets.take(at)), out=first)
        return np.bincount(first[first < DOUBT], minlength=FREE)
