"""Catalogs cached by this process: another question on the same catalog reads nothing again."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from matcher.search.catalog.catalog import Catalog, CatalogCache
from matcher.settings import Settings
from matcher.store.database.connection import Connection
from matcher.store.database.stamps import ground_of

MOST_STORES = 2
MOST_QUESTIONS = 60
"""After so many questions all is worked out anew: what none of them asks for any more is let go."""


@dataclass
class Ground:
    """Cached catalog of one store, in the state in which it was read."""

    state: str
    marks: dict[str, str] = field(default_factory=dict)
    """Of each vehicle the mark of its document."""
    kept: CatalogCache = field(default_factory=CatalogCache)
    asked: int = 0


_grounds: dict[Path, Ground] = {}


def forget() -> None:
    """Let go of all that is kept, to ask as a process that has asked nothing yet."""
    _grounds.clear()


def catalog_of(con: Connection, file: Path, vehicle_id: str, settings: Settings) -> Catalog:
    """The catalog of a store's file for a question on a vehicle, with what was read and worked out before.

    What has changed since is read anew: the catalog with the readings and the settings as a whole, a vehicle by
    itself.
    """
    state, mark = ground_of(con, vehicle_id)
    ground = _grounds.pop(file, None)
    if ground is None or ground.state != state:
        ground = Ground(state)
    if ground.marks.get(vehicle_id, mark) != mark or ground.asked >= MOST_QUESTIONS:
        ground = Ground(state, kept=CatalogCache(parts=ground.kept.parts))
    ground.marks[vehicle_id] = mark
    ground.asked += 1
    _grounds[file] = ground
    for other in list(_grounds)[:-MOST_STORES]:
        del _grounds[other]
    return Catalog(con, settings, ground.kept)
