"""The exact ranking: the k best packages under limits on the whole, in one total order.

A *core* is a choice of what couples everything: a plan and the electrical signatures of its
sources. Within a core a package takes one entry of each slot; points, money and drain add up.
Nothing here knows a part, a rule or a store: entries are whole numbers and names.

How it is exact. An entry is left out of a slot only where k others are no dearer, draw no more
and stand before it in the total order: each of them makes a better package of any that holds it.
A core, and a branch of its tree, is left out only where a bound on its score falls below the
k-th best score found. The bound relaxes the budget with a multiplier, for several multipliers:
any of them gives a true bound, so their least does.

How little is listed. A score that packages have to reach is guessed, just below the highest bound, and lowered
until k packages reach it. What a slot has to bring for it follows from the bounds of the others: only such
entries are made at all.
"""

from __future__ import annotations

import heapq
import itertools
from bisect import insort
from collections.abc import Callable, Iterable, Iterator, Sequence

from matcher.search.exact.entries import Greatest, Slot, Values
from matcher.search.exact.lists import Lists, Measure, Ready, multipliers_of
from matcher.search.exact.packages import Bounds, Core, Found
from matcher.search.exact.patience import Patience

STEPS = (4_000, 16_000, 64_000)
"""How far below the highest bound the score is guessed that packages reach, in hundredths; then anything will do."""


class Ranking:
    """Some cores, to be ranked under one set of limits after another; what a slot can add is read once."""

    @staticmethod
    def any_package(cores: Iterable[Core], bounds: Bounds) -> Found | None:
        """Some package within the limits, the first that is met; None where there is none at all."""
        lists = Lists(bounds, {}, _rough, Patience(), multipliers_of(Bounds()))  # points are no matter
        ready = (one for core in _cores_in(cores, lists) if (one := lists.roughly(core)) is not None)
        met = (found for one in ready for found in lists.packages(one, lambda: float("-inf")))
        return next(met, None)

    def __init__(self, cores: Iterable[Core], patience: Patience | None = None) -> None:
        self.cores = list(cores)
        self.patience = patience or Patience()
        self.missed: int | None = None
        """Of everything asked so far: the most points that a package left out may have. None: nothing is left out."""
        self._kept: dict[Slot, int] = {}
        self._inside: dict[int, list[Core]] = {}
        self._known: dict[tuple[Measure, tuple[int, ...]], dict[Slot, Greatest | None]] = {}

    def best(self, bounds: Bounds, k: int, least: int | None = None) -> list[Found]:
        """The k best packages with distinct names, in the total order; of so many points at least, if that is known."""
        rough, top = self._lists(bounds, _rough), _Top(k)
        waiting = _Waiting(rough.bounded(self.cores))
        for guess in (least,) if least is not None else self._guesses(waiting, rough):
            top.least = float("-inf") if guess is None else guess
            ended = self._search(waiting.copy(), rough, top)
            if ended or top.is_full:
                break
        return top.found

    def _guesses(self, waiting: _Waiting, rough: Lists) -> Iterator[int | None]:
        """Scores that packages may reach, just below the highest bound of a core; then anything will do."""
        highest = self._highest(waiting, rough, lambda core: core.opened is not None and not self.patience.is_over())
        if highest is not None:
            yield from (highest - step for step in STEPS)
        yield None

    def _highest(self, waiting: _Waiting, lists: Lists, opens: Callable[[Core], bool]) -> int | None:
        """The bound of the highest that waits, once what is to be opened there was; None where there is none."""
        while (highest := waiting.pop(float("-inf"))) is not None:
            core, bound = highest
            if isinstance(core, Ready) or not opens(core):
                waiting.add([highest])
                return bound
            waiting.add(lists.bounded(self._opened(core)))
        return None

    def _search(self, waiting: _Waiting, rough: Lists, top: _Top) -> bool:
        """Offer every package that may stand among the best; whether patience was over before the end."""
        while (next_one := waiting.pop(top.threshold)) is not None:
            core, bound = next_one
            if isinstance(core, Ready):
                for found in rough.packages(core, lambda: top.threshold):
                    top.offer(found)
                self._keep(core.core)
                self.patience.report(len(waiting), top.found[0].points if top.found else None)
            elif core.opened is not None:
                waiting.add(rough.bounded(self._opened(core)))
            elif (ready := rough.ready(core, top.threshold)) is not None:
                waiting.add([ready])
            if self.patience.is_over():
                self._leave(bound, top)
                return True
        return False

    def highest(self, bounds: Bounds) -> int | None:
        """Points that no package exceeds, of all that is alike to what is here; None where there is none at all."""
        bare = self._lists(bounds, _bare)
        return self._highest(_Waiting(bare.bounded(self.cores)), bare, lambda core: core.bundles is not None)

    def needed(self, bounds: Bounds, least: int) -> Iterator[tuple[Slot, Values]]:
        """For each slot, what an entry of it has to bring by multiplier, in a package of so many points at least."""
        bare = self._lists(bounds, _bare)
        asked: dict[Slot, Values] = {}
        for core in self._alike(bare, least):
            needs = bare.needs(core, least)
            for slot, need in zip(core.slots, needs, strict=True) if needs is not None else ():
                asked[slot] = tuple(map(min, need, asked.get(slot, need)))
        yield from asked.items()

    def _alike(self, bare: Lists, least: int) -> Iterator[Core]:
        """The cores and the bundles of them that bound all that is alike, of which some may have so many points."""
        for core in self.cores:
            if core.bundles is None:
                yield core
            elif (bound := bare.bound(core)) is not None and bound >= least:
                yield from self._opened(core)

    def _lists(self, bounds: Bounds, measure: Measure) -> Lists:
        return Lists(bounds, self._known.setdefault((measure, multipliers_of(bounds)), {}), measure, self.patience)

    def _keep(self, core: Core) -> None:
        """Count what the slots of a core hold by now."""
        for slot in core.slots:
            self.patience.kept += slot.held - self._kept.get(slot, 0)
            self._kept[slot] = slot.held

    def _leave(self, bound: int, top: _Top) -> None:
        """Remember what may be missed, where what is left could still be among the best: it comes by falling bounds."""
        if bound >= top.threshold:
            self.missed = bound if self.missed is None else max(self.missed, bound)

    def _opened(self, bundle: Core) -> list[Core]:
        """What a bundle stands for, made once."""
        if id(bundle) not in self._inside:
            assert bundle.opened is not None
            self._inside[id(bundle)] = list(bundle.opened())
        return self._inside[id(bundle)]


