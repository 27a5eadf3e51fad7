"""How loud every driver gets in every box at the frequency that bass is told at, as arrays.

The formulas are those of `formulas.box`, `formulas.vented` and `formulas.output`, worked out for all pairs at once.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from matcher.formulas.box import LEAST_Q, MOST_Q
from matcher.formulas.known import LARGEST, SMALLEST
from matcher.search.bass.levels import BASS_HZ, NO_LIMIT_CDB, Boxed, DriverTerms, cone_db
from matcher.search.exact.choices import Ints
from matcher.search.tree.arrays import NOT_KNOWN

Floats = npt.NDArray[np.float64]
NEAR_TUNING = 1e-6
"""So close to the tuning the cone hardly moves: travel sets no limit."""


def levels_table(terms: Sequence[DriverTerms], drivers: int, boxes: Sequence[Boxed]) -> tuple[Ints, Ints]:
    """Level on 1 W and level at the end of travel, in hundredths of a decibel, shape (drivers, boxes).

    NOT_KNOWN in both where either is not known.
    """
    fs, qts, vas, sens, _, _ = (_column(cells)[:, None] for cells in zip(*terms, strict=True))
    net = _column([None if box.net_l is None else float(box.net_l) / drivers for box in boxes])
    tuned = _column([None if box.tuned_hz is None else float(box.tuned_hz) for box in boxes])
    sealed = np.array([box.kind == "sealed" for box in boxes])
    stated = np.array([box.kind is not None for box in boxes])
    cones = _column([cone_db(each, drivers) for each in terms])[:, None]
    with np.errstate(all="ignore"):
        response = np.where(sealed, _closed_db(fs, qts, vas, net), _vented_db(fs, qts, vas, net, tuned))
        power = _inside(sens, -100, 250) + _inside(response, -1000, 100) + 10 * np.log10(drivers)
        share = np.abs(1 - (tuned / BASS_HZ) ** 2)
        is_free = ~sealed & (share < NEAR_TUNING)
        travel = np.where(sealed, cones, cones - 20 * np.log10(np.where(is_free, 1.0, share)))
        known = stated & np.isfinite(power) & np.isfinite(travel)
        at_1w = np.where(known, np.rint(100 * power), NOT_KNOWN)
        at_travel = np.where(known, np.where(is_free, NO_LIMIT_CDB, np.rint(100 * travel)), NOT_KNOWN)
    return at_1w.astype(np.int64), at_travel.astype(np.int64)


def _column(cells: Sequence[float | None]) -> Floats:
    """Not known is not a number: within the formulas alone, never beyond them."""
    return np.array([np.nan if cell is None else cell for cell in cells], dtype=np.float64)


def _inside(values: Floats, least: float, most: float) -> Floats:
    """Values within a range; not a number elsewhere."""
    found: Floats = np.where((values >= least) & (values <= most), values, np.nan)
    return found


def _positive(values: Floats) -> Floats:
    return _inside(values, SMALLEST, LARGEST)


def _closed_db(fs: Floats, qts: Floats, vas: Floats, net: Floats) -> Floats:
    """`closed_response_db` of a driver in a closed box."""
    stiffening = np.sqrt(1 + _positive(vas) / _positive(net))
    q, fc = _inside(_positive(qts) * stiffening, LEAST_Q, MOST_Q), _positive(_positive(fs) * stiffening)
    below = fc / BASS_HZ
    found: Floats = -10 * np.log10((1 - below**2) ** 2 + (below / q) ** 2)
    return found


def _vented_db(fs: Floats, qts: Floats, vas: Floats, net: Floats, tuned: Floats) -> Floats:
    """`vented_response_db` of a driver in a vented box."""
    fs = _positive(fs)
    ratio, h = _inside(BASS_HZ / fs, 1e-3, 1e3), _inside(_positive(tuned) / fs, 0.01, 100)
    a, q = _inside(_positive(vas) / _positive(net), 1e-6, 1e6), _inside(_positive(qts), 0.01, 100)
    s = 1j * ratio
    found: Floats = 10 * np.log10(np.abs(s**4 / ((s**2 + s / q + 1) * (s**2 + h**2) + a * s**2)) ** 2)
    return found
