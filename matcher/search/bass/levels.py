"""Levels of drivers in boxes at the frequencies at which bass is judged, as arrays.

The formulas are those of `matcher.formulas`. Unknown figures, and figures outside a formula's range, are NaN.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from matcher.formulas.air import AIR, HEARING_PA
from matcher.formulas.box import LEAST_Q, MOST_Q
from matcher.formulas.known import LARGEST, SMALLEST
from matcher.formulas.relations import (
    closed_loss,
    cone_share,
    efficiency_of,
    loudness_of,
    pressure_pa,
    quiet_pressure_pa,
    squared_response,
)
from matcher.formulas.vented import Q_RANGE, STIFFNESS_RANGE, TUNING_RANGE
from matcher.kernel.columns import Column
from matcher.kernel.exact import floating
from matcher.search.exact.choices import Ints
from matcher.search.scoring import NOT_KNOWN
from matcher.settings import Settings

BASS_HZ = (31.5, 40.0, 50.0, 63.0, 80.0)
"""Frequencies at which bass is judged: thirds of an octave. Common practice, no published source."""
_HZ = np.array(BASS_HZ)

PORT = ("port_mm", "port_w_mm", "port_h_mm")
"""Figures of a box's port, round or slotted."""

Floats = npt.NDArray[np.float64]


class DriverTerms(NamedTuple):
    """Driver figures as the formulas need them; NaN if unknown."""

    fs_hz: Floats
    qts: Floats
    qes: Floats
    vas_l: Floats
    sd_cm2: Floats
    xmax_mm: Floats

    def take(self, rows: Any) -> DriverTerms:
        """Return some of the drivers."""
        return DriverTerms(*(each[rows] for each in self))


class BoxTerms(NamedTuple):
    """Box figures as the formulas need them; NaN if unknown."""

    is_sealed: npt.NDArray[np.bool_]
    is_vented: npt.NDArray[np.bool_]
    """Neither flag is set if the kind is unknown."""
    net_l: Floats
    tuned_hz: Floats
    quiet_cm2: Floats
    """Area of a straight port that is as quiet."""

    def take(self, rows: Any) -> BoxTerms:
        """Return some of the boxes."""
        return BoxTerms(*(each[rows] for each in self))


class Levels(NamedTuple):
    """Levels in hundredths of a decibel, with the frequencies of `BASS_HZ` on the first axis."""

    at_1w: Ints
    """On 1 W into all drivers, limited by power alone."""
    travel: Ints
    """At the end of the cone's travel, or where air noise in the port becomes audible."""
    off: Ints
    """Deduction from the level that earns points; has no frequency axis."""

    def take(self, *rows: Any) -> Levels:
        """Return some of the levels."""
        return Levels(self.at_1w[:, *rows], self.travel[:, *rows], self.off[rows])

    @property
    def known(self) -> npt.NDArray[np.bool_]:
        """Whether both limits are known."""
        found: npt.NDArray[np.bool_] = (self.at_1w[0] > NOT_KNOWN) & (self.travel[0] > NOT_KNOWN)
        return found

    def on(self, gain_cdb: Any) -> Ints:
        """The lower of the limits by power and by travel at each frequency, on a feed with this gain over 1 W."""
        found: Ints = np.minimum(self.at_1w + np.int32(gain_cdb), self.travel)
        return found

    def judged(self, gain_cdb: Any, spread: SpreadShare) -> Ints:
        """The level that earns points: the mean over the frequencies minus a share of their spread."""
        found: Ints = np.where(self.known, _evened(self.on(gain_cdb), spread) - self.off, NOT_KNOWN)
        return found

    def limits(self, spread: SpreadShare) -> tuple[Ints, Ints]:
        """Upper bounds of the judged level: by power on 1 W, to which any gain is added, and by travel.

        With a share of at most 1 over the number of frequencies, the judged level rises with each of them. With a
        larger share it does not, and the bounds ignore the spread.
        """
        bound = spread if spread[0] * len(BASS_HZ) <= spread[1] else (0, 1)
        power, travel = (
            np.where(level[0] > NOT_KNOWN, _evened(level, bound) - self.off, NOT_KNOWN)
            for level in (self.at_1w, self.travel)
        )
        return power.astype(np.int32), travel.astype(np.int32)

    def at_least(self, most: tuple[int, int]) -> Levels:
        """Replace unknown levels by the best on 1 W and at the end of travel, equal at all frequencies."""
        at_1w, travel = (
            np.where(level > NOT_KNOWN, level, top) for level, top in zip((self.at_1w, self.travel), most, strict=True)
        )
        return Levels(at_1w, travel, np.where(self.known, self.off, 0))


SpreadShare = tuple[int, int]
"""Cost of a decibel of spread in decibels of the mean, as a ratio of integers."""


def _evened(level: Ints, spread: SpreadShare) -> Ints:
    """The mean over the frequencies minus a share of their spread, rounded down."""
    times, by = spread
    apart = (level.max(axis=0) - level.min(axis=0)).astype(np.int64)
    found: Ints = (level.sum(axis=0) * by - len(BASS_HZ) * times * apart) // (len(BASS_HZ) * by)
    return found


def spread_share(settings: Settings) -> SpreadShare:
    """The share from the shop's settings."""
    return settings["bass_spread_share"].as_integer_ratio()


def floats(column: Column) -> Floats:
    """Return a column as floats, NaN if unknown."""
    found: Floats = np.where(column.known, floating(column.values), np.nan)
    return found


