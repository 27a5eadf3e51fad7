"""How loud drivers in boxes get at the frequency that bass is told at, as arrays.

The computations are those of `matcher.formulas`. A figure that is not known, or out of a formula's range, is not a
number within them.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from matcher.formulas.air import AIR, HEARING_PA
from matcher.formulas.box import LEAST_Q, MOST_Q
from matcher.formulas.known import LARGEST, SMALLEST
from matcher.formulas.output import NEAR_TUNING
from matcher.formulas.relations import closed_loss, efficiency_of, loudness_of, pressure_pa, squared_response
from matcher.kernel.columns import Column
from matcher.kernel.exact import floating
from matcher.search.catalog.parts import Parts
from matcher.search.exact.choices import Ints
from matcher.search.scoring import NOT_KNOWN

BASS_HZ = 40.0
"""Where the level of bass is told and scored."""
NO_LIMIT_CDB = 1_000_000
"""Travel that sets no limit: a vented box at its tuning."""

Floats = npt.NDArray[np.float64]


class DriverTerms(NamedTuple):
    """Drivers as the formulas take them; NaN where a figure is not known."""

    fs_hz: Floats
    qts: Floats
    qes: Floats
    vas_l: Floats
    sd_cm2: Floats
    xmax_mm: Floats

    @property
    def complete(self) -> npt.NDArray[np.bool_]:
        """Whether every figure is known that a level hangs on."""
        found: npt.NDArray[np.bool_] = np.isfinite(_sens_db(self) + self.qts + self.sd_cm2 + self.xmax_mm)
        return found


class BoxTerms(NamedTuple):
    """Boxes as the formulas take them; NaN where a figure is not known."""

    is_sealed: npt.NDArray[np.bool_]
    is_vented: npt.NDArray[np.bool_]
    """Neither where the kind is not known."""
    net_l: Floats
    tuned_hz: Floats


class Levels(NamedTuple):
    """Level on 1 W into all drivers, and at the end of their travel, in hundredths of a decibel."""

    at_1w: Ints
    travel: Ints

    def at_least(self, most: Levels) -> Levels:
        """The same with each level that is not known at some greatest."""
        return Levels(*(np.where(level > NOT_KNOWN, level, top) for level, top in zip(self, most, strict=True)))


def driver_terms(drivers: Parts) -> DriverTerms:
    """All drivers of a catalog as the formulas take them."""
    return DriverTerms(*(floats(drivers.cells[name]) for name in DriverTerms._fields))


def floats(column: Column) -> Floats:
    """A column as the formulas take it."""
    found: Floats = np.where(column.known, floating(column.values), np.nan)
    return found


def levels_of(one: DriverTerms, drivers: int, box: BoxTerms) -> Levels:
    """How loud so many drivers of each model get in each box, shape (drivers, boxes)."""
    found = Levels(*(np.full((len(one.fs_hz), len(box.net_l)), NOT_KNOWN, np.int64) for _ in range(2)))
    down = DriverTerms(*(each[:, None] for each in one))
    in_closed = closed_levels(down, drivers, box.net_l[box.is_sealed])
    in_vented = vented_levels(down, drivers, box.net_l[box.is_vented], box.tuned_hz[box.is_vented])
    for level, closed, vented in zip(found, in_closed, in_vented, strict=True):
        level[:, box.is_sealed], level[:, box.is_vented] = closed, vented
    return found


def closed_levels(one: DriverTerms, drivers: int | Ints, net_l: Floats) -> Levels:
    """How loud so many drivers get in closed boxes, each limit by itself; NOT_KNOWN where it is not known."""
    with np.errstate(all="ignore"):
        response = _closed_db(one, net_l / drivers)
        travel = np.broadcast_to(_cones_db(one, drivers), response.shape)
        return Levels(_hundredths(_power_db(one, drivers, response)), _hundredths(travel))


def vented_levels(one: DriverTerms, drivers: int, net_l: Floats, tuned_hz: Floats) -> Levels:
    """The same in vented boxes; there travel hangs on the response, and sets no limit at the very tuning."""
    with np.errstate(all="ignore"):
        response = _vented_db(one, net_l / drivers, tuned_hz)
        power = _power_db(one, drivers, response)
        share = np.abs(1 - (tuned_hz / BASS_HZ) ** 2)
        is_free = share < NEAR_TUNING
        travel = _cones_db(one, drivers) - 20 * np.log10(np.where(is_free, 1.0, share)) + 0 * response
        travel = np.where(is_free, np.where(np.isfinite(travel + power), NO_LIMIT_CDB / 100, np.nan), travel)
        return Levels(_hundredths(power), _hundredths(travel))


def _power_db(one: DriverTerms, drivers: int | Ints, response_db: Floats) -> Floats:
    """Level that 1 W into all drivers together gives."""
    found: Floats = _inside(_sens_db(one), -100, 250) + _inside(response_db, -1000, 100) + 10 * np.log10(drivers)
    return found


def _cones_db(one: DriverTerms, drivers: int | Ints) -> Floats:
    """Level at which the cones alone come to the end of their travel."""
    moved = positive(positive(one.sd_cm2) * positive(one.xmax_mm) * drivers * 1e-4)
    found: Floats = 20 * np.log10(pressure_pa(moved, BASS_HZ, AIR.rho_kg_m3) / HEARING_PA)
    return found


def _hundredths(level_db: Floats) -> Ints:
    found: Ints = np.nan_to_num(np.rint(100 * level_db), nan=NOT_KNOWN, posinf=NOT_KNOWN, neginf=NOT_KNOWN).astype(
        np.int64
    )
    return found


def _inside(values: Floats, least: float, most: float) -> Floats:
    """Values within a range; not a number elsewhere."""
    found: Floats = np.where((values >= least) & (values <= most), values, np.nan)
    return found


def positive(values: Floats) -> Floats:
    """Values over 0 and of sensible size; not a number elsewhere."""
    return _inside(values, SMALLEST, LARGEST)


def _sens_db(one: DriverTerms) -> Floats:
    """Level of a driver on 1 W at 1 m."""
    figures = positive(one.fs_hz), positive(one.vas_l), positive(one.qes)
    efficiency = _inside(efficiency_of(*figures, AIR.c_m_s), 1e-9, 1.0)
    found: Floats = 10 * np.log10(loudness_of(efficiency, AIR.c_m_s, AIR.rho_kg_m3))
    return found


def _closed_db(one: DriverTerms, net: Floats) -> Floats:
    """Response of a closed box, by the volume for each driver."""
    stiffening = np.sqrt(1 + positive(one.vas_l) / positive(net))
    q = _inside(positive(one.qts) * stiffening, LEAST_Q, MOST_Q)
    found: Floats = -10 * np.log10(closed_loss(positive(positive(one.fs_hz) * stiffening) / BASS_HZ, q))
    return found


def _vented_db(one: DriverTerms, net: Floats, tuned_hz: Floats) -> Floats:
    """Response of a vented box, by the volume for each driver."""
    fs = positive(one.fs_hz)
    ratio, h = _inside(BASS_HZ / fs, 1e-3, 1e3), _inside(positive(tuned_hz) / fs, 0.01, 100)
    a, q = _inside(positive(one.vas_l) / positive(net), 1e-6, 1e6), _inside(positive(one.qts), 0.01, 100)
    found: Floats = 10 * np.log10(squared_response(ratio, q, h, a))
    return found
