"""Bounds of slots and cores under limits on the whole, and every package of a core that can still matter."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from matcher.search.exact.entries import ANYTHING, MULTIPLIERS, SCALE, WHATEVER, Entry, Greatest, Slot, Values, add_uses
from matcher.search.exact.packages import Bounds, Core, Found
from matcher.search.exact.patience import Patience

Measure = Callable[[Slot, Sequence[int]], Greatest | None]
"""How a slot is bounded."""


@dataclass(frozen=True, slots=True)
class Ready:
    """A core whose slots are bounded as far as they have to bring something."""

    core: Core
    needs: tuple[Values, ...]
    suffixes: list[Greatest]


class Lists:
    """Bounds of slots and cores under the limits, by multiplier."""

    def __init__(
        self,
        bounds: Bounds,
        known: dict[Slot, Greatest | None],
        measure: Measure,
        patience: Patience,
        multipliers: tuple[int, ...] | None = None,
    ) -> None:
        self.bounds, self._known, self._measure, self._patience = bounds, known, measure, patience
        self.multipliers = multipliers_of(bounds) if multipliers is None else multipliers

    def greatest(self, slot: Slot) -> Greatest | None:
        """A slot's greatest relaxed values, asked of it once."""
        if slot not in self._known:
            self._known[slot] = self._measure(slot, self.multipliers)
        return self._known[slot]

    def bound(self, core: Core) -> int | None:
        """A score that no package of the core exceeds; None where it has none."""
        whole = self._whole([self.greatest(slot) for slot in core.slots])
        return None if whole is None else self.least(core.points, 0, whole)

    def bounded(self, cores: Iterable[Core]) -> Iterator[tuple[Core, int]]:
        """The cores that have any package, each with its bound."""
        return ((core, bound) for core in cores if (bound := self.bound(core)) is not None)

    def needs(self, core: Core, threshold: float) -> tuple[Values, ...] | None:
        """What each slot of a core has to bring in a package that reaches a score; None where there is none."""
        tops = [self.greatest(slot) for slot in core.slots]
        whole = self._whole(tops)
        if whole is None:
            return None
        if threshold == float("-inf"):
            return (WHATEVER,) * len(core.slots)
        money, reached = self.bounds.cents or 0, SCALE * (core.points - int(threshold))
        spare = [reached + value + times * money for times, value in zip(self.multipliers, whole[0], strict=True)]
        if min(spare) < 0:
            return None
        rest = (ANYTHING,) * (len(MULTIPLIERS) - len(spare))
        own = (top[0] for top in tops if top is not None)
        return tuple((*(value - over for value, over in zip(each, spare, strict=True)), *rest) for each in own)

    def ready(self, core: Core, threshold: float) -> tuple[Ready, int] | None:
        """A core with its slots bounded closely, and what that bounds it by; None where it has nothing that matters."""
        needs = self.needs(core, threshold)
        if needs is None:
            return None
        tops = [slot.greatest(self.multipliers, need) for slot, need in zip(core.slots, needs, strict=True)]
        suffixes = self._suffixes(tops)
        return None if suffixes is None else (Ready(core, needs, suffixes), self.least(core.points, 0, suffixes[0]))

    def roughly(self, core: Core) -> Ready | None:
        """A core as it is bounded before anything is listed; None where it has nothing."""
        suffixes = self._suffixes([self.greatest(slot) for slot in core.slots])
        return None if suffixes is None else Ready(core, (WHATEVER,) * len(core.slots), suffixes)

    def _whole(self, tops: Sequence[Greatest | None]) -> Greatest | None:
        """The relaxed values, least money and least uses of all slots; None where nothing is within the limits."""
        if None in tops:
            return None
        values, cents, uses = zip(*tops, strict=True)
        whole = tuple(map(sum, zip(*values, strict=True))), sum(cents), tuple(map(sum, zip(*uses, strict=True)))
        return None if self.over(whole[1], whole[2]) else whole

    def _suffixes(self, tops: Sequence[Greatest | None]) -> list[Greatest] | None:
        """For each slot: the relaxed values, least money and least uses of it and all after it."""
        rest: Greatest = ((0,) * len(self.multipliers), 0, (0,) * len(self.bounds.uses))
        found = [rest]
        for own in reversed(tops):
            if own is None:
                return None
            rest = (add_uses(own[0], rest[0]), own[1] + rest[1], add_uses(own[2], rest[2]))
            found.append(rest)
        if self.over(rest[1], rest[2]):
            return None
        return found[::-1]

    def over(self, cents: int, uses: tuple[int, ...]) -> bool:
        """Whether so much is beyond a limit."""
        limits = self.bounds
        return (limits.cents is not None and cents > limits.cents) or any(
            most is not None and used > most for used, most in zip(uses, limits.uses, strict=True)
        )

    def least(self, points: int, cents: int, rest: Greatest) -> int:
        """The least of the bounds that the multipliers give."""
        if self.bounds.cents is None:
            return points + rest[0][0] // SCALE
        left = self.bounds.cents - cents
        return (
            points + min(value + times * left for times, value in zip(self.multipliers, rest[0], strict=True)) // SCALE
        )

    def packages(self, ready: Ready, threshold: Callable[[], float]) -> Iterator[Found]:
        """Every package of the core whose score may still matter, by depth first."""
        yield from self._branch(ready, (), ready.core.points, 0, (0,) * len(self.bounds.uses), threshold)

    def _branch(
        self,
        ready: Ready,
        taken: tuple[Entry, ...],
        points: int,
        cents: int,
        uses: tuple[int, ...],
        threshold: Callable[[], float],
    ) -> Iterator[Found]:
        core, depth = ready.core, len(taken)
        if depth == len(core.slots):
            words = [word for entry in taken for word in entry.name]
            name = tuple(words[position] for position in core.arrangement)
            yield Found(points, cents, uses, name, core, taken)
            return
        rest = ready.suffixes[depth + 1]
        ahead = rest[0][0] // SCALE  # what the later slots can add at most, were money no matter
        for entry in core.slots[depth].worth(ready.needs[depth]):
            if points + entry.points + ahead < threshold() or self._patience.is_over():
                return  # entries come by falling points: no later one can matter either
            spent, taken_up = cents + entry.cents, add_uses(uses, entry.uses)
            if self.over(spent + rest[1], add_uses(taken_up, rest[2])):
                continue
            if self.least(points + entry.points, spent, rest) < threshold():
                continue
            yield from self._branch(ready, (*taken, entry), points + entry.points, spent, taken_up, threshold)


def multipliers_of(bounds: Bounds) -> tuple[int, ...]:
    """The multipliers that a budget wants; where money is no matter only that of none."""
    return MULTIPLIERS if bounds.cents is not None else MULTIPLIERS[:1]
