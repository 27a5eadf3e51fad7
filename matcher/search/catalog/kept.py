"""Catalogs cached by this process: a second question about the same catalog reads nothing from the store."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from matcher.search.catalog.catalog import Catalog, CatalogCache
from matcher.settings import Settings
from matcher.store.database.connection import Connection
from matcher.store.database.stamps import ground_of

MOST_STORES = 2
MOST_QUESTIONS = 60
"""Number of questions after which the cache starts afresh, to release results no longer needed."""


@dataclass
class Ground:
    """Cached catalog of one store, with the state in which it was read."""

    state: str
    marks: dict[str, str] = field(default_factory=dict)
    """Version of each vehicle's document, by vehicle."""
    kept: CatalogCache = field(default_factory=CatalogCache)
    questions: int = 0


_grounds: dict[Path, Ground] = {}


def forget() -> None:
    """Clear the cache, as in a new process."""
    _grounds.clear()


def catalog_of(con: Connection, file: Path, vehicle_id: str, settings: Settings) -> Catalog:
    """Return the catalog of a store for a question about a vehicle, reusing cached results.

    A change to the catalog, its readings or the settings invalidates everything; a change to a vehicle, that vehicle.
    """
    state, mark = ground_of(con, vehicle_id)
    ground = _grounds.pop(file, None)
    if ground is None or ground.state != state:
        ground = Ground(state)
    if ground.marks.get(vehicle_id, mark) != mark or ground.questions >= MOST_QUESTIONS:
        ground = Ground(state, kept=CatalogCache(parts=ground.kept.parts))
    ground.marks[vehicle_id] = mark
    ground.questions += 1
    _grounds[file] = ground
    for other in list(_grounds)[:-MOST_STORES]:
        del _grounds[other]
    return Catalog(con, settings, ground.kept)
