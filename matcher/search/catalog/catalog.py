"""All that questions read of the store, as arrays: each family of parts and each vehicle is read once."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, partial
from types import MappingProxyType
from typing import Any

import numpy as np

from catalog_schema.checks import Check
from matcher.kernel.columns import Columns
from matcher.kernel.explain import explain
from matcher.rules.rule import Rule
from matcher.rules.terms import Figure, read_by
from matcher.search.catalog.parts import Parts, read_parts
from matcher.search.catalog.vehicle import Vehicle, read_rows
from matcher.settings import Settings
from matcher.store.connection import Connection


@dataclass
class Made:
    """What was worked out, and what of the store it hangs on: families and openings by name."""

    found: Any
    of: frozenset[str]


@cache
def _read_by(rules: tuple[Rule, ...]) -> tuple[Figure, ...]:
    """All that some rules read."""
    return read_by(*(term for rule in rules for term in rule.terms))


@dataclass
class Kept:
    """What was read of the store, and what was worked out of it."""

    parts: dict[str, Parts] = field(default_factory=dict)
    vehicles: dict[str, dict[str, Any]] = field(default_factory=dict)
    made: dict[object, Made] = field(default_factory=dict)


@dataclass
class Catalog:
    """The store as it is for a question: its parts, its vehicles, and what was worked out of them."""

    con: Connection
    settings: Settings
    kept: Kept = field(default_factory=Kept)
    _noting: list[set[str]] = field(default_factory=list)
    """Of what is being worked out, the innermost last: what it has asked for so far."""

    def parts(self, family: str) -> Parts:
        """A family's parts with all that rules and candidates read of them, in the order of their names."""
        self._note(family)
        if family not in self.kept.parts:
            self.kept.parts[family] = read_parts(self.con, family, self.settings)
        return self.kept.parts[family]

    def part(self, family: str, part_id: str, subject: str = "part") -> Columns:
        """One part as rules read it of a subject: one row."""
        parts = self.parts(family)
        return parts.subject(subject).take(parts.rows([part_id]))

    def vehicle(self, vehicle_id: str) -> Vehicle:
        """A vehicle's effective figures."""
        kept = self.kept.vehicles.setdefault(vehicle_id, {})
        return Vehicle(vehicle_id, partial(self._rows, vehicle_id), self.settings, self._note, kept)

    def _rows(self, vehicle_id: str, table: str, order: str) -> list[dict[str, Any]]:
        return read_rows(self.con, table, vehicle_id, order)

    def once(self, key: object, make: Callable[[], Any], of: Collection[str] = ()) -> Any:
        """What is worked out of the catalog, once for a key.

        What it asks of the catalog meanwhile is noted, so that it is worked out anew where some of that is assumed
        otherwise. `make` has to be done when it returns: what asks the catalog later asks that of now. `of` names
        families and openings that it hangs on beside.
        """
        if key not in self.kept.made:
            self._noting.append(set())
            try:
                found = make()
            finally:
                noted = self._noting.pop()
            self.kept.made[key] = Made(found, frozenset((*noted, *of)))
        made = self.kept.made[key]
        for name in made.of:
            self._note(name)
        return made.found

    def explain(self, rules: Sequence[Rule], columns: Columns, rows: int = 1) -> list[list[Check]]:
        """Rules told of some rows, as the kernel tells them; of the same figures they are told once."""
        figures = _read_by(tuple(rules))
        read = tuple(np.asarray(part).tobytes() for one in figures for part in columns[one])
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
        """The same with some families or vehicles told otherwise: what hangs on what is told so is worked out anew.

        Parameters
        ----------
        of
            The families and openings that are told otherwise.
        spared
            Openings at which that makes no difference.
        """
        now, gone, saved = self.kept, set(of), set(spared)
        made = {
            key: one
            for key, one in list(now.made.items())
            if not one.of & gone or (saved & one.of and saved.issuperset(one.of - now.parts.keys()))
        }
        known = {name: dict(kept) for name, kept in list(now.vehicles.items())}
        return Catalog(self.con, self.settings, Kept({**now.parts, **parts}, {**known, **vehicles}, made))

    def with_settings(self, settings: Settings) -> Catalog:
        """The same under settings that make no difference to a part or a vehicle: points, and what is money."""
        return Catalog(self.con, settings, Kept(self.kept.parts, self.kept.vehicles))
