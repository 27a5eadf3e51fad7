"""Layers of security: every smallest set that covers the wanted routes together.

A set is smallest where none of its layers could be left out. How exactly k best are found: layers
that cover the same of the wanted routes stand in for each other, and never both in one set; so of
these only what k others always beat is left out, and then of the sets that are made of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from math import prod
from operator import le

import numpy as np

from matcher.rules.rule import FITS, NO, Rule
from matcher.rules.security import ROUTES
from matcher.search.candidates.goods import goods_of, leading_rows
from matcher.search.candidates.table import Alternative, Beside
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import cell
from matcher.search.feeds.links import channel_code
from matcher.search.feeds.parts import NO_USE, Candidate
from matcher.search.question import JobQuestion
from matcher.search.scoring import Scoring

Routes = frozenset[str]


def layers(catalog: Catalog, question: JobQuestion, scoring: Scoring, k: int) -> Beside:
    """The sets of layers for a job. Where it names no route any one layer will do."""
    wanted = frozenset(question.routes)
    parts = catalog.parts("security")
    if not wanted:
        every = [_layer(catalog, row, wanted, scoring) for row in range(len(parts))]
        return Beside("security", [(one,) for one in every], len(every))
    rows = leading_rows(catalog, "security", ("covers", "effort"), k).tolist()
    useful = [one for row in rows if (one := _layer(catalog, row, wanted, scoring)).covers]
    count = Counter[Routes]()
    for at, number in enumerate(np.bincount(parts.cells["covers"].values).tolist()):
        count[_covered(parts.lists("covers")[at], wanted)] += number
    return Beside("security", sets_of(useful, wanted, k, ROUTES), ways_of(count, wanted, ROUTES))


def _covered(covers: Sequence[str] | None, wanted: Routes) -> Routes:
    """Threats that a layer covers of those wanted; one of unknown cover may cover them all."""
    return wanted if covers is None else wanted & set(covers)


def _layer(catalog: Catalog, row: int, wanted: Routes, scoring: Scoring) -> Candidate:
    parts, goods = catalog.parts("security"), goods_of(catalog, "security")
    covers = parts.listed("covers", row)
    code = ROUTES.measure if covers is None and wanted else FITS
    points = (
        ("original_look", scoring.effort(cell(parts.cells["effort"], row))),
        ("price", scoring.price(goods.cost(row).cents)),
        ("known", scoring.unknown(min(code, int(goods.drain_code[row])))),
    )
    covered = tuple(sorted(_covered(covers, wanted)))
    return goods.candidate(row, "security", code=code, points=points, covers=covered)


def sets_of(
    useful: Sequence[Candidate], wanted: Routes, k: int, rule: Rule, most: int | None = None
) -> list[Alternative]:
    """The smallest sets of at most so many parts that may stand in one of the k best packages.

    What is sure is kept apart, so that what must be measured cannot crowd it out.
    """
    sure = [one for one in useful if not one.is_open]
    return list(dict.fromkeys((*best_sets(useful, wanted, k, rule, most), *best_sets(sure, wanted, k, rule, most))))


def ways_of(count: Mapping[Routes, int], wanted: Routes, rule: Rule, most: int | None = None) -> int:
    """Number of all smallest sets of so many parts by the threats they cover."""
    covers = smallest_covers([routes for routes in count if routes], wanted, rule, most)
    return sum(prod(count[routes] for routes in cover) for cover in covers)


def best_sets(
    some: Sequence[Candidate], wanted: Routes, k: int, rule: Rule, most: int | None = None
) -> Iterator[Alternative]:
    """Of the smallest sets that cover all that is wanted those that may stand in one of the k best packages."""
    groups: dict[Routes, list[Alternative]] = {}
    for one in some:
        groups.setdefault(frozenset(one.covers), []).append((one,))
    kept = {routes: undominated(group, k) for routes, group in groups.items()}
    for cover in smallest_covers(list(kept), wanted, rule, most):
        made: list[Alternative] = [()]
        for routes in cover:
            both = (sorted((*one, *other), key=lambda part: part.name) for one in made for other in kept[routes])
            made = undominated(map(tuple, both), k)
        yield from made


def undominated(sets: Iterable[Alternative], k: int) -> list[Alternative]:
    """The sets that can stand in one of the k best packages, in the total order: fewer than k others beat each."""
    kept: list[tuple[int, tuple[int, ...], Alternative]] = []
    for order, some in sorted(((_order(some), some) for some in sets), key=lambda one: one[0]):
        uses = tuple(map(sum, zip(NO_USE, *(one.uses for one in some), strict=True)))
        # All that are kept stand before it in the order; those that cost and take no more dominate it.
        beating = {other[0].part_id for cents, taken, other in kept if cents <= order[1] and all(map(le, taken, uses))}
        if len(beating) < k:
            kept.append((order[1], uses, some))
    return [some for *_, some in kept]


def _order(some: Alternative) -> tuple[int, int, tuple[str, ...]]:
    """The place of a set in the total order: more points, less money, then by name."""
    points, cents = (sum(getattr(one, name) for one in some) for name in ("total_points", "cents"))
    return -points, cents, tuple(str(one.part_id) for one in some)


def smallest_covers(
    routes: Sequence[Routes], wanted: Routes, rule: Rule, most: int | None = None
) -> Iterator[tuple[Routes, ...]]:
    """Every set of these of which none could be left out, and which a rule takes for all that is wanted.

    `most` is how many a set may hold; none: as many as it takes.

    >>> a, b, ab = frozenset("a"), frozenset("b"), frozenset("ab")
    >>> [len(cover) for cover in smallest_covers([a, b, ab], ab, ROUTES)]
    [1, 2]
    """
    for size in range(1, min(len(wanted), most or len(wanted)) + 1):
        for cover in combinations(routes, size):
            together = len(wanted & frozenset().union(*cover))
            if channel_code(rule, together, len(wanted)) != NO and not any(_spare(cover, one) for one in cover):
                yield cover


def _spare(cover: tuple[Routes, ...], one: Routes) -> bool:
    """Whether the others cover all that it covers."""
    return one <= frozenset().union(*(other for other in cover if other is not one))
