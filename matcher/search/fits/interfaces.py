"""Interfaces of an opening: the bare hole or an adapter in it, as found and as cut.

Adapters that offer the same in every hole form one class, which is one bit of a string, cheapest first: the lowest set
bit is the cheapest way to mount a part.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, reduce
from itertools import islice
from operator import or_
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.columns import Columns, row_keys
from matcher.kernel.distinct import DistinctSets, Numbers, distinct
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import MICRO
from matcher.kernel.verdicts import worst
from matcher.rules.adapter import ADAPTER
from matcher.rules.dash import DASH
from matcher.rules.rule import FITS, NO, STOPS, Rule, figures_of, rules_of
from matcher.rules.speaker import SPEAKER
from matcher.rules.terms import FigureTerm
from matcher.search.catalog.parts import Parts, money_of
from matcher.search.fits.holes import adapter_interfaces, bare_interfaces, holes_of, joined
from matcher.search.fits.place import BOARD_STEP, DRILLED, Place, is_allowed
from matcher.search.fits.refusing import refused_or_not
from matcher.settings import Settings

LEAST = range(STOPS, FITS + 1)
"""Verdict codes that are not refused, the riskiest first."""
BARE = 0
"""The bare opening among the adapters, which are numbered from 1."""


def rules_at(kind: str) -> str:
    """The rules of a part at an interface."""
    return DASH if kind == "dash" else SPEAKER


def lifted(rules: Sequence[Rule], by_drill: bool) -> list[Rule]:
    """Return the rules that drilling new screw holes lifts, or the others."""
    return [rule for rule in rules if (rule.lifted_at is not None) == by_drill]


class Interface(NamedTuple):
    """One hole with one class of adapters."""

    is_cut: bool
    place: int
    """Index of its class."""
    step: int
    base: int
    bolts: int


class Way(NamedTuple):
    """One way to mount: as found or as cut, at its own step, with existing or new bolt holes."""

    taken: int
    """Required step; of two ways for one part and adapter the one with the lower step is taken, then by `step`."""
    step: int
    is_cut: bool
    is_drilled: bool


class WayIn(NamedTuple):
    """A way to mount that is taken, and its classes of adapters."""

    taken: int
    """Required step."""
    code: int
    """Worst verdict code."""
    classes: int


@dataclass(frozen=True)
class Interfaces:
    """The adapters of an opening by class, and its interfaces."""

    allowed: int
    adapters: Parts
    cents: Numbers
    """Price of each adapter with its labor, the bare opening first; zero if it has no price."""
    classes: Sequence[Sequence[int]]
    """Adapters of each class, cheapest first."""
    every: Sequence[Interface]
    columns: Columns
    """Subject ``mouth``, one row per interface."""
    opening: Columns
    """The one row of the opening."""
    _alike: dict[tuple[FigureTerm, ...], tuple[DistinctSets, list[int]]] = field(default_factory=dict)

    @cached_property
    def bits(self) -> list[int]:
        """Bit of each interface: every class in the hole as found, then as cut."""
        return [1 << one.place + (len(self.classes) if one.is_cut else 0) for one in self.every]

    def alike(self, figures: tuple[FigureTerm, ...]) -> tuple[DistinctSets, list[int]]:
        """The distinct rows of some figures among the interfaces, computed once, and the bits of each."""
        if figures not in self._alike:
            rows = distinct([each for one in figures for each in row_keys(self.columns[one])], len(self.every))
            bits = [0] * len(rows.first)
            for bit, row in zip(self.bits, rows.number.tolist(), strict=True):
                bits[row] |= bit
            self._alike[figures] = rows, bits
        return self._alike[figures]

    @cached_property
    def _by_step(self) -> Mapping[tuple[bool, int], int]:
        """The interfaces of each hole and step."""
        found: dict[tuple[bool, int], int] = {}
        for one, bit in zip(self.every, self.bits, strict=True):
            found[one.is_cut, one.step] = found.get((one.is_cut, one.step), 0) | bit
        return found

    @cached_property
    def ways(self) -> list[Way]:
        """Ways to mount, in order of preference."""
        return sorted(
            Way(max(step, DRILLED) if is_drilled else step, step, is_cut, is_drilled)
            for is_cut, step in self._by_step
            for is_drilled in ((False, True) if self.allowed >= DRILLED > step else (False,))
        )

    def ways_in(self, base: Sequence[int], bolts: Sequence[int]) -> Iterator[WayIn]:
        """Yield the mountings of a part: through each adapter by the first way that works.

        Parameters
        ----------
        base, bolts
            Interfaces that it fits, as in `strings_of`: by the rules that drilling cannot lift, and by the bolt rules.
        """
        used = 0
        for way in self.ways:
            held = base
            if not way.is_drilled and way.step < DRILLED:
                held = [one & other for one, other in zip(base, bolts, strict=True)]
            can = held[0] & self._by_step[way.is_cut, way.step] & (~bolts[0] if way.is_drilled else -1)
            shift = len(self.classes) if way.is_cut else 0
            left = (can >> shift) & ~used
            used |= left
            for code, some in zip(reversed(LEAST), reversed(held), strict=True):
                if classes := left & (some >> shift):
                    yield WayIn(way.taken, code, classes)
                    left &= ~classes

    @cached_property
    def bare_class(self) -> int:
        """The class of the bare opening, as a bit string."""
        return sum(1 << at for at, some in enumerate(self.classes) if some[0] == BARE)

    def first(self, classes: int) -> int:
        """Return the cheapest adapter of some classes."""
        return self.classes[next(places(classes))][0]

    def number(self, classes: int) -> int:
        """Return the number of adapters in some classes."""
        return sum(power * (classes & plane).bit_count() for power, plane in self._planes)

    @cached_property
    def _planes(self) -> list[tuple[int, int]]:
        """Number of adapters in binary: for each power of two, the classes whose number contains it."""
        many = list(map(len, self.classes))
        powers = [1 << at for at in range(max(many, default=0).bit_length())]
        return [(power, sum(1 << at for at, one in enumerate(many) if one & power)) for power in powers]

    def cheapest(self, classes: int, k: int) -> list[int]:
        """Return the k cheapest adapters of some classes."""
        found = [one for at in islice(places(classes), k) for one in self.classes[at][:k]]
        return sorted(found, key=lambda one: (self.cents[one], one))[:k]

    def adapter_id(self, one: int) -> str | None:
        """Return the name of an adapter; None for the bare opening."""
        return None if one == BARE else str(self.adapters.part_ids[one - 1])

    def sold(self, one: int) -> tuple[Any, Any, Any]:
        """Return price, pieces per pack and hours of fitting of an adapter, as in `cost_of`."""
        return (None, None, None) if one == BARE else money_of(self.adapters, one - 1)


def strings_of(codes: Numbers, bits: Sequence[int]) -> list[int]:
    """Return bit strings of the interfaces with at least each `LEAST` code."""
    return [reduce(or_, (bits[at] for at in np.flatnonzero(codes >= least).tolist()), 0) for least in LEAST]


def places(bits: int) -> Iterator[int]:
    """Yield the positions of the set bits of a string, lowest first.

    >>> list(places(0b1010))
    [1, 3]
    """
    while bits:
        yield (bits & -bits).bit_length() - 1
        bits &= bits - 1


def interfaces_of(place: Place, opening: Columns, pieces: int, adapters: Parts, settings: Settings) -> Interfaces:
    """Return the interfaces of an opening within its allowed step, with adapters for its kind.

    Adapters that offer the same in every hole form one class; the bare opening is a class of its own.
    """
    holes = holes_of(place.kind, opening)
    rows, count = len(holes), len(adapters)
    through = adapter_interfaces(
        holes.columns.take(np.tile(np.arange(rows), count)),
        adapters.subject("adapter").take(np.repeat(np.arange(count), rows)),
        rows * count,
    )
    bare = bare_interfaces(holes)
    read = set(map(str, figures_of(tuple(rules_of(rules_at(place.kind))))))
    columns = Columns({name: joined(bare[name], through[name]) for name in bare if name in read})
    step = np.concatenate([holes.step, np.maximum(np.tile(holes.step, count), BOARD_STEP)])
    at = Evaluation(adapters.subject("adapter").down() | holes.columns.across(), settings)
    base, bolts = (
        np.concatenate([np.full(rows, FITS), np.broadcast_to(refused_or_not(codes), (count, rows)).reshape(-1)])
        for codes in (worst(lifted(rules_of(ADAPTER), by_drill), at) for by_drill in (False, True))
    )
    near = (base != NO) & is_allowed(step, place.allowed) & ((bolts != NO) | is_allowed(DRILLED, place.allowed))
    distinguishing = [step, base, bolts, *(part for column in columns.values() for part in row_keys(column)), near]
    keys = [np.where(near, each, -2).reshape(-1, rows)[:, hole] for each in distinguishing for hole in range(rows)]
    alike = distinct([*keys, np.arange(count + 1) == BARE], count + 1).number
    cents = np.concatenate([[0], prices(adapters, pieces, settings)])
    found: dict[int, list[int]] = {}
    # The bare opening has no name: it comes before all of its price.
    for one in np.lexsort((np.arange(count + 1), cents)).tolist():
        if near.reshape(-1, rows)[one].any():
            found.setdefault(int(alike[one]), []).append(one)
    every = [
        (Interface(bool(holes.is_cut[hole]), number, *(int(each[row]) for each in (step, base, bolts))), row)
        for number, some in enumerate(found.values())
        for hole, row in enumerate(range(some[0] * rows, (some[0] + 1) * rows))
        if near[row]
    ]
    every.sort(key=lambda pair: pair[0][:2])
    taken = columns.take(np.array([row for _, row in every], np.int64))
    return Interfaces(place.allowed, adapters, cents, list(found.values()), [one for one, _ in every], taken, opening)


def prices(adapters: Parts, pieces: int, settings: Settings) -> Numbers:
    """Price of each adapter with its labor, in cents; zero if it has no price."""
    return np.where(adapters.cells["price"].known, money_cents(adapters, pieces, settings), 0)


def money_cents(parts: Parts, pieces: int, settings: Settings) -> Numbers:
    """Return the price of whole packs for some pieces, with the labor of fitting each, in cents."""
    price, pack_of, labour_h = (parts.cells[name] for name in ("price", "pack_of", "labour_h"))
    pack = np.where(pack_of.known, pack_of.values // MICRO, 1)
    goods = _cents(price.values * ((pieces + pack - 1) // pack) * 100, MICRO)
    times, by = (settings.charged("labour_rate") * pieces * 100).as_integer_ratio()
    return goods + _cents(np.where(labour_h.known, labour_h.values, 0) * times, MICRO * by)


def _cents(values: Numbers, by: int) -> Numbers:
    return (values + by // 2) // by
