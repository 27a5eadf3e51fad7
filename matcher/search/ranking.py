"""The packages of a job in the total order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

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
    """The sum to minimize, 0 for money; None: rank by points."""
    floor: int | None = None
    """Minimum points of interest; None: any."""
    by_goods: bool = False
    """Whether to keep only the non-dominated ways to mount each part, to list packages of different goods."""
    _ranking: Ranking | None = None

    def __iter__(self) -> Iterator[Found]:
        tree, reader = self.tree.job, self.tree.reader
        self._ranking = Ranking(
            0,
            tree.root(),
            self.limits,
            reader.name,
            reader.preference,
            self.budget,
            self.least,
            self.floor,
            thin=self.by_goods,
        )
        return (package for found in self._ranking if reader.has_enough(package := reader.package(found)))

    @property
    def ended(self) -> bool:
        """Whether every package has been yielded."""
        return self._ranking is not None and self._ranking.ended

    @property
    def missed(self) -> int | None:
        """After an early end: the maximum points of any package left out."""
        return None if self._ranking is None else self._ranking.missed


def tree_of(field: RankingField, *, sure: bool = False) -> BuiltTree:
    """Return the tree of a field, built once; only of candidates and feeds that fit if `sure`."""
    key = "tree", sure
    if key not in field.made:
        field.made[key] = build_tree(field, sure=sure)
    tree: BuiltTree = field.made[key]
    return tree


def packages_of(
    field: RankingField,
    limits: SumLimits,
    *,
    sure: bool = False,
    by_goods: bool = False,
    budget: SearchBudget | None = None,
    floor: int | None = None,
) -> PackageRanking:
    """The packages of a field within limits, in the total order; None below `floor` points is needed."""
    return PackageRanking(tree_of(field, sure=sure), limits, budget, floor=floor, by_goods=by_goods)


def best_of(
    field: RankingField, limits: SumLimits, budget: SearchBudget | None = None, floor: int | None = None
) -> Found | None:
    """Return the best package of a field within limits; None if there is none, or none of `floor` points."""
    return None if field.is_bare else next(iter(packages_of(field, limits, budget=budget, floor=floor)), None)


def least_of(field: RankingField, limits: SumLimits, least: int) -> Found | None:
    """Return the package of a field that minimizes a sum, 0 for money; None if there is no package."""
    return None if field.is_bare else next(iter(PackageRanking(tree_of(field), limits, least=least)), None)


def most_missed(missed: Iterable[int | None]) -> int | None:
    """Return the most points that a package left out of any of some searches may have."""
    return max((points for points in missed if points is not None), default=None)
