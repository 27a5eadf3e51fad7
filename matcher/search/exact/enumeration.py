"""Exact ranked enumeration of a tree of choices under limits on its sums.

`Ranking` yields combinations by falling points, then rising cents, then name, each name once: the total order. It is a
generator, so the caller stops when it has enough; the next combination costs no new search.

How it works. A heap holds *cursors*: arrays of bounds on points, best first. The highest is popped, put back at its
next position, and opened. To open an alternative of a union puts its parts in the place of the union; the next union
among them is bounded as one array. Where only slots are left (a *star*), slot after slot is chosen, a chunk of entries
at a time, each prefix bounded by what the money and the other sums still allow. After the last slot the points are
exact. At equal points the least money comes first, and at equal money bounds are opened before combinations are
yielded: so what is yielded is next in the order, and ties that cost more are not opened.

Why it is exact. For any multipliers the relaxed value of a combination, plus what the limits come to at these
multipliers, is at least its points where it keeps the limits. A bound is the least of these over all rows of
multipliers, so no combination under it is better. Nothing is left out by dominance or by a guess.

The theory: Tziavelis, Ajwani, Gatterbauer, Riedewald, Yang, "Optimal Algorithms for Ranked Enumeration of Answers to
Full Conjunctive Queries", PVLDB 13, 2020. The limits on sums are not in it: they are bounded by Lagrange multipliers.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

import numpy as np

from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.choices import (
    ENDLESS,
    IMPOSSIBLE,
    NO_USES,
    OF_CENTS,
    OF_USES,
    SCALE,
    USES,
    Ints,
    Part,
    Slot,
    Union,
    sum_of,
)

CHUNK = 64
"""Number of entries of a slot that are bounded at once."""
NEVER = IMPOSSIBLE // 2 // SCALE
"""Below this bound there is nothing to choose."""
BEYOND = 2**60
"""More points than any combination has."""

Taken: TypeAlias = tuple[tuple[Slot, int], ...]
"""An entry of every slot, by its position."""
Name: TypeAlias = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SumLimits:
    """Limits on the sums of a combination.

    Parameters
    ----------
    cents
        Maximum money; None: no limit.
    uses
        Maximum of each other sum; None: no limit.
    """

    cents: int | None = None
    uses: tuple[int | None, ...] = (None,) * USES

    def holds(self, cents: int, uses: Sequence[int]) -> bool:
        """Whether sums keep the limits."""
        pairs = zip((cents, *uses), (self.cents, *self.uses), strict=True)
        return all(most is None or taken <= most for taken, most in pairs)


class Combination(NamedTuple):
    """One entry of every slot, with its sums."""

    points: int
    cents: int
    name: Name
    uses: tuple[int, ...]
    taken: Taken

    @property
    def order(self) -> tuple[int, int, Name]:
        """Sort key of the total order."""
        return (-self.points, self.cents, self.name)


@dataclass(slots=True)
class _Cursor:
    """Alternatives by falling bound, then by rising least cents; `open` takes a position in the original order."""

    bounds: Ints
    cents: Ints
    positions: Ints
    open: Callable[[int], None]
    at: int = 0


class _Sums(NamedTuple):
    """Sums over the candidates chosen so far."""

    points: int
    cents: int
    uses: Ints


NOTHING = _Sums(0, 0, NO_USES)
Bounds: TypeAlias = tuple[Ints, int, Ints]
"""Of the remaining choices: maximum relaxed values, minimum cents and uses."""


class _Ordered(NamedTuple):
    """Entries of a slot in a star, by falling bound of the whole star."""

    bounds: Ints
    values: Ints
    points: Ints
    cents: Ints
    uses: Ints | None
    positions: Ints


class _Star:
    """Slots that remain once all unions are resolved, each with the bounds of those after it."""

    def __init__(self, points: int, slots: Sequence[Slot]) -> None:
        self.points, self.slots = points, sorted(slots, key=lambda slot: slot.turn)
        self.whole = sum_of(self.slots, points)
        self.rest = [sum_of(self.slots[at:]) for at in range(len(self.slots) + 1)]
        self.ordered: list[_Ordered | None] = [None] * len(self.slots)


class Ranking:
    """The combinations of a tree in the total order.

    Parameters
    ----------
    points, parts
        The tree: its own points, and its choices.
    limits
        Limits on the sums.
    name
        Names a combination; of several with one name, only the first in the order is yielded.
    preference
        Breaks ties between combinations with equal points, cents and name: the smallest comes first.
    budget
        Ends the search early; `missed` then bounds the results left out.
    least
        Rank by this sum, smallest first, instead of points: 0 for money, then the uses. None: the total order.
    floor
        Minimum points of interest; None: any.
    thin
        Whether to leave out entries that `Slot.thinned` leaves out.
    """

    def __init__(
        self,
        points: int,
        parts: Sequence[Part],
        limits: SumLimits,
        name: Callable[[Taken], Name],
        preference: Callable[[Taken], tuple[int, ...]] = lambda taken: (),
        budget: SearchBudget | None = None,
        least: int | None = None,
        floor: int | None = None,
        *,
        thin: bool = False,
    ) -> None:
        self.missed: int | None = None
        """After an early end: the maximum points of any combination left out."""
        self._cents = ENDLESS if limits.cents is None else limits.cents
        self._uses = np.array([ENDLESS * 2**10 if most is None else most for most in limits.uses], dtype=np.int64)
        self._bound_uses = np.minimum(self._uses, ENDLESS)
        self._name, self._preference, self._budget = name, preference, budget or SearchBudget()
        self._thin = thin
        self._least, self._turn = least, 1 if least is None else -1  # any package with the least will do: depth first
        self._most_rank = None if floor is None else -floor
        self._heap: list[tuple[object, ...]] = []
        self._number, self._kept_bytes = itertools.count(0, self._turn), 0
        self._open_node(points, parts)

    def __iter__(self) -> Iterator[Combination]:
        seen: set[Name] = set()
        while self._heap:
            if self._budget.is_spent(self._kept_bytes):
                self.missed = -self._heap[0][0]  # type: ignore[operator]
                return
            if self._most_rank is not None and self._heap[0][0] > self._most_rank:  # type: ignore[operator]
                return
            popped = heapq.heappop(self._heap)
            waiting = popped[-1]
            if isinstance(waiting, Combination):
                if waiting.name not in seen:
                    seen.add(waiting.name)
                    yield waiting
            elif isinstance(waiting, _Cursor):
                self._advance(waiting)
            else:
                waiting()  # type: ignore[operator]

    @property
    def ended(self) -> bool:
        """Whether all combinations have been yielded."""
        return not self._heap

    def _advance(self, cursor: _Cursor) -> None:
        """Move a cursor to its next position, and open the current one."""
        position = int(cursor.positions[cursor.at])
        cursor.at += 1
        if cursor.at < len(cursor.positions):
            self._wait(int(cursor.bounds[cursor.at]), int(cursor.cents[cursor.at]), cursor)
        else:
            self._kept_bytes -= 3 * cursor.bounds.nbytes
        self._budget.progress(len(self._heap), int(cursor.bounds[cursor.at - 1]))
        cursor.open(position)

    def _wait(self, bound: int, cents: int, waiting: _Cursor | Callable[[], None]) -> None:
        tie = cents if self._least is None else 0
        heapq.heappush(self._heap, (-bound, tie, 0, next(self._number), waiting))

    def _add_cursor(self, bounds: Ints, cents: Ints, some: Ints, open_one: Callable[[int], None]) -> None:
        """Queue alternatives by their bounds and least cents, skipping empty ones."""
        some = some[bounds[some] > NEVER]
        if len(some):
            order = some[np.lexsort((cents[some], -bounds[some]))]
            cursor = _Cursor(bounds[order], cents[order], order, open_one)
            self._kept_bytes += 3 * cursor.bounds.nbytes
            self._wait(int(cursor.bounds[0]), int(cursor.cents[0]), cursor)

    def _bound(self, values: Ints, cents: Ints, uses: Ints | None, rest: Bounds, taken: _Sums) -> Ints:
        """Bound some rows together with the rest and the entries taken: by points, or by the sum to minimize."""
        if self._least is not None:
            every = np.column_stack((cents, np.zeros((len(cents), USES), np.int64) if uses is None else uses))
            beside = (rest[1] + taken.cents, *(rest[2] + taken.uses))[self._least]
            return np.where(values[:, 0] + rest[0][0] > NEVER, -(every[:, self._least] + beside), NEVER)
        left, room = self._cents - taken.cents, self._uses - taken.uses
        relaxed_limits = OF_CENTS * left + OF_USES @ np.minimum(room, self._bound_uses)
        result: Ints = (values + (rest[0] + SCALE * taken.points + relaxed_limits)).min(axis=1) // SCALE
        return result

    def _affordable(self, cents: Ints, uses: Ints | None, rest: Bounds, taken: _Sums) -> Ints:
        """Positions that keep the limits together with the minimum of the rest."""
        room = self._uses - taken.uses
        fits = cents + rest[1] <= self._cents - taken.cents
        if uses is None:
            return np.flatnonzero(fits) if (rest[2] <= room).all() else np.zeros(0, dtype=np.int64)
        return np.flatnonzero(fits & (uses + rest[2] <= room).all(axis=1))

    def _open_node(self, points: int, parts: Sequence[Part]) -> None:
        """Open the first union among some parts, or a star if there is none."""
        union = next((part for part in parts if isinstance(part, Union)), None)
        if union is None:
            slots = (part for part in parts if isinstance(part, Slot))
            self._open_star(_Star(points, [slot.thinned if self._thin else slot for slot in slots]))
            return
        others = [part for part in parts if part is not union]
        rest = sum_of(others, points)
        bounds = self._bound(union.values, union.cents, union.uses, rest, NOTHING)
        some = self._affordable(union.cents, union.uses, rest, NOTHING)
        make = union.make

        def open_alternative(position: int) -> None:
            more, inside = make(position)
            self._open_node(points + more, [*others, *inside])

        self._add_cursor(bounds, union.cents + rest[1], some, open_alternative)

    def _open_star(self, star: _Star) -> None:
        _, cents, uses = star.whole
        if cents <= self._cents and (uses <= self._uses).all():
            self._extend(star, (), _Sums(star.points, 0, NO_USES), 0, BEYOND)

    def _in_order(self, star: _Star, depth: int) -> _Ordered:
        """Entries of a slot in a star, sorted at first use."""
        ordered = star.ordered[depth]
        if ordered is None:
            slot = star.slots[depth]
            own = slot.top, slot.least_cents, slot.least_uses
            rest = star.whole[0] - own[0], star.whole[1] - own[1], star.whole[2] - own[2]
            bounds = self._bound(slot.values, slot.cents, slot.uses, rest, NOTHING)
            order = np.argsort(-bounds, kind="stable")
            uses = None if slot.uses is None else slot.uses[order]
            ordered = _Ordered(bounds[order], slot.values[order], slot.points[order], slot.cents[order], uses, order)
            star.ordered[depth] = ordered
        return ordered

    def _extend(self, star: _Star, taken: Taken, sums: _Sums, start: int, cap: int) -> None:
        """Bound the next chunk of entries together with those taken; `cap` bounds them all."""
        depth = len(taken)
        if depth == len(star.slots):
            self._complete(taken, sums)
            return
        ordered, rest = self._in_order(star, depth), star.rest[depth + 1]
        chunk = slice(start, start + CHUNK)
        cents, uses = ordered.cents[chunk], None if ordered.uses is None else ordered.uses[chunk]
        bounds = np.minimum(self._bound(ordered.values[chunk], cents, uses, rest, sums), cap)
        some = self._affordable(cents, uses, rest, sums)

        def open_entry(position: int) -> None:
            at = start + position
            more = NO_USES if ordered.uses is None else ordered.uses[at]
            now = _Sums(sums.points + int(ordered.points[at]), sums.cents + int(ordered.cents[at]), sums.uses + more)
            entry = (star.slots[depth], int(ordered.positions[at]))
            self._extend(star, (*taken, entry), now, 0, int(bounds[position]))

        beside = rest[1] + sums.cents
        self._add_cursor(bounds, cents + beside, some, open_entry)
        if chunk.stop < len(ordered.bounds):
            bound = min(int(ordered.bounds[chunk.stop]), cap)
            least = int(ordered.cents[chunk.stop :].min()) + beside
            self._wait(bound, least, lambda: self._extend(star, taken, sums, chunk.stop, bound))

    def _complete(self, taken: Taken, sums: _Sums) -> None:
        name = self._name(taken)
        found = Combination(sums.points, sums.cents, name, tuple(map(int, sums.uses)), taken)
        tie = self._preference(taken)
        first = (-found.points, found.cents) if self._least is None else ((found.cents, *found.uses)[self._least], 0)
        heapq.heappush(self._heap, (*first, self._turn, found.cents, name, tie, next(self._number), found))
