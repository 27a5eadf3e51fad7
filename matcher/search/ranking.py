"""The exact ranking: the k best packages under limits on the whole, in one total order.

A *core* is a choice of what couples everything: a plan and the electrical signatures of its
sources. Within a core a package takes one entry of each slot; points, money and drain add up.
Nothing here knows a part, a rule or a store: entries are whole numbers and names.

How it is exact. An entry is left out of a slot only where k others are no dearer, draw no more
and stand before it in the total order: each of them makes a better package of any that holds it.
A core, and a branch of its tree, is left out only where a bound on its score falls below the
k-th best score found. The bound relaxes the budget with a multiplier, for several multipliers:
any of them gives a true bound, so their least does.
"""

from __future__ import annotations

import heapq
import itertools
from bisect import bisect_right, insort
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from operator import add, le
from typing import TYPE_CHECKING, Any

from matcher.search.patience import Patience

if TYPE_CHECKING:
    from matcher.search.looks import Needs

MULTIPLIERS = (0, 1, 2, 4, 8, 16, 32, 64, 128)
"""Sixteenths of a point's hundredth for each cent of the budget."""
SCALE = 16

Greatest = tuple[tuple[int, ...], int, tuple[int, ...]]
"""Relaxed values by multiplier, least money, least use of each limited thing."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One way to fill a slot."""

    points: int
    cents: int
    uses: tuple[int, ...]
    """What it takes of each thing that is limited beside money, in the order of `Bounds.uses`."""
    name: tuple[str, ...]
    what: Any = field(compare=False, hash=False)

    @property
    def order(self) -> tuple[int, int, tuple[str, ...]]:
        """Its place in the total order: more points, less money, then by name."""
        return (-self.points, self.cents, self.name)


def least_of(uses: Iterable[tuple[int, ...]]) -> tuple[int, ...]:
    """The least that any takes of each limited thing."""
    return tuple(map(min, zip(*uses, strict=True)))


def add_uses(first: tuple[int, ...], second: tuple[int, ...]) -> tuple[int, ...]:
    """What two take together of each limited thing."""
    return tuple(map(add, first, second))


class Slot:
    """One list of entries in the total order, made when it is first asked for."""

    @property
    def entries(self) -> Sequence[Entry]:
        raise NotImplementedError

    def greatest(self, multipliers: Sequence[int]) -> Greatest | None:
        """For each multiplier no less than the greatest relaxed value of an entry; and no more
        than their least money and least drain. None where there is no entry."""
        entries = self.entries
        if not entries:
            return None
        values = tuple(max(SCALE * one.points - times * one.cents for one in entries) for times in multipliers)
        return values, min(one.cents for one in entries), least_of(one.uses for one in entries)

    def rough(self, multipliers: Sequence[int]) -> Greatest | None:
        """As `greatest`, perhaps higher, and at less cost: to put the cores in order."""
        return self.greatest(multipliers)

    def bare(self, multipliers: Sequence[int]) -> Greatest | None:
        """As `rough`, of everything that is alike to what is here, whatever comes along with it."""
        return self.rough(multipliers)

    def tell(self, need: tuple[int, ...], needs: Needs) -> None:
        """Take down what each of its candidates has to bring, where its entries have to bring so much."""


