"""The bass side of a job: all drivers in boxes at its cargo spaces. Start here.

`bass_side` finds what goes in. A `Stock` holds one cargo space as arrays: groups of boxes (`BoxGroup`) with the drivers
that go into them, with verdicts, money and levels, but no points. The ranking reads these (`search/tree/bass.py`); a
`BassSystem` is made only for what stands in an answer (`systems`). Behind it are `feasible` (which drivers go into
which boxes, by the rules), `made` (boxes made to measure), `levels` (how loud) and `nets` (coil wirings).
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
    """Every bass system of a job.

    Parameters
    ----------
    scoring
        Earns the points of drivers and boxes.
    feed_wanted
        The mode and the coil wiring that alone are looked at; None: all.
    """

    stocks: Sequence[Stock]
    scoring: Scoring
    feed_wanted: tuple[str, str] | None = None

    @property
    def ways(self) -> int:
        """Systems, each in every coil wiring that differs in load."""
        counts = sum((stock.ways for stock in self.stocks), Counter[SystemClass]())
        return sum(len(coil_nets_of(*wired)) * many for wired, many in counts.items())

    def tallies(self, opening_id: str) -> tuple[PartTally, PartTally]:
        """Number of drivers and of the catalog's boxes that go into a cargo space."""
        return next((one.going_in for one in self.stocks if one.opening_id == opening_id), (NOTHING, NOTHING))

    def only(self, some: Callable[[Stock], Stock]) -> BassSide:
        """The same with some systems of each cargo space."""
        return replace(self, stocks=[some(one) for one in self.stocks])

    def with_parts(self, parts: Mapping[str, str]) -> BassSide:
        """The same at some cargo spaces alone, with the systems there that have a part."""
        stocks = [one.with_part(parts[one.opening_id]) for one in self.stocks if one.opening_id in parts]
        return replace(self, stocks=stocks)

    def hopeful(self) -> BassSide:
        """The same with each limit of a level that is not known at the greatest that any system has.

        No judged level is over its limits: so no system that is known is judged louder.
        """
        loudest = [one.loudest for stock in self.stocks for one in stock.groups]
        at_1w, travel = np.array(loudest, np.int64).reshape(-1, 2).max(axis=0, initial=NOT_KNOWN).tolist()
        return self.only(lambda one: one.at_least((at_1w, travel)))


def bass_side(catalog: Catalog, question: JobQuestion, scoring: Scoring) -> BassSide:
    """Every bass system for the job's cargo spaces; there is None if nothing may be fastened."""

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
