"""The bass side of a job: every system by what a feed sees of it, at all of its cargo spaces."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

from matcher.search.bass.figures import BassSystem, coil_nets_of
from matcher.search.bass.stock import BassTally, Stock, Wired

NOTHING = Stock("", [], [])


@dataclass
class BassSide:
    """Every bass system of a job."""

    stocks: Sequence[Stock]
    listed: Sequence[BassSystem] | None = None
    """Systems that alone are looked at; none: all there are."""
    feed_wanted: tuple[str, str] | None = None
    """The mode and the coil net that alone are looked at; all where there is none."""

    @cached_property
    def ways(self) -> int:
        """Systems, each in every net that differs in load."""
        if self.listed is not None:
            counts = Counter((one.drivers, one.signature) for one in self.listed)
        else:
            counts = sum((stock.ways for stock in self.stocks), Counter[Wired]())
        return sum(len(coil_nets_of(*wired)) * many for wired, many in counts.items())

    def tallies(self, opening_id: str) -> tuple[BassTally, BassTally]:
        """How many drivers and how many boxes of the catalog go into a cargo space."""
        stock = next((one for one in self.stocks if one.opening_id == opening_id), NOTHING)
        return stock.drivers, stock.boxes

    @property
    def systems(self) -> Iterator[BassSystem]:
        """Every system, each worked out: of a small catalog, or where few parts are left."""
        return iter(self.listed) if self.listed is not None else (one for stock in self.stocks for one in stock.every())

    def only(self, systems: Sequence[BassSystem]) -> BassSide:
        """The same with some systems alone."""
        return replace(self, listed=systems)

    def holding(self, part_id: str) -> list[BassSystem]:
        """The systems that have a part."""
        return [one for stock in self.stocks for one in stock.holding(part_id)]

    def without(self, is_out: Callable[[str, str, str], bool]) -> BassSide:
        """The same without some parts, told by their slot, their opening and their name; what is made has none."""
        left = []
        for stock in self.stocks:
            driver_out, box_out = (partial(is_out, slot, stock.opening_id) for slot in ("bass", "enclosure"))
            left.append(stock.without(driver_out, box_out))
        return replace(self, stocks=left)
