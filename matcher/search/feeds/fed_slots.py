"""The slot of a feed: the loudspeakers of one place, or of two that share a block."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from operator import ge
from typing import TYPE_CHECKING

from matcher.search.exact.entries import (
    MULTIPLIERS,
    WHATEVER,
    Entry,
    Greatest,
    Slot,
    Values,
    add_uses,
    brings,
    greatest_of,
    less,
    undominated,
    widened,
)
from matcher.search.feeds.blocks import Block, Blocks
from matcher.search.feeds.links import Link, Load, SourceSignature
from matcher.search.feeds.parts import AmplifierSignature, fed_by
from matcher.search.feeds.places import Places, Wiring
from matcher.search.feeds.plans import Feed, Mode, Source
from matcher.search.feeds.sides import Side
from matcher.search.feeds.slots import AnySlot, best_by_name, both, entry_of, highest
from matcher.search.scoring import Scoring

if TYPE_CHECKING:
    from matcher.search.fits.looks import Needs

SharedTops = tuple[Load, Load, Greatest, Greatest]
"""The loads of two places on one block, and what each place can add at most."""
Sides = tuple[list[Entry], list[Entry]]
"""The entries of two places at one pair of loads."""


class FedSlot(Slot):
    """The loudspeakers of one feed at one place."""

    def __init__(self, feed: Feed, side: Side, k: int) -> None:
        self._feed, self._side, self._k = feed, side, k
        self._rough: dict[Sequence[int], Greatest | None] = {}

    def made(self, need: Values) -> Sequence[Entry]:
        """The best of every group in every net."""
        every = (self._side.entries(self._feed, load, None, need) for load in self._side.loads)
        return self._best(entry for some in every for entry in some)

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """For each group and net: its greatest value alone and its greatest level, taken together."""
        if multipliers not in self._rough:
            self._rough[multipliers] = self._read_rough(multipliers)
        return self._rough[multipliers]

    def _read_rough(self, multipliers: Sequence[int]) -> Greatest | None:
        tops = (self._side.top(load, None, multipliers) for load in self._side.loads)
        return highest([top for top in tops if top is not None])

    def tell(self, need: Values, needs: Needs) -> None:
        """Of each group what is left to bring by itself, on the feed that gives it most."""
        for load in self._side.loads:
            self._side.tell(load, None, need, needs)

    def _best(self, entries: Iterable[Entry]) -> list[Entry]:
        return undominated(best_by_name(entries), self._k)


class SharedSlot(FedSlot):
    """The loudspeakers of two places that share one block: for every pair of loads, the best of both."""

    _sides_need: Values | None = None
    _sides: Sequence[Sides] = ()

    def __init__(self, feed: Feed, side: Side, other: Side, k: int) -> None:
        super().__init__(feed, side, k)
        self._other = other

    def made(self, need: Values) -> Sequence[Entry]:
        """Every pair of a pair of loads."""
        made: list[Entry] = []
        for first, second in self._both(need):
            pairs = ((a, b) for a in first for b in second if brings(a.points + b.points, a.cents + b.cents, need))
            made += [entry_of((*a.what, *b.what)) for a, b in pairs]
        return self._best(made)

    def greatest(self, multipliers: Sequence[int], need: Values = WHATEVER) -> Greatest | None:
        """A bound that never lists the pairs."""
        tops = [tuple(greatest_of(side, multipliers) for side in sides) for sides in self._both(need)]
        return highest([both(one, other) for one, other in tops if one is not None and other is not None])

    def _read_rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """What each place can add at most, taken together."""
        return highest([both(one, other) for *_, one, other in self._shared_tops(multipliers)])

    def tell(self, need: Values, needs: Needs) -> None:
        """Of each place what the other one leaves to bring."""
        for own, beside, one, other in self._shared_tops(MULTIPLIERS):
            self._side.tell(own, beside, less(need, other[0]), needs)
            self._other.tell(beside, own, less(need, one[0]), needs)

    def _shared_tops(self, multipliers: Sequence[int]) -> Iterator[SharedTops]:
        """For every pair of loads that two places may put on one block, what each place can add at most."""
        for own in self._side.loads:
            for beside in self._other.loads:
                one = self._side.top(own, beside, multipliers)
                other = None if one is None else self._other.top(beside, own, multipliers)
                if one is not None and other is not None:
                    yield own, beside, one, other

    def _both(self, need: Values) -> Sequence[Sides]:
        """For every pair of loads the entries of each place, as far as both together bring so much."""
        if (wider := widened(self._sides_need, need)) is not None:
            self._sides_need, self._sides = wider, list(self._every_pair(wider))
        return self._sides

    def _every_pair(self, need: Values) -> Iterator[Sides]:
        for own, beside, one, other in self._shared_tops(MULTIPLIERS):
            if all(map(ge, add_uses(one[0], other[0]), need)):
                ones = self._best(self._side.entries(self._feed, own, beside, less(need, other[0])))
                some = self._other.entries(self._feed, beside, own, less(need, one[0])) if ones else ()
                if others := self._best(some):
                    yield ones, others


Sources = Callable[[Source, Mode], Iterable[SourceSignature]]
"""Every block of a source, as it is to loudspeakers that are fed in a mode."""


class FeedSide:
    """The feeds of a field: its places on every block that may feed them."""

    def __init__(self, places: Places, blocks: Blocks, sources: Sources, scoring: Scoring, k: int) -> None:
        self._places, self._blocks, self._sources, self._scoring, self._k = places, blocks, sources, scoring, k
        self._sides: dict[tuple[Wiring, Block, bool], Side] = {}
        self._slots: dict[tuple[Feed, SourceSignature | None, bool], Slot] = {}

    def links(self, feeds: Iterable[Feed]) -> set[Link]:
        """The links of some feeds of which it is not known what the rules say."""
        for (source, mode), loads in self._places.loads(feeds).items():
            for block in self._sources(source, mode):
                self._blocks.block(block, mode).stand(loads)
        return self._blocks.unasked

    def told(self) -> None:
        """By now it is known what the rules say of them all."""
        self._blocks.unasked.clear()

    def slot(self, feed: Feed, source: SourceSignature, sure: bool) -> Slot:
        """A feed from one source."""
        if isinstance(source, AmplifierSignature):
            source = fed_by(source, frozenset([feed.mode]))
        key = (feed, source, sure)
        if key not in self._slots:
            one, *others = [self._side(name, feed, source, sure) for name in feed.openings]
            shared = (SharedSlot(feed, one, other, self._k) for other in others)
            self._slots[key] = next(shared, FedSlot(feed, one, self._k))
        return self._slots[key]

    def any_source(self, feed: Feed, sure: bool) -> Slot:
        """A feed from whichever of its sources."""
        key = (feed, None, sure)
        if key not in self._slots:
            sources = self._sources(feed.source, feed.mode)
            self._slots[key] = AnySlot([self.slot(feed, source, sure) for source in sources])
        return self._slots[key]

    def _side(self, opening_id: str, feed: Feed, source: SourceSignature, sure: bool) -> Side:
        """A place on a block: one to all feeds in which it stands there."""
        wiring, block = self._places.wiring(opening_id, feed), self._blocks.block(source, feed.mode)
        key = (wiring, block, sure)
        if key not in self._sides:
            self._sides[key] = Side(opening_id, wiring, block, self._scoring, sure)
        return self._sides[key]
