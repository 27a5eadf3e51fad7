"""All that questions read of the store, as arrays: each family of parts and each vehicle is read once."""

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
    """A cached result with its dependencies in the store: families and openings by name."""

    found: Any
    of: frozenset[str]


MOST_WISHED = 12
"""So many different wishes about parts are kept beside the whole catalog, those asked last."""


Vehicles = dict[str, dict[str, Any]]
"""By vehicle what was read of it."""


@dataclass
class CatalogCache:
    """Caches of rows read from the store, and of results computed from them."""

    parts: dict[str, Parts] = field(default_factory=dict)
    vehicles: dict[str, dict[str, Any]] = field(default_factory=dict)
    made: dict[object, CachedResult] = field(default_factory=dict)
    wished: dict[PartWishes, CatalogCache] = field(default_factory=dict)
    """The same of the parts that some wishes allow."""

    def without(self, of: set[str], spared: set[str], parts: Mapping[str, Parts], vehicles: Vehicles) -> CatalogCache:
        """Copy the cached results that do not depend on some families and openings, with others in their place."""
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
    """The store as it is for a question: its parts, its vehicles, and what was worked out of them."""

    con: Connection
    settings: Settings
    kept: CatalogCache = field(default_factory=CatalogCache)
    wishes: PartWishes = ANY
    """Which parts are looked at; all others are as if they were not in it."""
    whole: Catalog | None = None
    """The catalog with all parts, where some wishes allow fewer."""
    _noting: list[set[str]] = field(default_factory=list)
    """Of what is being worked out, the innermost last: what it has asked for so far."""

    def parts(self, family: str) -> Parts:
        """A family's parts with all that rules and candidates read of them, in the order of their names."""
        self._note(family)
        if family not in self.kept.parts:
            self.kept.parts[family] = self._read(family)
        return self.kept.parts[family]

    def _read(self, family: str) -> Parts:
        if self.whole is None:
            return read_parts(self.con, family, self.settings)
        return wished_parts(self.con, self.whole.parts(family), self.wishes, self.settings)

    def wished(self, wishes: PartWishes) -> Catalog:
        """The catalog of the parts that some wishes allow, in place of the wishes that it has."""
        whole = self.whole or self
        if wishes == ANY:
            return whole
        kept = whole.kept.wished.pop(wishes, None) or CatalogCache(vehicles=whole.kept.vehicles)
        whole.kept.wished[wishes] = kept
        for other in list(whole.kept.wished)[:-MOST_WISHED]:
            del whole.kept.wished[other]
        return Catalog(self.con, self.settings, kept, wishes, whole, self._noting)

    def part(self, family: str, part_id: str, subject: str = "part") -> Columns:
        """One part as rules read it of a subject: one row."""
        parts = self.parts(family)
        return parts.subject(subject).take(parts.rows([part_id]))

    def vehicle(self, vehicle_id: str) -> VehicleColumns:
        """A vehicle's effective figures."""
        kept = self.kept.vehicles.setdefault(vehicle_id, {})
        return VehicleColumns(vehicle_id, partial(self._rows, vehicle_id), self.settings, self._note, kept)

    def _rows(self, vehicle_id: str, table: str, order: str) -> list[dict[str, Any]]:
        return read_rows(self.con, table, vehicle_id, order)

    def once(self, key: object, make: Callable[[], Any], of: Collection[str] = ()) -> Any:
        """Compute a result once for a key.

        What it asks of the catalog in the meantime is noted, so that it is worked out anew where some of that is
        assumed otherwise. `make` has to be done when it returns: what asks the catalog later asks that of now. `of`
        names families and openings that it depends on beside.
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
        """Rules told of some rows, as the kernel tells them; of the same figures they are told once."""
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
        """The same with some families or vehicles told otherwise: what depends on what is told so is worked out anew.

        Parameters
        ----------
        of
            The families and openings that are told otherwise.
        spared
            Openings at which that makes no difference.
        """
        whole = self.whole or self
        known = {name: dict(kept) for name, kept in list(whole.kept.vehicles.items())}
        kept = whole.kept.without(set(of), set(spared), parts, {**known, **vehicles})
        return Catalog(self.con, self.settings, kept).wished(self.wishes)
