"""What the parts of one answer share: the catalog, and what was told of links and fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Any

import numpy as np

from catalog_schema.answers import Fit
from matcher.kernel.columns import Columns
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.verdicts import worst
from matcher.rules.holding import HOLDING
from matcher.rules.rule import NO, rules_of
from matcher.rules.supply import POWERED
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.vehicle import OWN
from matcher.search.fits.fit import fit_parts
from matcher.search.fits.mounting import Question as FitQuestion
from matcher.search.fits.place import Place
from matcher.search.fits.refusing import refused_or_not
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass
class Sweeps:
    """One question to the catalog; what is asked again is told again."""

    con: Connection
    settings: Settings
    codes: dict[Any, int] = field(default_factory=dict)
    """What the rules said of every link that was asked."""
    kept: Catalog | None = None
    """All that arrays are made of, where some of it was read before."""

    @cached_property
    def catalog(self) -> Catalog:
        """All that arrays are made of: parts by family, the vehicle's effective figures."""
        return self.kept or Catalog(self.con, self.settings)

    def powered(self, vehicle_id: str) -> int:
        """The worst that the vehicle's own supply says to any powered part."""
        code: int = self.catalog.once(("powered", vehicle_id), partial(self._powered, vehicle_id))
        return code

    def may_hold(self, place: Place) -> bool:
        """Whether anything may be fastened at an opening at all, whatever the limits say."""
        code: int = self.catalog.once(("holds", place.kind, *place.key), partial(self._holding, place))
        return code != NO

    def _powered(self, vehicle_id: str) -> int:
        return _worst_of_one(POWERED, self.catalog.vehicle(vehicle_id).columns, self.settings)

    def _holding(self, place: Place) -> int:
        opening = self.catalog.vehicle(place.vehicle_id).opening(place.kind, place.opening_id)
        return _worst_of_one(HOLDING, opening, self.settings)

    def fits(self, asked_of: Mapping[FitQuestion, int]) -> dict[FitQuestion, Fit]:
        """As `fit_parts`; what was asked before is told again."""
        kept = {one: self._told_at(one) for one in asked_of}
        unasked = {one: step for one, step in asked_of.items() if (one, step) not in kept[one]}
        for one, fit in (fit_parts(self.catalog, unasked) if unasked else {}).items():
            kept[one][one, unasked[one]] = fit
        return {one: kept[one][one, step] for one, step in asked_of.items()}

    def _told_at(self, one: FitQuestion) -> dict[tuple[FitQuestion, int], Fit]:
        """The fits told of a family at an opening, kept with the catalog."""
        told: dict[tuple[FitQuestion, int], Fit] = self.catalog.once(
            ("fits", one.family, one.vehicle_id, one.opening_id), dict, (one.family, "adapter", one.opening_id, OWN)
        )
        return told

    def on(self, catalog: Catalog) -> Sweeps:
        """The same questions to a catalog with something assumed."""
        return Sweeps(self.con, catalog.settings, self.codes, kept=catalog)


def _worst_of_one(scope: str, columns: Columns, settings: Settings) -> int:
    """The worst that some rules say of one row."""
    code = int(np.ravel(worst(rules_of(scope), Evaluation(columns, settings)))[0])
    return int(refused_or_not(code))