def _rough(slot: Slot, multipliers: Sequence[int]) -> Greatest | None:
    return slot.rough(multipliers)


def _bare(slot: Slot, multipliers: Sequence[int]) -> Greatest | None:
    return slot.bare(multipliers)


def _cores_in(cores: Iterable[Core], lists: Lists) -> Iterator[Core]:
    """Every core, those in bundles that have anything too."""
    for core in cores:
        if core.opened is None:
            yield core
        elif lists.bound(core) is not None:
            yield from _cores_in(core.opened(), lists)


class _Waiting:
    """Cores and bundles that may still matter, the highest bound first."""

    def __init__(self, bounded: Iterable[tuple[Core, int]]) -> None:
        self._heap: list[tuple[int, int, Core | Ready]] = []
        self._count = itertools.count()
        self.add(bounded)

    def copy(self) -> _Waiting:
        """The same, to be taken from on its own."""
        other = _Waiting(())
        other._heap, other._count = list(self._heap), self._count
        return other

    def add(self, bounded: Iterable[tuple[Core | Ready, int]]) -> None:
        """Take in some, each with its bound."""
        for core, bound in bounded:
            heapq.heappush(self._heap, (-bound, next(self._count), core))

    def __len__(self) -> int:
        return len(self._heap)

    def pop(self, threshold: float) -> tuple[Core | Ready, int] | None:
        """The next core and its bound; None where no other reaches the threshold."""
        if not self._heap or -self._heap[0][0] < threshold:
            return None
        bound, _, core = heapq.heappop(self._heap)
        return core, -bound


class _Top:
    """The best found so far; of packages with one name only the best."""

    def __init__(self, k: int) -> None:
        self.k = k
        self.least = float("-inf")
        """A score that a package has to reach, whatever was found."""
        self.found: list[Found] = []

    @property
    def is_full(self) -> bool:
        """Whether k packages reach what is asked: then none that was not looked for is better."""
        return len(self.found) == self.k and self.found[-1].points >= self.least

    @property
    def threshold(self) -> float:
        """A score that a package must reach to matter."""
        return max(self.found[-1].points, self.least) if len(self.found) == self.k else self.least

    def offer(self, found: Found) -> None:
        """Take in a package where it is among the best."""
        twin = next((other for other in self.found if other.name == found.name), None)
        if twin is not None:
            if (twin.order, twin.core.rank) <= (found.order, found.core.rank):
                return
            self.found.remove(twin)
        insort(self.found, found, key=lambda found: found.order)
        del self.found[self.k :]
