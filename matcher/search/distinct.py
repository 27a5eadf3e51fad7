"""Packages that differ in their main goods: head unit, loudspeakers, bass, amplifiers.

Packages that share all of these differ in an adapter, cable, bracket or film: they form one line with alternatives.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import islice
from typing import TypeAlias

from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.enumeration import SumLimits
from matcher.search.field import RankingField
from matcher.search.packages import Found
from matcher.search.ranking import most_missed, packages_of

MAIN_SLOTS = frozenset({"head_unit", "speaker", "bass", "enclosure", "amplifier", "bass_amplifier"})
LOOKED = 200
"""Number of packages enumerated one by one; then only the best of each choice of main goods."""
MOST_ALTERNATIVES = 3
"""Number of alternatives kept per package."""

Goods: TypeAlias = tuple[tuple[str, str, str, int], ...]
"""Slot, opening, part and number of pieces of each main good."""


def goods_of(found: Found) -> Goods:
    """Return the main goods of a package."""
    some = (one.candidate for one in found.fitted if one.candidate.slot in MAIN_SLOTS)
    return tuple(sorted((one.slot, str(one.opening_id), str(one.part_id), one.cost.pieces) for one in some))


@dataclass
class DistinctPackage:
    """A package, and lower-ranked ones with the same main goods."""

    found: Found
    alternatives: list[Found] = field(default_factory=list)


@dataclass
class DistinctPackages:
    """The best packages that differ in their main goods."""

    packages: list[DistinctPackage]
    missed: int | None
    """After an early end: the maximum points of any package left out."""
    looked: list[Found]
    """The first packages in the total order, as far as they were enumerated one by one."""


def list_distinct(
    whole: RankingField, limits: SumLimits, count: int, budget: SearchBudget | None = None
) -> DistinctPackages:
    """Return the first packages in the total order that differ in their main goods.

    Packages are first enumerated one by one. If many share their goods, the search continues over the non-dominated
    ways to mount each part: the best package of each choice of goods is among these.
    """
    every = packages_of(whole, limits, budget=budget)
    listed: dict[Goods, DistinctPackage] = {}
    looked = _take(listed, islice(every, LOOKED), count)
    rankings = [every]
    if len(listed) < count and every.missed is None and not every.ended:
        fewer = packages_of(whole, limits, by_goods=True, budget=budget)
        _take(listed, fewer, count)
        rankings.append(fewer)
    return DistinctPackages(list(listed.values()), most_missed(one.missed for one in rankings), looked)


def _take(listed: dict[Goods, DistinctPackage], some: Iterable[Found], count: int) -> list[Found]:
    """Add packages until enough of them differ; return all that were enumerated."""
    looked = []
    for found in some:
        looked.append(found)
        held = listed.setdefault(goods_of(found), DistinctPackage(found))
        known = [held.found.name, *(one.name for one in held.alternatives)]
        if found.name not in known and len(held.alternatives) < MOST_ALTERNATIVES:
            held.alternatives.append(found)
        if len(listed) == count:
            break
    return looked
