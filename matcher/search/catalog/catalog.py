"""The store's data that questions read, as arrays: each family of parts and each vehicle is read once."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from types import MappingProxyType
from typing import Any

import numpy as np

from catalog_schema.checks import Check
from matcher.kernel.columns import Columns
from matcher.kernel.explain import explain
from matcher.rules.rule import Rule, figures_of
from matcher.search.catalog.parts import Parts, read_parts
from matcher.search.catalog.vehicle import VehicleColumns, read_rows
from matcher.search.catalog.wishes import ANY, PartWishes, wished_parts
from matcher.settings import Settings
from matcher.store.database.connection import Connection


@dataclass
class CachedResult:
    """A cached result with the families and openings of the store that it depends on."""

    found: Any
    of: frozenset[str]


MOST_WISHED = 12
"""Number of part wishes cached with the whole catalog, most recent ones."""


Vehicles = dict[str, dict[str, Any]]
"""Rows read of each vehicle, by vehicle."""


@dataclass
class CatalogCache:
    """Caches of rows read from the store, and of results computed from them."""

    parts: dict[str, Parts] = field(default_factory=dict)
    vehicles: dict[str, dict[str, Any]] = field(default_factory=dict)
    made: dict[object, CachedResult] = field(default_factory=dict)
    wished: dict[PartWishes, CatalogCache] = field(default_factory=dict)
    """Caches of the catalog restricted by part wishes."""

    def without(self, of: set[str], spared: set[str], parts: Mapping[str, Parts], vehicles: Vehicles) -> CatalogCache:
        """Copy the cached results that do not depend on some families and openings, with replacements for these."""
        made = {
            key: one
            for key, one in list(self.made.items())
            if not one.of & of or (spared & one.of and spared.issuperset(one.of - self.parts.keys()))
        }
        wished = {}
        for wishes, kept in self.wished.items():
            same = {family: some for family, some in kept.parts.items() if family not in of}
            wished[wishes] = replace(kept, parts=same).without(of, spared, {}, vehicles)
        return CatalogCache({**self.parts, **parts}, vehicles, made, wished)


@dataclass
class Catalog:
    """The store in its state for a question: parts, vehicles, and results computed from them."""

    con: Connection
    settings: Settings
    kept: CatalogCache = field(default_factory=CatalogCache)
    wishes: PartWishes = ANY
    """Parts to consider; all others are treated as absent."""
    whole: Catalog | None = None
    """The unrestricted catalog, if part wishes restrict this one."""
    _noting: list[set[str]] = field(default_factory=list)
    """Dependencies of the results being computed, innermost last."""

    def parts(self, family: str) -> Parts:
        """Return a family's parts with all columns that rules and candidates read, sorted by name."""
        self._note(family)
        if family not in self.kept.parts:
            self.kept.parts[family] = self._read(family)
        return self.kept.parts[family]

    def _read(self, family: str) -> Parts:
        if self.whole is None:
            return read_parts(self.con, family, self.settings)
        return wished_parts(self.con, self.whole.parts(family), self.wishes, self.settings)

    def wished(self, wishes: PartWishes) -> Catalog:
        """Return the catalog restricted by these part wishes instead of its own."""
        whole = self.whole or self
        if wishes == ANY:
            return whole
        kept = whole.kept.wished.pop(wishes, None) or CatalogCache(vehicles=whole.kept.vehicles)
        whole.kept.wished[wishes] = kept
        for other in list(whole.kept.wished)[:-MOST_WISHED]:
            del whole.kept.wished[other]
        return Catalog(self.con, self.settings, kept, wishes, whole, self._noting)

    def part(self, family: str, part_id: str, subject: str = "part") -> Columns:
        """Return one part as a subject's columns: one row."""
        parts = self.parts(family)
        return parts.subject(subject).take(parts.rows([part_id]))

    def vehicle(self, vehicle_id: str) -> VehicleColumns:
        """Return a vehicle's effective figures."""
        kept = self.kept.vehicles.setdefault(vehicle_id, {})
        return VehicleColumns(vehicle_id, partial(self._rows, vehicle_id), self.settings, self._note, kept)

    def _rows(self, vehicle_id: str, table: str, order: str) -> list[dict[str, Any]]:
        return read_rows(self.con, table, vehicle_id, order)

    def once(self, key: object, make: Callable[[], Any], of: Collection[str] = ()) -> Any:
        """Compute a result once for a key.

        The catalog's data read by `make` are recorded as dependencies, so that the result is computed again if some of
        them are assumed otherwise. `make` must be complete when it returns: later reads would see the current data.
        `of` names further families and openings that the result depends on.
        """
        if key not in self.kept.made:
            self._noting.append(set())
            try:
                found = make()
            finally:
                noted = self._noting.pop()
            self.kept.made[key] = CachedResult(found, frozenset((*noted, *of)))
        made = self.kept.made[key]
        for name in made.of:
            self._note(name)
        return made.found

    def explain(self, rules: Sequence[Rule], columns: Columns, rows: int = 1) -> list[list[Check]]:
        """Explain rules for some rows, once for equal figures."""
        read = tuple(np.asarray(part).tobytes() for one in figures_of(tuple(rules)) for part in columns[one])
        found: list[list[Check]] = self.once(
            ("told", rows, *(rule.name for rule in rules), read), lambda: explain(rules, columns, self.settings, rows)
        )
        return found

    def _note(self, name: str) -> None:
        if self._noting:
            self._noting[-1].add(name)

    def changed(
        self,
        of: Collection[str],
        *,
        parts: Mapping[str, Parts] = MappingProxyType({}),
        vehicles: Mapping[str, dict[str, Any]] = MappingProxyType({}),
        spared: Collection[str] = (),
    ) -> Catalog:
        """Return the catalog with some families or vehicles changed; results that depend on them are computed again.

        Parameters
        ----------
        of
            Families and openings that change.
        spared
            Openings that the change does not affect.
        """
        whole = self.whole or self
        known = {name: dict(kept) for name, kept in list(whole.kept.vehicles.items())}
        kept = whole.kept.without(set(of), set(spared), parts, {**known, **vehicles})
        return Catalog(self.con, self.settings, kept).wished(self.wishes)
