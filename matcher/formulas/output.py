"""Maximum level of a bass system at a frequency: the lower of the limits by power and by excursion.

Half space at 1 m, free field: the gain of a cabin is real but not claimed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.air import AIR, HEARING_PA, Air
from matcher.formulas.box import ClosedBox, closed_response_db
from matcher.formulas.known import positive, whole, within
from matcher.formulas.register import formula
from matcher.formulas.relations import cone_share, pressure_pa
from matcher.formulas.vented import QL, vented_response_db

_SMALL = published("Small, JAES 20, 1972; monopole in half space")
_HALF_SPACE = "half space, 1 m, free field; the wavelength long against cone and box"


@dataclass(frozen=True, slots=True)
class MaxLevel:
    """Maximum level at one frequency, and the limit that determines it.

    A limit that is unknown is None, and so is then the level.
    """

    freq_hz: float
    level_db: float | None
    power_db: float | None
    travel_db: float | None
    ruled_by: Literal["power", "travel", "port"] | None
    """Port: where its air begins to be heard before either limit; no formula here asks for it."""


@formula(source=_SMALL, valid="cone area and travel over 0; 1 to 8 like drivers")
def displacement_l(sd_cm2: float | None, xmax_mm: float | None, drivers: float | None = 1) -> float | None:
    """Volume displaced by the cones from rest to maximum excursion, one way.

    Parameters
    ----------
    sd_cm2, xmax_mm
        Cone area in cm2, and excursion one way in mm, of one driver.
    drivers
        Number of equal drivers.

    Returns
    -------
    Peak volume in L.

    Examples
    --------
    >>> displacement_l(500, 10, drivers=2)
    1.0
    """
    known, number = positive(sd_cm2, xmax_mm), whole(drivers, 1, 8)
    return None if known is None or number is None else known[0] * known[1] * number * 1e-4


@formula(source=_SMALL, valid=_HALF_SPACE)
def travel_level_db(peak_l: float | None, freq_hz: float | None, *, air: Air = AIR) -> float | None:
    """Level of a source that moves this volume at this frequency.

    Parameters
    ----------
    peak_l, freq_hz
        Peak volume moved in L, frequency in Hz.
    air
        Speed of sound and density.

    Returns
    -------
    Level at 1 m in dB.

    Examples
    --------
    >>> travel_level_db(1.0, 30)
    107.60
    """
    known = positive(peak_l, freq_hz, air.rho_kg_m3)
    if known is None:
        return None
    return 20 * math.log10(pressure_pa(*known) / HEARING_PA)


@formula(
    source=_SMALL,
    valid=_HALF_SPACE + "; 1 to 8 like drivers close together; drivers not compressing",
)
def power_level_db(
    sens_1w: float | None,
    power_w: float | None,
    response_db: float | None,
    drivers: float | None = 1,
) -> float | None:
    """Level at the available power, including the response of the box.

    Parameters
    ----------
    sens_1w
        Sensitivity of one driver at 1 W and 1 m in half space, dB.
    power_w
        Power into all drivers together, W.
    response_db
        Response of the box at the frequency, dB.
    drivers
        Number of drivers that share the power; close together, each doubling adds 3 dB.

    Returns
    -------
    Level at 1 m in dB.

    Examples
    --------
    >>> power_level_db(87, 400, -3.01, drivers=2)
    113.02
    """
    level, response = within(sens_1w, -100, 250), within(response_db, -1000, 100)
    known, number = positive(power_w), whole(drivers, 1, 8)
    if level is None or response is None or known is None or number is None:
        return None
    return level + response + 10 * math.log10(known[0] * number)


def _lower(freq: float, power_db: float | None, travel_db: float | None) -> MaxLevel:
    if power_db is None or travel_db is None:
        return MaxLevel(freq, None, power_db, travel_db, None)
    ruled_by: Literal["power", "travel"] = "power" if power_db <= travel_db else "travel"
    return MaxLevel(freq, min(power_db, travel_db), power_db, travel_db, ruled_by)


@formula(source=_SMALL, valid=_HALF_SPACE + "; closed box; 1 to 8 like drivers close together")
def closed_max_level(
    freq_hz: float | None,
    box: ClosedBox | None,
    sens_1w: float | None,
    power_w: float | None,
    sd_cm2: float | None,
    xmax_mm: float | None,
    drivers: float | None = 1,
    *,
    air: Air = AIR,
) -> MaxLevel | None:
    """Maximum level of a closed box at a frequency, and its limit.

    Parameters
    ----------
    freq_hz
        Frequency, Hz.
    box
        The closed box with its drivers in it.
    sens_1w
        Sensitivity of one driver at 1 W and 1 m in half space, dB.
    power_w
        Power into all drivers together, W.
    sd_cm2, xmax_mm, drivers
        Cone area in cm2 and excursion one way in mm of one driver, and number of drivers.
    air
        Speed of sound and density.

    Returns
    -------
    Both limits and the lower of them; None without a frequency.

    Examples
    --------
    >>> from matcher.formulas.box import closed_box
    >>> most = closed_max_level(40, closed_box(28, 0.35, 90, 30), 87, 500, 500, 10)
    >>> most.ruled_by, most.level_db
    ('travel', 106.57)
    """
    known = positive(freq_hz)
    if known is None:
        return None
    response = None if box is None else closed_response_db(known[0], box.fc_hz, box.qtc)
    by_power = power_level_db(sens_1w, power_w, response, drivers)
    by_travel = travel_level_db(displacement_l(sd_cm2, xmax_mm, drivers), known[0], air=air)
    return _lower(known[0], by_power, by_travel)


@dataclass(frozen=True, slots=True)
class VentedSystem:
    """One driver's parameters with the volume it sees and the tuning of the box."""

    fs_hz: float | None
    qts: float | None
    vas_l: float | None
    net_l: float | None
    tuned_hz: float | None


