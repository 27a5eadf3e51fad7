"""Security layers: every minimal set that covers the wanted theft routes.

A set is minimal if none of its layers can be left out. The k best are found exactly: layers that cover the same wanted
routes replace each other and never occur in one set, so among these only layers dominated by k others are dropped, and
then sets dominated by k others.
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
    """Return the sets of layers for a job. If it names no route, any single layer will do."""
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
    """Wanted threats that a layer covers; a layer of unknown cover may cover all."""
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
    """Minimal sets of at most this many parts that can be in one of the k best packages.

    Sets with nothing open are kept separately, so that open ones cannot displace them.
    """
    sure = [one for one in useful if not one.is_open]
    return list(dict.fromkeys((*best_sets(useful, wanted, k, rule, most), *best_sets(sure, wanted, k, rule, most))))


def ways_of(count: Mapping[Routes, int], wanted: Routes, rule: Rule, most: int | None = None) -> int:
    """Number of all minimal sets of this many parts by the threats they cover."""
    covers = smallest_covers([routes for routes in count if routes], wanted, rule, most)
    return sum(prod(count[routes] for routes in cover) for cover in covers)


def best_sets(
    some: Sequence[Candidate], wanted: Routes, k: int, rule: Rule, most: int | None = None
) -> Iterator[Alternative]:
    """Return the minimal sets that cover everything wanted and can be in one of the k best packages."""
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
    """Return the sets dominated by fewer than k others, in the total order."""
    kept: list[tuple[int, tuple[int, ...], Alternative]] = []
    for order, some in sorted(((_order(some), some) for some in sets), key=lambda one: one[0]):
        uses = tuple(map(sum, zip(NO_USE, *(one.uses for one in some), strict=True)))
        # All that are kept stand before it in the order; those that cost and take no more dominate it.
        beating = {other[0].part_id for cents, taken, other in kept if cents <= order[1] and all(map(le, taken, uses))}
        if len(beating) < k:
            kept.append((order[1], uses, some))
    return [some for *_, some in kept]


def _order(some: Alternative) -> tuple[int, int, tuple[str, ...]]:
    """Sort key of a set: points descending, money, name."""
    points, cents = (sum(getattr(one, name) for one in some) for name in ("total_points", "cents"))
    return -points, cents, tuple(str(one.part_id) for one in some)


def smallest_covers(
    routes: Sequence[Routes], wanted: Routes, rule: Rule, most: int | None = None
) -> Iterator[tuple[Routes, ...]]:
    """Return every minimal set of these that a rule accepts as covering everything wanted.

    `most` limits the size of a set; None: no limit.

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
    """Whether the others cover everything that it covers."""
    return one <= frozenset().union(*(other for other in cover if other is not one))
