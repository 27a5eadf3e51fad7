"""The packages of a job in the total order: its candidates made a tree, the tree enumerated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from matcher.search.exact.budget import SearchBudget
from matcher.search.exact.enumeration import Ranking, SumLimits
from matcher.search.field import RankingField
from matcher.search.packages import Found
from matcher.search.tree.build import BuiltTree, build_tree


@dataclass
class PackageRanking:
    """The packages of a field within limits, as a generator in the total order."""

    tree: BuiltTree
    limits: SumLimits
    budget: SearchBudget | None = None
    least: int | None = None
    """The sum of which the least comes first, 0 for money; None: the most points."""
    floor: int | None = None
    """The fewest points that are looked for; None: any."""
    _ranking: Ranking | None = None

    def __iter__(self) -> Iterator[Found]:
        tree, reader = self.tree.job, self.tree.reader
        self._ranking = Ranking(
            0, tree.root(), self.limits, reader.name, reader.preference, self.budget, self.least, self.floor
        )
        return (package for found in self._ranking if reader.has_enough(package := reader.package(found)))

    @property
    def ended(self) -> bool:
        """Whether every package was looked at."""
        return self._ranking is not None and self._ranking.ended

    @property
    def missed(self) -> int | None:
        """After an early end: the most points that a package left out may have."""
        return None if self._ranking is None else self._ranking.missed


def tree_of(field: RankingField, *, sure: bool = False, by_goods: bool = False) -> BuiltTree:
    """The tree of a field, made once; of sure candidates and feeds only, if nothing may be left to measure."""
    key = "tree", sure, by_goods
    if key not in field.made:
        field.made[key] = build_tree(field, sure=sure, by_goods=by_goods)
    tree: BuiltTree = field.made[key]
    return tree


def packages_of(
    field: RankingField,
    limits: SumLimits,
    *,
    sure: bool = False,
    by_goods: bool = False,
    budget: SearchBudget | None = None,
) -> PackageRanking:
    """The packages of a field within limits, in the total order."""
    return PackageRanking(tree_of(field, sure=sure, by_goods=by_goods), limits, budget)


def best_of(
    field: RankingField, limits: SumLimits, budget: SearchBudget | None = None, floor: int | None = None
) -> Found | None:
    """The best package of a field within limits; None if there is none, or none with so many points."""
    if field.is_bare:
        return None
    return next(iter(PackageRanking(tree_of(field), limits, budget, floor=floor)), None)


def least_of(field: RankingField, limits: SumLimits, least: int) -> Found | None:
    """The package of a field that takes the least of a sum, 0 for money; None if there is no package."""
    return None if field.is_bare else next(iter(PackageRanking(tree_of(field), limits, least=least)), None)


def first_of(field: RankingField, limits: SumLimits, count: int) -> list[Found]:
    """The best packages of a field within limits."""
    return list(islice(packages_of(field, limits), count))