class ListSlot(Slot):
    """A slot of entries that are there already."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._entries = entries

    @property
    def entries(self) -> Sequence[Entry]:
        return self._entries


@dataclass(frozen=True, slots=True)
class Core:
    """A plan with signatures chosen: one list of entries for each slot, and what it adds itself."""

    points: int
    slots: tuple[Slot, ...]
    rank: int
    """Where its plan stands among the plans: of two packages of the same parts the lower is kept."""
    arrangement: tuple[int, ...]
    """The slots' names in the order in which the total order compares them."""
    what: Any
    inside: Callable[[], Iterable[Core]] | None = None
    """Of a bundle: the cores that it stands for. None of them has a package that its own slots do not bound."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """Limits on the whole."""

    cents: int | None = None
    uses: tuple[int | None, ...] = ()
    """The most of each other thing: drain at rest, current, mass. None: no limit."""


@dataclass(frozen=True, slots=True)
class Found:
    """A package: its place in the total order, its core and its entries."""

    points: int
    cents: int
    uses: tuple[int, ...]
    name: tuple[str, ...]
    core: Core
    entries: tuple[Entry, ...]

    @property
    def order(self) -> tuple[int, int, tuple[str, ...]]:
        return (-self.points, self.cents, self.name)


def undominated(entries: Iterable[Entry], k: int) -> list[Entry]:
    """The entries that can stand in one of the k best packages, in the total order.

    >>> [e.points for e in undominated([Entry(5, 9, (), ("a",), 0), Entry(7, 8, (), ("b",), 0)], 1)]
    [7]
    """
    kept: list[Entry] = []
    money: list[int] = []  # of what is kept, sorted
    plain = True  # so far all take the same of everything else
    for entry in sorted(entries, key=lambda entry: entry.order):
        # All that are kept stand before it in the order; those that cost and take no more dominate it.
        plain = plain and (not kept or entry.uses == kept[0].uses)
        over = bisect_right(money, entry.cents)
        if over >= k and not plain:
            beating = (1 for other in kept if other.cents <= entry.cents and _no_more(other.uses, entry.uses))
            over = sum(itertools.islice(beating, k))
        if over < k:
            kept.append(entry)
            insort(money, entry.cents)
    return kept


def _no_more(uses: tuple[int, ...], than: tuple[int, ...]) -> bool:
    return all(map(le, uses, than))


class Ranking:
    """Some cores, to be ranked under one set of limits after another; what a slot can add is read once."""

    @staticmethod
    def any_package(cores: Iterable[Core], bounds: Bounds) -> Found | None:
        """Some package within the limits, the first that is met; None where there is none at all."""
        lists = _Lists(bounds, (0,), {}, _rough, Patience())
        met = (found for core in _cores_in(cores) for found in lists.packages(core, _Top(1)))
        return next(met, None)

    def __init__(self, cores: Iterable[Core], patience: Patience | None = None) -> None:
        self.cores = list(cores)
        self.patience = patience or Patience()
        self.missed: int | None = None
        """Of everything asked so far: the most points that a package left out may have. None: nothing is left out."""
        self._counted: set[Slot] = set()
        self._inside: dict[int, list[Core]] = {}
        self._rough: dict[tuple[int, ...], dict[Slot, Greatest | None]] = {}
        self._greatest: dict[tuple[int, ...], dict[Slot, Greatest | None]] = {}
        self._bare: dict[tuple[int, ...], dict[Slot, Greatest | None]] = {}

    def best(self, bounds: Bounds, k: int, least: int | None = None) -> list[Found]:
        """The k best packages with distinct names, in the total order; of so many points at least, if that is known."""
        multipliers = MULTIPLIERS if bounds.cents is not None else (0,)
        rough = _Lists(bounds, multipliers, self._rough.setdefault(multipliers, {}), _rough, self.patience)
        lists = _Lists(bounds, multipliers, self._greatest.setdefault(multipliers, {}), _greatest, self.patience)
        waiting, top = _Waiting(), _Top(k, least)
        waiting.add(self.cores, rough)
        while (next_one := waiting.pop(top.threshold)) is not None:
            core, bound, is_close = next_one
            if core.inside is not None:
                waiting.add(self._opened(core), rough)
            elif is_close:
                for found in lists.packages(core, top):
                    top.offer(found)
                self._keep(core)
                self.patience.report(len(waiting), top.found[0].points if top.found else None)
            else:
                waiting.add([core], lists, is_close=True)
            if self.patience.is_over():
                self._leave(bound, top)
                break
        return top.found

    def needed(self, bounds: Bounds, least: int) -> Iterator[tuple[Slot, tuple[int, ...]]]:
        """For each slot, what an entry of it has to bring by multiplier, in a package of so many points at least."""
        multipliers = MULTIPLIERS if bounds.cents is not None else (0,)
        bare = _Lists(bounds, multipliers, self._bare.setdefault(multipliers, {}), _bare, self.patience)
        asked: dict[Slot, tuple[int, ...]] = {}
        for core in self.cores:
            for slot, need in bare.needed(core, least):
                asked[slot] = tuple(map(min, need, asked.get(slot, need)))
        yield from asked.items()

    def _keep(self, core: Core) -> None:
        """Count what the slots of a core hold by now."""
        for slot in core.slots:
            if slot not in self._counted:
                self._counted.add(slot)
                self.patience.kept += len(slot.entries)

    def _leave(self, bound: int, top: _Top) -> None:
        """Remember what may be missed, where what is left could still be among the best: it comes by falling bounds."""
        if bound >= top.threshold:
            self.missed = bound if self.missed is None else max(self.missed, bound)

    def _opened(self, bundle: Core) -> list[Core]:
        """The cores of a bundle, made once."""
        if id(bundle) not in self._inside:
            assert bundle.inside is not None
            self._inside[id(bundle)] = list(bundle.inside())
        return self._inside[id(bundle)]


def _rough(slot: Slot, multipliers: Sequence[int]) -> Greatest | None:
    return slot.rough(multipliers)


def _greatest(slot: Slot, multipliers: Sequence[int]) -> Greatest | None:
    return slot.greatest(multipliers)


def _bare(slot: Slot, multipliers: Sequence[int]) -> Greatest | None:
    return slot.bare(multipliers)


def _cores_in(cores: Iterable[Core]) -> Iterator[Core]:
    """Every core, those in bundles too."""
    for core in cores:
        if core.inside is None:
            yield core
        else:
            yield from _cores_in(core.inside())


class _Waiting:
    """Cores and bundles that may still matter, the highest bound first."""

    def __init__(self) -> None:
        self._heap: list[tuple[int, int, bool, Core]] = []
        self._count = itertools.count()

    def add(self, cores: Iterable[Core], lists: _Lists, *, is_close: bool = False) -> None:
        """Take in cores by what they can have at most."""
        for core in cores:
            bound = lists.bound(core)
            if bound is not None:
                heapq.heappush(self._heap, (-bound, next(self._count), is_close, core))

    def __len__(self) -> int:
        return len(self._heap)

    def pop(self, threshold: float) -> tuple[Core, int, bool] | None:
        """The next core, its bound and whether that is close; None where no other reaches the threshold."""
        if not self._heap or -self._heap[0][0] < threshold:
            return None
        bound, _, is_close, core = heapq.heappop(self._heap)
        return core, -bound, is_close


class _Top:
    """The best found so far; of packages with one name only the best."""

    def __init__(self, k: int, least: int | None = None) -> None:
        self.k = k
        self.found: list[Found] = []
        self._least = float("-inf") if least is None else least

    @property
    def threshold(self) -> float:
        """A score that a package must reach to matter."""
        return max(self.found[-1].points, self._least) if len(self.found) == self.k else self._least

    def offer(self, found: Found) -> None:
        twin = next((other for other in self.found if other.name == found.name), None)
        if twin is not None:
            if (twin.order, twin.core.rank) <= (found.order, found.core.rank):
                return
            self.found.remove(twin)
        insort(self.found, found, key=lambda found: found.order)
        del self.found[self.k :]


class _Lists:
    """Bounds of slots and cores under the limits, by multiplier."""

    def __init__(
        self,
        bounds: Bounds,
        multipliers: tuple[int, ...],
        known: dict[Slot, Greatest | None],
        measure: Callable[[Slot, Sequence[int]], Greatest | None],
        patience: Patience,
    ) -> None:
        self.bounds, self.multipliers, self._known, self._measure = bounds, multipliers, known, measure
        self._patience = patience

    def greatest(self, slot: Slot) -> Greatest | None:
        """A slot's greatest relaxed values, asked of it once."""
        if slot not in self._known:
            self._known[slot] = self._measure(slot, self.multipliers)
        return self._known[slot]

    def bound(self, core: Core) -> int | None:
        """A score that no package of the core exceeds; None where it has none."""
        suffixes = self.suffixes(core)
        return None if suffixes is None else self._least(core.points, 0, suffixes[0])

    def suffixes(self, core: Core) -> list[Greatest] | None:
        """For each slot: the relaxed values, least money and least uses of it and all after it."""
        nothing = (0,) * len(self.bounds.uses)
        rest: Greatest = ((0,) * len(self.multipliers), 0, nothing)
        found = [rest]
        for slot in reversed(core.slots):
            own = self.greatest(slot)
            if own is None:
                return None
            rest = (add_uses(own[0], rest[0]), own[1] + rest[1], add_uses(own[2], rest[2]))
            found.append(rest)
        if self._over(rest[1], rest[2]):
            return None
        return found[::-1]

    def _over(self, cents: int, uses: tuple[int, ...]) -> bool:
        limits = self.bounds
        return (limits.cents is not None and cents > limits.cents) or any(
            most is not None and used > most for used, most in zip(uses, limits.uses, strict=True)
        )

    def _least(self, points: int, cents: int, rest: Greatest) -> int:
        """The least of the bounds that the multipliers give."""
        if self.bounds.cents is None:
            return points + rest[0][0] // SCALE
        left = self.bounds.cents - cents
        return (
            points + min(value + times * left for times, value in zip(self.multipliers, rest[0], strict=True)) // SCALE
        )

    def needed(self, core: Core, least: int) -> Iterator[tuple[Slot, tuple[int, ...]]]:
        """What each slot of a core has to bring, as `Ranking.needed` has it; nothing where the core cannot reach it."""
        suffixes = self.suffixes(core)
        if suffixes is None:
            return
        money, reached = self.bounds.cents or 0, SCALE * (core.points - least)
        spare = [reached + value + times * money for times, value in zip(self.multipliers, suffixes[0][0], strict=True)]
        if min(spare) < 0:
            return
        for slot in core.slots:
            own = self.greatest(slot)
            assert own is not None
            yield slot, tuple(value - over for value, over in zip(own[0], spare, strict=True))

    def packages(self, core: Core, top: _Top) -> Iterator[Found]:
        """Every package of the core whose score may still matter, by depth first."""
        suffixes = self.suffixes(core)
        if suffixes is None:
            return
        yield from self._branch(core, suffixes, (), core.points, 0, (0,) * len(self.bounds.uses), top)

    def _branch(
        self,
        core: Core,
        suffixes: list[Greatest],
        taken: tuple[Entry, ...],
        points: int,
        cents: int,
        uses: tuple[int, ...],
        top: _Top,
    ) -> Iterator[Found]:
        depth = len(taken)
        if depth == len(core.slots):
            words = [word for entry in taken for word in entry.name]
            name = tuple(words[position] for position in core.arrangement)
            yield Found(points, cents, uses, name, core, taken)
            return
        rest = suffixes[depth + 1]
        ahead = rest[0][0] // SCALE  # what the later slots can add at most, were money no matter
        for entry in core.slots[depth].entries:
            if points + entry.points + ahead < top.threshold or self._patience.is_over():
                return  # entries come by falling points: no later one can matter either
            spent, taken_up = cents + entry.cents, add_uses(uses, entry.uses)
            if self._over(spent + rest[1], add_uses(taken_up, rest[2])):
                continue
            if self._least(points + entry.points, spent, rest) < top.threshold:
                continue
            yield from self._branch(core, suffixes, (*taken, entry), points + entry.points, spent, taken_up, top)