def quiet_cm2(port: Sequence[Any], net_l: Any, is_flared: Any, settings: Settings) -> Any:
    """Area of a straight port that is as quiet as the given port, or as one estimated from the volume."""
    port_mm, w_mm, h_mm = port
    area = np.where(np.isnan(port_mm), w_mm * h_mm, np.pi / 4 * port_mm**2) / 100
    area = np.where(np.isnan(area), net_l * float(settings["estimate_port_cm2_l"]), area)
    return area * np.where(is_flared, float(settings["port_flared_times"]), 1.0)


def levels_of(one: DriverTerms, drivers: int, box: BoxTerms, settings: Settings) -> Levels:
    """Return the levels of this number of drivers of each model in each box, shape (drivers, boxes)."""
    shape = len(one.fs_hz), len(box.net_l)
    found = Levels(*(np.full((*first, *shape), NOT_KNOWN, np.int32) for first in ((len(_HZ),), (len(_HZ),), ())))
    down = DriverTerms(*(each[:, None] for each in one))
    in_closed = closed_levels(down, drivers, box.net_l[box.is_sealed], settings)
    net_l, tuned_hz, quiet = (each[box.is_vented] for each in (box.net_l, box.tuned_hz, box.quiet_cm2))
    in_vented = vented_levels(down, drivers, net_l, tuned_hz, quiet, settings)
    for level, closed, other in zip(found, in_closed, in_vented, strict=True):
        level[..., box.is_sealed], level[..., box.is_vented] = closed, other
    return found


def closed_levels(one: DriverTerms, drivers: int | Ints, net_l: Floats, settings: Settings) -> Levels:
    """Return the levels in closed boxes; NOT_KNOWN if a limit is unknown."""
    least, most = (float(settings[f"qtc_preferred_{end}"]) for end in ("least", "most"))
    with np.errstate(all="ignore"):
        stiffening = np.sqrt(1 + positive(one.vas_l) / positive(net_l / drivers))
        q = _inside(positive(one.qts) * stiffening, LEAST_Q, MOST_Q)
        response = -10 * np.log10(closed_loss(positive(positive(one.fs_hz) * stiffening) / _hz(q), q))
        travel = np.broadcast_to(_cones_db(one, drivers), response.shape)
        off: Any = np.where((q < least) | (q > most), round(settings["qtc_off_db"] * 100), 0).astype(np.int32)
        return Levels(_hundredths(_power_db(one, drivers, response)), _hundredths(travel), off)


def vented_levels(
    one: DriverTerms, drivers: int, net_l: Floats, tuned_hz: Floats, quiet_cm2: Floats, settings: Settings
) -> Levels:
    """Return the levels in vented boxes, including losses and, if the port is known, its air noise."""
    ql, speed = float(settings["box_ql"]), float(settings["port_speed_m_s"])
    with np.errstate(all="ignore"):
        fs, each = positive(one.fs_hz), positive(net_l / drivers)
        h, a = _inside(positive(tuned_hz) / fs, *TUNING_RANGE), _inside(positive(one.vas_l) / each, *STIFFNESS_RANGE)
        q = _inside(positive(one.qts), *Q_RANGE)
        hz = _hz(h)
        response = 10 * np.log10(squared_response(hz / fs, q, h, a, ql))
        quiet = _level_db(quiet_pressure_pa(quiet_cm2 / 1e4, speed, hz, tuned_hz, AIR.rho_kg_m3))
        travel = _cones_db(one, drivers) - 20 * np.log10(cone_share(hz, tuned_hz, ql)) + 0 * response
        travel = np.where(np.isnan(travel), np.nan, np.fmin(travel, quiet))
        levels = _hundredths(_power_db(one, drivers, response)), _hundredths(travel)
        return Levels(*levels, np.zeros(response.shape[1:], np.int32))


def _power_db(one: DriverTerms, drivers: int | Ints, response_db: Floats) -> Floats:
    """Level of 1 W into all drivers together."""
    sens = _inside(_sens_db(one), -100, 250)
    found: Floats = sens + _inside(response_db, -1000, 100) + 10 * np.log10(drivers)
    return found


def _cones_db(one: DriverTerms, drivers: int | Ints) -> Floats:
    """Level at the end of the cones' travel, ignoring the port."""
    moved = positive(positive(one.sd_cm2) * positive(one.xmax_mm) * drivers * 1e-4)
    return _level_db(pressure_pa(moved, _hz(moved), AIR.rho_kg_m3))


def _hz(systems: Floats) -> Floats:
    """Frequencies as an axis in front of those of the systems."""
    return _HZ.reshape(-1, *(1 for _ in systems.shape))


def _level_db(pressure: Floats) -> Floats:
    found: Floats = 20 * np.log10(pressure / HEARING_PA)
    return found


def _hundredths(level_db: Floats) -> Ints:
    """Round to hundredths; a system with one unknown frequency is unknown at all of them."""
    known = np.isfinite(level_db).all(axis=0)
    return np.where(known, np.rint(100 * np.nan_to_num(level_db)), NOT_KNOWN).astype(np.int32)


def _inside(values: Floats, least: float, most: float) -> Floats:
    """Return values within a range, NaN for all others."""
    found: Floats = np.where((values >= least) & (values <= most), values, np.nan)
    return found


def positive(values: Floats) -> Floats:
    """Return positive values of plausible size, NaN for all others."""
    return _inside(values, SMALLEST, LARGEST)


def _sens_db(one: DriverTerms) -> Floats:
    """Level of one driver on 1 W at 1 m."""
    figures = positive(one.fs_hz), positive(one.vas_l), positive(one.qes)
    efficiency = _inside(efficiency_of(*figures, AIR.c_m_s), 1e-9, 1.0)
    found: Floats = 10 * np.log10(loudness_of(efficiency, AIR.c_m_s, AIR.rho_kg_m3))
    return found
