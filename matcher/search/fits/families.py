"""What a question asks of whole families at an opening: its interfaces, the ways in, each worked out once."""

from __future__ import annotations

import numpy as np

from matcher.kernel.columns import word_code
from matcher.rules.rule import FITS
from matcher.search.catalog.parts import Parts
from matcher.search.fits.feasible import Mountings, feasible, wanted_codes
from matcher.search.fits.interfaces import Interfaces, interfaces_of
from matcher.search.fits.place import Place
from matcher.search.fits.screens import screen_codes
from matcher.search.fits.sweep import Sweeps
from matcher.search.fits.wanted import Wanted

NOTHING_WANTED = Wanted(None, ())


def interfaces_at(sweeps: Sweeps, place: Place, pieces: int, k: int) -> Interfaces:
    """The interfaces of an opening within its step."""
    catalog = sweeps.catalog

    def find() -> Interfaces:
        opening = catalog.vehicle(place.vehicle_id).opening(place.kind, place.opening_id)
        return interfaces_of(place, opening, pieces, k, _adapters(sweeps, place.kind), sweeps.settings)

    met: Interfaces = catalog.once(("interfaces", place, pieces, k), find)
    return met


def _adapters(sweeps: Sweeps, kind: str) -> Parts:
    """The adapters made for a kind of opening."""

    def find() -> Parts:
        parts = sweeps.catalog.parts("adapter")
        return parts.take(np.flatnonzero(parts.cells["for"].values == word_code(kind)))

    adapters: Parts = sweeps.catalog.once(("adapters", kind), find)
    return adapters


def mountings_at(sweeps: Sweeps, place: Place, pieces: int, k: int, wanted: Wanted = NOTHING_WANTED) -> Mountings:
    """The feasible mountings of a family at an opening."""
    catalog = sweeps.catalog

    def find() -> Mountings:
        parts, settings = catalog.parts(place.family), sweeps.settings
        met = interfaces_at(sweeps, place, pieces, k)
        if not met.mates.mouths:
            nothing = np.zeros(0, np.int64)
            return Mountings(met.mates, nothing, nothing, nothing.astype(np.bool_), nothing, nothing, nothing)
        alone = np.full(len(parts), FITS, np.int8)
        if place.kind == "dash":
            things = catalog.vehicle(place.vehicle_id).things(place.opening_id)
            alone = np.minimum(screen_codes(things, parts.columns, settings), _wanted(parts, wanted, sweeps))
        return feasible(place, parts, pieces, met, alone, settings)

    found: Mountings = catalog.once(("mountings", place, pieces, k, wanted), find)
    return found


def _wanted(parts: Parts, wanted: Wanted, sweeps: Sweeps) -> np.ndarray:
    """What is said of each head unit by what the job asks of one."""
    must = set(wanted.must)
    has = np.array([-1 if some is None else len(must & set(some)) for some in parts.lists("features")], np.int64)
    count = has[parts.cells["features"].values]
    scaled = np.where(count >= 0, count * 1_000_000, -1)
    return np.asarray(wanted_codes(parts.columns, wanted.screen_min_in, len(wanted.must), scaled, sweeps.settings))
