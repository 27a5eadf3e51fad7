"""A second, independent model of a whole job: as integer constraints, for a general solver.

It knows nothing of how the shop ranks. A job is told as an `Instance`: who may fill each slot, with points, money
and uses; which plans there are; what each link and each line is by its classes. What the solver finds is the best
package in the total order, proven.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from ortools.sat.python import cp_model

YES, OPEN, NO = 4, 2, 0
SILENT_CDB = -20_000
"""A level, or a gain, that is not known: whatever is added, it earns nothing."""
LOUDEST_CDB = 14_000
"""More than any loudspeaker reaches at 1 m, in hundredths of a decibel."""

Feed = tuple[str, str, tuple[str, ...], int]
"""Where it comes from, how its channels are used, the places on it, the channels it takes."""


class Part(NamedTuple):
    """One way to fill a slot."""

    name: tuple[str, str]
    points: int
    cents: int
    uses: tuple[int, ...]
    kind: Hashable
    """What links ask of it: those of one kind are alike to every feed and line."""
    level_cdb: int | None = None
    more: int = 0
    """What an open feed takes off, beside what is lost for what is open about the part itself."""
    most_cdb: int = 10**6
    """The level that its travel allows."""


class Wire(NamedTuple):
    """Loudspeakers of one kind in one net on one block."""

    kind: Hashable
    source: Hashable
    load: Any
    beside: Any
    code: int
    gain_cdb: int | None
    points: int


@dataclass
class Instance:
    """A job in plain numbers."""

    heads: list[Part]
    amplifiers: list[Part]
    places: dict[str, list[Part]]
    plans: list[list[Feed]]
    wires: Callable[[str, Feed], Iterator[Wire]]
    line: Callable[[Part, Hashable | None], int]
    """What is said of a head unit's line to amplifiers of a kind; to none where there is no amplifier."""
    channels: Callable[[str, Hashable, int], int]
    """What is said of so many channels taken of a source of a kind."""
    unknown: int
    """Points lost where the sources are left to measure."""
    cents: int | None
    uses: tuple[int | None, ...]
    block: Callable[[Part], Hashable] = field(default=lambda part: part.kind)
    """What feeds ask of a head unit."""
    plan_points: Callable[[list[Feed]], int] = field(default=lambda feeds: 0)
    """Points for how a plan feeds places together."""
    level_points: Callable[[int], int] | None = None
    """Points for a level, where kinds hold parts of several levels: else a wire's points hold all that it earns."""


class Best(NamedTuple):
    """The best package of an instance."""

    points: int
    cents: int
    names: tuple[str, ...]


