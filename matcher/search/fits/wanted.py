"""Requirements of a job for a head unit, as rules read them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from matcher.kernel.columns import Column, Columns, columns_of
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import MICRO, to_micro
from matcher.kernel.verdicts import Codes, worst
from matcher.rules.rule import rules_of
from matcher.rules.wanted import WANTED
from matcher.search.catalog.parts import Parts
from matcher.settings import Settings


@dataclass(frozen=True, slots=True)
class HeadUnitWish:
    """Requirements of the job for a head unit."""

    screen_min_in: Decimal | None
    must: tuple[str, ...]


def wanted_columns(wanted: HeadUnitWish, has: Collection[str] | None, given: Collection[str]) -> Columns:
    """Requirements of a job for one head unit, with its features, if they are known, and those its accessories give."""
    met = None if has is None else len({*has, *given} & set(wanted.must))
    return columns_of("wanted", [{"screen_min_in": wanted.screen_min_in, "count": len(wanted.must), "met": met}])


def wanted_codes(parts: Parts, wanted: HeadUnitWish, settings: Settings) -> Codes:
    """Return the worst that is said of each head unit by what the job asks of one."""
    must = set(wanted.must)
    has = np.array([-1 if some is None else len(must & set(some)) for some in parts.lists("features")], np.int64)
    met = has[parts.cells["features"].values]
    least = wanted.screen_min_in
    asked = {
        "wanted.screen_min_in": Column(np.array([to_micro(least or 0)]), least is not None),
        "wanted.count": Column(np.array([to_micro(len(wanted.must))])),
        "wanted.met": Column(met * MICRO, met >= 0),
    }
    return np.broadcast_to(worst(rules_of(WANTED), Evaluation(parts.columns | asked, settings)), len(parts))