@formula(
    source=published("Small, Vented-Box Loudspeaker Systems I and II, JAES 21, 1973; monopole in half space"),
    valid=_HALF_SPACE + "; all losses of the box as leakage; 1 to 8 like drivers close together",
)
def vented_max_level(
    freq_hz: float | None,
    system: VentedSystem,
    sens_1w: float | None,
    power_w: float | None,
    sd_cm2: float | None,
    xmax_mm: float | None,
    drivers: float | None = 1,
    *,
    ql: float | None = QL,
    air: Air = AIR,
) -> MaxLevel | None:
    """Maximum level of a vented box at a frequency, and its limit.

    Parameters
    ----------
    freq_hz
        Frequency, Hz.
    system
        Driver and box; the volume is that for each driver.
    sens_1w, power_w, sd_cm2, xmax_mm, drivers, air
        As for the closed box.
    ql
        Q of the losses of the box at its tuning.

    Returns
    -------
    Both limits and the lower of them; None without a frequency.

    Notes
    -----
    At x = f/fb the cone moves sqrt((1 - x^2)^2 + (x/QL)^2)/x^2 of what the box as a whole does: 1/QL at the
    tuning, and below it more than in any closed box.

    Examples
    --------
    >>> most = vented_max_level(35, VentedSystem(28, 0.35, 90, 60, 35), 87, 500, 500, 10)
    >>> most.ruled_by, most.travel_db - travel_level_db(0.5, 35)
    ('power', 16.90)
    """
    known, losses = positive(freq_hz), within(ql, 1, 1e6)
    if known is None:
        return None
    tuned = positive(system.tuned_hz)
    response = vented_response_db(
        known[0], system.fs_hz, system.qts, system.vas_l, system.net_l, system.tuned_hz, losses
    )
    by_power = power_level_db(sens_1w, power_w, response, drivers)
    cone_alone = travel_level_db(displacement_l(sd_cm2, xmax_mm, drivers), known[0], air=air)
    if tuned is None or losses is None or response is None or cone_alone is None:
        return _lower(known[0], by_power, None)
    return _lower(known[0], by_power, cone_alone - 20 * math.log10(cone_share(known[0], tuned[0], losses)))
