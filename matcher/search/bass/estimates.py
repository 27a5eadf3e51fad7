"""Estimates for figures of bass drivers that no list states, by size and by the box that the maker recommends.

An answer marks each of them as an estimate; a stated figure always takes precedence.
"""

from __future__ import annotations

import numpy as np

from matcher.formulas.relations import volume_for_q
from matcher.search.bass.levels import DriverTerms, Floats, floats
from matcher.search.catalog.parts import Parts
from matcher.settings import Settings

BY_SIZE = ("estimate_fs_hz", "estimate_vas_l", "estimate_xmax_mm")
"""Settings that depend on the size of a driver."""


def stated_terms(drivers: Parts) -> DriverTerms:
    """Stated figures of all drivers in a catalog; NaN if a figure is unknown."""
    return DriverTerms(*(floats(drivers.cells[name]) for name in DriverTerms._fields))


def driver_terms(drivers: Parts, settings: Settings) -> DriverTerms:
    """Figures of all drivers in a catalog as the formulas need them: stated, or else estimated."""
    size_in, box_l = (floats(drivers.cells[name]) for name in ("size_in", "box_l"))
    return estimated(stated_terms(drivers), size_in, box_l, settings)


def estimated(stated: DriverTerms, size_in: Floats, box_l: Floats, settings: Settings) -> DriverTerms:
    """Fill in unstated figures by estimates: common practice, no published source.

    Parameters
    ----------
    size_in
        Nominal sizes in inches.
    box_l
        Closed box that the maker recommends for one driver, in l; NaN if there is none.
    """
    fs, vas, xmax = (_by_size(name, size_in, settings) for name in BY_SIZE)
    over = float(settings["estimate_qes_over_qts"])
    qts = _first(stated.qts, stated.qes / over, np.full(len(size_in), float(settings["estimate_qts"])))
    return DriverTerms(
        fs_hz=_first(stated.fs_hz, fs),
        qts=qts,
        qes=_first(stated.qes, qts * over),
        vas_l=_first(stated.vas_l, _vas_l(box_l, qts, float(settings["qtc_made"])), vas),
        sd_cm2=_first(stated.sd_cm2, np.pi / 4 * (2.54 * size_in * float(settings["estimate_cone_share"])) ** 2),
        xmax_mm=_first(stated.xmax_mm, xmax),
    )


def _by_size(name: str, size_in: Floats, settings: Settings) -> Floats:
    """The setting for the largest size not above each driver's, or for the smallest size of all."""
    sizes, values = zip(*settings.by_word(name), strict=True)
    at = np.searchsorted([float(size) for size in sizes], size_in + 1e-9, side="right") - 1
    return np.array([float(value) for value in values])[np.maximum(at, 0)]


def _vas_l(box_l: Floats, qts: Floats, qtc: float) -> Floats:
    """Vas that gives a driver this Q in the box its maker recommends."""
    found: Floats = np.where(qts < qtc, box_l / volume_for_q(qts, 1.0, qtc), np.nan)
    return found


def _first(*figures: Floats) -> Floats:
    """The first known figure for each driver."""
    found = figures[-1]
    for each in figures[-2::-1]:
        found = np.where(np.isnan(each), found, each)
    return found
