"""Price and standby drain of a family's parts, and those that can be in one of the best packages."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import word_code
from matcher.kernel.distinct import Numbers
from matcher.kernel.exact import MICRO, divided
from matcher.rules.package import AT_REST
from matcher.rules.rule import FITS
from matcher.rules.terms import FigureTerm
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.parts import Parts
from matcher.search.feeds.parts import Candidate, Cost
from matcher.search.fits.mounted import Merits, dominated_by
from matcher.settings import Settings


class Goods:
    """Price and standby drain of a family's parts, each bought per car: one pack and its labor."""

    def __init__(self, parts: Parts, settings: Settings) -> None:
        price, labour_h, standby_ma = (parts.cells.get(name) for name in ("price", "labour_h", "standby_ma"))
        assert price is not None and labour_h is not None
        times, by = (settings.charged("labour_rate") * 100).as_integer_ratio()
        self._goods = divided(price.values * 100, MICRO)
        self._work = divided(np.where(labour_h.known, labour_h.values, 0) * times, MICRO * by)
        self._part_ids = parts.part_ids
        self.cents: Numbers = self._goods + self._work
        nothing = np.zeros(len(parts), np.int64)
        self.drain_ua: Numbers = nothing
        self.dark: NDArray[np.bool_] = nothing.astype(np.bool_)
        """Whether each part's standby drain is unknown."""
        if standby_ma is not None:
            self.drain_ua = np.where(standby_ma.known, standby_ma.values // 1000, 0)
            self.dark = ~np.asarray(standby_ma.known)

    @property
    def drain_code(self) -> Numbers:
        """Verdict code of each part's standby drain."""
        return np.where(self.dark, AT_REST.measure, FITS)

    def cost(self, row: int) -> Cost:
        """Price of one part."""
        return Cost(1, 1, 0, int(self._goods[row]), int(self._work[row]))

    def candidate(self, row: int, slot: str, **more: Any) -> Candidate:
        """Return a part as a candidate, with further fields."""
        return Candidate(
            slot=slot,
            part_id=str(self._part_ids[row]),
            cost=self.cost(row),
            drain_ua=int(self.drain_ua[row]),
            unsure_drain=bool(self.dark[row]),
            **more,
        )


def goods_of(catalog: Catalog, family: str) -> Goods:
    """Price and standby drain of a family's parts."""
    goods: Goods = catalog.once(("goods", family), lambda: Goods(catalog.parts(family), catalog.settings))
    return goods


def leading_rows(catalog: Catalog, family: str, distinguishing: Sequence[str], k: int) -> Numbers:
    """Return parts that can be in one of the k best packages for any wishes.

    Of parts that are equal in their distinguishing cells, those dominated by k others are left out: no cheaper, with no
    less drain, and no better known.
    """

    def find() -> Numbers:
        parts, goods = catalog.parts(family), goods_of(catalog, family)
        rows, nothing = np.arange(len(parts)), np.zeros(len(parts), np.int64)
        alike = parts.sets([FigureTerm("part", name) for name in distinguishing]).number
        return rows[
            dominated_by(Merits(alike, rows, nothing, goods.cents, goods.dark, rows, nothing, goods.drain_ua), k) < k
        ]

    found: Numbers = catalog.once(("leading", family, tuple(distinguishing), k), find)
    return found


def of_kind(parts: Parts, *kinds: str) -> NDArray[np.bool_]:
    """Return whether each part is of one of some kinds."""
    kind = parts.cells["kind"]
    found: NDArray[np.bool_] = np.isin(kind.values, [word_code(one) for one in kinds]) & kind.known
    return found