class SecondModel:
    """An instance as constraints."""

    def __init__(self, instance: Instance) -> None:
        self.instance, self.model = instance, cp_model.CpModel()
        self.points: list[Any] = []
        self.cents: list[Any] = []
        self.uses: list[list[Any]] = [[] for _ in instance.uses]
        self.halves: dict[Any, dict[str, list[Any]]] = {}
        self.plans = [self.model.new_bool_var("plan") for _ in instance.plans]
        self.model.add_exactly_one(self.plans)
        self.heads = self._slot(instance.heads)
        self.amplifiers = self._slot(instance.amplifiers)
        self.bare = self.model.new_bool_var("no amplifier")
        self.model.add_exactly_one(self.heads)
        self.model.add_exactly_one([*self.amplifiers, self.bare])
        for plan, feeds in zip(self.plans, instance.plans, strict=True):
            self.points.append(plan * instance.plan_points(feeds))
            amplified = any(feed[0] == "amplifier" for feed in feeds)
            self.model.add_implication(plan, self.bare.negated() if amplified else self.bare)
        self._start()
        self.places = {name: self._place(name, parts) for name, parts in instance.places.items()}
        self._halves_meet()
        self._limits()

    def _slot(self, parts: list[Part]) -> list[Any]:
        chosen = [self.model.new_bool_var("part") for _ in parts]
        for var, part in zip(chosen, parts, strict=True):
            self.points.append(var * part.points)
            self.cents.append(var * part.cents)
            for sums, used in zip(self.uses, part.uses, strict=True):
                sums.append(var * used)
        return chosen

    def _start(self) -> None:
        """Channels and line levels: what is open there is lost once."""
        here, opened = self.instance, self.model.new_bool_var("line open")
        self.points.append(-here.unknown * opened)
        amps = _by_kind(here.amplifiers, self.amplifiers)
        for kind, chosen in [*amps.items(), (None, [self.bare])]:
            codes = [(var, here.line(part, kind)) for part, var in zip(here.heads, self.heads, strict=True)]
            self._pair(codes, sum(chosen), opened)
        for plan, feeds in zip(self.plans, here.plans, strict=True):
            for source, kinds in (("head_unit", _by_kind(here.heads, self.heads)), ("amplifier", amps)):
                taken = sum(feed[3] for feed in feeds if feed[0] == source)
                if taken:
                    codes = [(var, here.channels(source, kind, taken)) for kind, some in kinds.items() for var in some]
                    self._pair(codes, plan, opened)

    def _pair(self, codes: list[tuple[Any, int]], other: Any, opened: Any) -> None:
        refused, unsure = ([var for var, code in codes if code == told] for told in (NO, OPEN))
        self.model.add(sum(refused) + other <= 1)
        self.model.add(sum(unsure) + other <= 1 + opened)

    def _place(self, name: str, parts: list[Part]) -> list[Any]:
        """A place's loudspeakers, and every way in which they can be wired."""
        here, model = self.instance, self.model
        chosen = self._slot(parts)
        model.add_exactly_one(chosen)
        by: dict[str, dict[Any, list[Any]]] = {what: defaultdict(list) for what in ("kind", "feed", "source", "split")}
        gains, unsure, all_wires = [], [], []
        for feed in dict.fromkeys(feed for plan in here.plans for feed in plan if name in feed[2]):
            for wire in here.wires(name, feed):
                if wire.code == NO:
                    continue
                var = model.new_bool_var("wire")
                all_wires.append(var)
                by["kind"][wire.kind].append(var)
                by["feed"][feed].append(var)
                by["source"][feed[0], wire.source].append(var)
                by["split"][feed, wire.load, wire.beside].append(var)
                gains.append(var * (SILENT_CDB if wire.gain_cdb is None else wire.gain_cdb))
                self.points.append(var * wire.points)
                unsure += [var] if wire.code == OPEN else []
        model.add_exactly_one(all_wires)
        kinds = _by_kind(parts, chosen)
        for kind in kinds | by["kind"]:
            model.add(sum(by["kind"][kind]) == sum(kinds.get(kind, [])))
        for feed in dict.fromkeys(feed for plan in here.plans for feed in plan if name in feed[2]):
            plans = (plan for plan, feeds in zip(self.plans, here.plans, strict=True) if feed in feeds)
            model.add(sum(by["feed"][feed]) == sum(plans))
        self._sources(by["source"])
        for (feed, load, beside), some in by["split"].items():
            if len(feed[2]) == 2:
                loads = (load, beside) if feed[2][0] == name else (beside, load)
                self.halves.setdefault((feed, *loads), {})[name] = some
        if here.level_points is not None:
            self._loudness(here.level_points, parts, chosen, gains, unsure)
        return chosen

    def _sources(self, wired: dict[Any, list[Any]]) -> None:
        """A wire runs from the source that is taken."""
        here = self.instance
        blocks: dict[Any, list[Any]] = defaultdict(list)
        for part, var in zip(here.heads, self.heads, strict=True):
            blocks["head_unit", here.block(part)].append(var)
        for part, var in zip(here.amplifiers, self.amplifiers, strict=True):
            blocks["amplifier", part.kind].append(var)
        for source, some in wired.items():
            self.model.add(sum(some) <= sum(blocks[source]))

    def _halves_meet(self) -> None:
        """Two places on one block: each is the other's load."""
        for (feed, _, _), halves in self.halves.items():
            first, second = (sum(halves.get(place, [])) for place in feed[2])
            self.model.add(first == second)

    def _loudness(
        self,
        level_points: Callable[[int], int],
        parts: list[Part],
        chosen: list[Any],
        gains: list[Any],
        unsure: list[Any],
    ) -> None:
        """Points for the level that is reached; and what is lost where only the feed is left to measure."""
        model = self.model
        alone = sum(
            var * (SILENT_CDB if part.level_cdb is None else part.level_cdb)
            for var, part in zip(chosen, parts, strict=True)
        )
        table = [level_points(level) for level in range(LOUDEST_CDB)]
        floor = max(level for level, points in enumerate(table) if points == 0)
        over = model.new_int_var(0, LOUDEST_CDB - floor - 1, "level over the floor")
        most = sum(var * min(part.most_cdb, LOUDEST_CDB - 1) for var, part in zip(chosen, parts, strict=True))
        level = model.new_int_var(-10 * LOUDEST_CDB, LOUDEST_CDB - 1, "level")
        model.add_min_equality(level, [alone + sum(gains), most])
        model.add_max_equality(over, [level - floor, 0])
        if table[floor:] == [table[floor + 1] * step for step in range(LOUDEST_CDB - floor)]:
            self.points.append(table[floor + 1] * over)  # as straight as any wish and setting in whole points makes it
        else:
            earned = model.new_int_var(0, table[-1], "level points")
            model.add_element(over, table[floor:], earned)
            self.points.append(earned)
        for more in {part.more for part in parts} - {0}:
            lost = model.new_bool_var("feed open")
            some = [var for var, part in zip(chosen, parts, strict=True) if part.more == more]
            model.add(sum(unsure) + sum(some) <= 1 + lost)
            self.points.append(-more * lost)

    def _limits(self) -> None:
        here = self.instance
        if here.cents is not None:
            self.model.add(sum(self.cents) <= here.cents)
        for sums, most in zip(self.uses, here.uses, strict=True):
            if most is not None:
                self.model.add(sum(sums) <= most)

    def best(self, *, seconds: float = 60, workers: int = 1) -> Best | None:
        """The best package; none where there is none. Points first, then money, then names."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds, solver.parameters.num_workers = seconds, workers
        goals = (-sum(self.points), sum(self.cents), self._rank())
        values = []
        for goal in goals:
            self.model.minimize(goal)
            status = solver.solve(self.model)
            if status == cp_model.INFEASIBLE:
                return None
            assert status == cp_model.OPTIMAL, solver.status_name(status)
            values.append(round(solver.objective_value))
            self.model.add(goal == values[-1])
        slots = [(self.heads, self.instance.heads), *self._sides(), (self.amplifiers, self.instance.amplifiers)]
        taken = [[part for var, part in zip(some, parts, strict=True) if solver.value(var)] for some, parts in slots]
        names = [word for part in taken for word in (part[0].name if part else ("", ""))]
        return Best(-values[0], values[1], tuple(names))

    def most_points(self, *, seconds: float, workers: int) -> int | None:
        """The best score alone, proven; None where the time ended first."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds, solver.parameters.num_workers = seconds, workers
        self.model.maximize(sum(self.points))
        return round(solver.objective_value) if solver.solve(self.model) == cp_model.OPTIMAL else None

    def _sides(self) -> list[tuple[list[Any], list[Part]]]:
        return [(self.places[name], parts) for name, parts in self.instance.places.items()]

    def _rank(self) -> Any:
        """The names' place in the total order: slot by slot, each by its words."""
        rank: Any = 0
        amps = ([*self.amplifiers, self.bare], [*self.instance.amplifiers, Part(("", ""), 0, 0, (), None)])
        for chosen, parts in ((self.heads, self.instance.heads), *self._sides(), amps):
            words = {name: place for place, name in enumerate(sorted({part.name for part in parts}))}
            rank = rank * len(words) + sum(var * words[part.name] for var, part in zip(chosen, parts, strict=True))
        return rank


def _by_kind(parts: list[Part], chosen: list[Any]) -> dict[Hashable, list[Any]]:
    kinds: dict[Hashable, list[Any]] = defaultdict(list)
    for part, var in zip(parts, chosen, strict=True):
        kinds[part.kind].append(var)
    return kinds
