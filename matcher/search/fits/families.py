"""What a question reads of the catalog: families as arrays, the ways into an opening, each read once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from matcher.rules.dash import SCREEN
from matcher.rules.rule import FITS, rules_of
from matcher.rules.terms import Figure, read_by
from matcher.rules.wanted import WANTED
from matcher.search.fits.arrays import Parts, read_parts
from matcher.search.fits.feasible import Mountings, feasible, figures_read, wanted_codes
from matcher.search.fits.interfaces import Interfaces, read_adapters, read_interfaces
from matcher.search.fits.place import Place
from matcher.search.fits.screens import screen_codes
from matcher.search.fits.sweep import Sweeps
from matcher.search.fits.wanted import Wanted

PRICED = ("price", "pack_of", "labour_h")
NOTHING_WANTED = Wanted(None, ())


def parts_at(sweeps: Sweeps, kind: str, family: str, cells: Sequence[str]) -> Parts:
    """A family's parts with all that rules read of them at openings of a kind, and other cells."""

    def read() -> Parts:
        figures = figures_read(kind)
        if kind == "dash":
            beside = (term for rule in (*rules_of(SCREEN), *rules_of(WANTED)) for term in rule.terms)
            figures += [one for one in read_by(*beside) if one.subject == "part"]
            figures += [Figure("part", f"screen_rise_{end}_mm") for end in ("min", "max")]
        distinct = list(dict.fromkeys(figures))
        return read_parts(sweeps.con, family, "part", distinct, sweeps.settings, (*PRICED, *cells))

    parts: Parts = sweeps.once(("parts", family, tuple(cells)), read)
    return parts


def interfaces_at(sweeps: Sweeps, place: Place, pieces: int, k: int) -> Interfaces:
    """The interfaces of an opening within its step."""

    def read() -> Interfaces:
        adapters = sweeps.once(
            ("parts", "adapter", place.kind), lambda: read_adapters(sweeps.con, place.kind, sweeps.settings)
        )
        return read_interfaces(sweeps.con, place, pieces, k, adapters, sweeps.settings)

    met: Interfaces = sweeps.once(("interfaces", "adapter", place, pieces, k), read)
    return met


def mountings_at(
    sweeps: Sweeps, place: Place, pieces: int, cells: Sequence[str], k: int, wanted: Wanted = NOTHING_WANTED
) -> Mountings:
    """The feasible mountings of a family at an opening."""

    def find() -> Mountings:
        parts, settings = parts_at(sweeps, place.kind, place.family, cells), sweeps.settings
        met = interfaces_at(sweeps, place, pieces, k)
        if not met.mates.mouths:
            nothing = np.zeros(0, np.int64)
            return Mountings(met.mates, nothing, nothing, nothing.astype(np.bool_), nothing, nothing, nothing)
        alone = np.full(len(parts), FITS, np.int8)
        if place.kind == "dash":
            alone = np.minimum(screen_codes(sweeps.con, place, parts.columns, settings), _wanted(parts, wanted, sweeps))
        return feasible(place, parts, pieces, met, alone, settings)

    key = ("mountings", place.family, "adapter", place, pieces, k, wanted)
    found: Mountings = sweeps.once(key, find)
    return found


def _wanted(parts: Parts, wanted: Wanted, sweeps: Sweeps) -> np.ndarray:
    """What is said of each head unit by what the job asks of one."""
    must = set(wanted.must)
    has = np.array([-1 if some is None else len(must & set(some)) for some in parts.lists["features"]], np.int64)
    count = has[parts.cells["features"].values]
    scaled = np.where(count >= 0, count * 1_000_000, -1)
    return np.asarray(wanted_codes(parts.columns, wanted.screen_min_in, len(wanted.must), scaled, sweeps.settings))
