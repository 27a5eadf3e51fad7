"""The bass side of a job: all drivers in boxes at its cargo spaces. Start here.

`bass_side` finds the drivers and boxes that fit. A `Stock` holds one cargo space as arrays: groups of boxes
(`BoxGroup`) and their drivers, with verdicts, prices and levels but without points. The ranking reads these
(`search/tree/bass.py`); a `BassSystem` is created only for an answer (`systems`). The modules below: `feasible` (which
drivers fit which boxes, by the rules), `made` (boxes made to measure), `levels` (loudness), `nets` (coil wirings).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from matcher.search.bass.feasible import read_stock
from matcher.search.bass.nets import SystemClass, coil_nets_of
from matcher.search.bass.stock import PartTally, Stock
from matcher.search.catalog.catalog import Catalog
from matcher.search.fits.families import may_hold
from matcher.search.fits.place import Place
from matcher.search.fits.refusing import refuses
from matcher.search.question import BassPlace, JobQuestion
from matcher.search.scoring import NOT_KNOWN, Scoring

NOTHING = PartTally(0, 0)


@dataclass
class BassSide:
    """All bass systems of a job.

    Parameters
    ----------
    scoring
        Points of drivers and boxes.
    feed_wanted
        The only mode and coil wiring to consider; None: all.
    """

    stocks: Sequence[Stock]
    scoring: Scoring
    feed_wanted: tuple[str, str] | None = None

    @property
    def ways(self) -> int:
        """Number of systems, counting each coil wiring with a different load."""
        counts = sum((stock.ways for stock in self.stocks), Counter[SystemClass]())
        return sum(len(coil_nets_of(*wired)) * many for wired, many in counts.items())

    def tallies(self, opening_id: str) -> tuple[PartTally, PartTally]:
        """Number of drivers, and of catalog boxes, that fit a cargo space."""
        return next((one.going_in for one in self.stocks if one.opening_id == opening_id), (NOTHING, NOTHING))

    def only(self, some: Callable[[Stock], Stock]) -> BassSide:
        """Restrict each cargo space to some systems."""
        return replace(self, stocks=[some(one) for one in self.stocks])

    def with_parts(self, parts: Mapping[str, str]) -> BassSide:
        """Restrict the job to some cargo spaces, and each of these to systems with the given part."""
        stocks = [one.with_part(parts[one.opening_id]) for one in self.stocks if one.opening_id in parts]
        return replace(self, stocks=stocks)

    def hopeful(self) -> BassSide:
        """Replace unknown level limits by the best of any system.

        No system is judged louder than its limits allow, so no known system beats these.
        """
        loudest = [one.loudest for stock in self.stocks for one in stock.groups]
        at_1w, travel = np.array(loudest, np.int64).reshape(-1, 2).max(axis=0, initial=NOT_KNOWN).tolist()
        return self.only(lambda one: one.at_least((at_1w, travel)))


def bass_side(catalog: Catalog, question: JobQuestion, scoring: Scoring) -> BassSide:
    """Return all bass systems for the job's cargo spaces; none if nothing may be fastened there."""

    def make() -> BassSide:
        stocks = (_stock(catalog, question.job.vehicle_id, place) for place in question.bass)
        return BassSide([stock for stock in stocks if stock is not None], scoring)

    key = "bass side", question.job.vehicle_id, question.bass, scoring.key, refuses()
    side: BassSide = catalog.once(key, make)
    return side


def _stock(catalog: Catalog, vehicle_id: str, bass: BassPlace) -> Stock | None:
    place = Place("cargo", "enclosure", vehicle_id, bass.opening_id, bass.allowed)
    if not may_hold(catalog, place):
        return None
    key = "bass", place, refuses()
    stock: Stock = catalog.once(key, lambda: read_stock(catalog, vehicle_id, bass.opening_id, bass.allowed))
    return stock
