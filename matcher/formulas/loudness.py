"""Sensitivity and level: one basis for all, sums of sources, distance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.air import AIR, Air
from matcher.formulas.known import positive, within
from matcher.formulas.register import formula
from matcher.formulas.relations import loudness_of

Basis = Literal["1w", "2v83"]

LEAST_DB, MOST_DB = -100.0, 250.0
RATED_V = 2.83
_SUMS = published("addition of sound pressures and of sound powers, any acoustics handbook")
_LEVELS = f"levels from {LEAST_DB:.0f} to {MOST_DB:.0f} dB"


def _db(ratio: float) -> float:
    return 10 * math.log10(ratio)


def _level(level_db: float | None) -> float | None:
    return within(level_db, LEAST_DB, MOST_DB)


@formula(source=published("definition: 2.83 V into the nominal impedance"), valid=_LEVELS + "; impedance over 0")
def sens_1w_db(sens_db: float | None, basis: Basis | None, impedance_ohm: float | None = None) -> float | None:
    """Sensitivity at 1 W, from either basis.

    Parameters
    ----------
    sens_db
        Level at 1 m as stated, dB.
    basis
        ``1w``, or ``2v83`` for 2.83 V into the nominal impedance.
    impedance_ohm
        Nominal impedance, ohm; needed for 2.83 V only.

    Returns
    -------
    Level at 1 W and 1 m in dB.

    Examples
    --------
    >>> sens_1w_db(90, "2v83", 4), sens_1w_db(87, "1w")
    (86.99, 87.0)
    """
    level, known = _level(sens_db), positive(impedance_ohm)
    if basis == "1w":
        return level
    if basis != "2v83" or level is None or known is None:
        return None
    return level - _db(RATED_V**2 / known[0])


@formula(source=published("definition: 2.83 V into the nominal impedance"), valid=_LEVELS + "; impedance over 0")
def sens_2v83_db(sens_db: float | None, basis: Basis | None, impedance_ohm: float | None = None) -> float | None:
    """Sensitivity at 2.83 V, from either basis.

    Parameters
    ----------
    sens_db, basis, impedance_ohm
        As for the sensitivity at 1 W; the impedance is needed for 1 W only.

    Returns
    -------
    Level at 2.83 V and 1 m in dB.

    Examples
    --------
    >>> sens_2v83_db(87, "1w", 4)
    90.01
    """
    level, known = _level(sens_db), positive(impedance_ohm)
    if basis == "2v83":
        return level
    if basis != "1w" or level is None or known is None:
        return None
    return level + _db(RATED_V**2 / known[0])


@formula(source=_SUMS, valid=_LEVELS + "; power over 0, the driver not compressing")
def level_at_power_db(sens_1w: float | None, power_w: float | None) -> float | None:
    """Level at 1 m at this power.

    Examples
    --------
    >>> level_at_power_db(90, 50)
    107.0
    """
    level, known = _level(sens_1w), positive(power_w)
    return None if level is None or known is None else level + _db(known[0])


def _all_levels(levels_db: Sequence[float | None]) -> list[float] | None:
    known = [level for level in map(_level, levels_db) if level is not None]
    return known if known and len(known) == len(levels_db) else None


@formula(source=_SUMS, valid=_LEVELS + "; sources playing different signals, or far apart in wavelengths")
def sum_incoherent_db(levels_db: Sequence[float | None]) -> float | None:
    """Level of several sources together: their powers add.

    Parameters
    ----------
    levels_db
        One level for each source, dB; one unknown makes the sum unknown.

    Returns
    -------
    Level in dB.

    Examples
    --------
    >>> sum_incoherent_db([90, 87])
    91.76
    """
    known = _all_levels(levels_db)
    return None if known is None else _db(sum(10 ** (level / 10) for level in known))


@formula(source=_SUMS, valid=_LEVELS + "; sources in phase, close together in wavelengths")
def sum_coherent_db(levels_db: Sequence[float | None]) -> float | None:
    """Level of several sources together in phase: their pressures add, as low bass does.

    Parameters
    ----------
    levels_db
        One level for each source, dB; one unknown makes the sum unknown.

    Returns
    -------
    Level in dB.

    Examples
    --------
    >>> sum_coherent_db([90, 90])
    96.02
    """
    known = _all_levels(levels_db)
    return None if known is None else 2 * _db(sum(10 ** (level / 20) for level in known))


@formula(source=_SUMS, valid=_LEVELS + "; two like sources playing different signals")
def pair_db(level_db: float | None) -> float | None:
    """Level of a pair of equal sources, each at this level.

    Examples
    --------
    >>> pair_db(100)
    103.01
    """
    return sum_incoherent_db([level_db, level_db])


@formula(source=_SUMS, valid=_LEVELS + "; distances over 0, free field: no walls, no cabin")
def at_distance_db(level_db: float | None, distance_m: float | None, stated_at_m: float | None = 1.0) -> float | None:
    """Level at another distance than the stated one.

    Parameters
    ----------
    level_db
        Level as stated, dB.
    distance_m, stated_at_m
        New distance and stated distance, m.

    Returns
    -------
    Level in dB: 6 dB less for twice the distance.

    Examples
    --------
    >>> at_distance_db(90, 2)
    83.98
    """
    level, known = _level(level_db), positive(distance_m, stated_at_m)
    return None if level is None or known is None else level - 2 * _db(known[0] / known[1])


@formula(
    source=published("Small, JAES 20, 1972; half space, 1 m"),
    valid="efficiencies over 0 up to 1; half space, the wavelength long against the cone",
)
def sens_of_efficiency_db(efficiency: float | None, *, air: Air = AIR) -> float | None:
    """Level at 1 W and 1 m in half space of a driver of this reference efficiency.

    Parameters
    ----------
    efficiency
        Acoustic power over electrical power, 0 to 1.
    air
        Speed of sound and density.

    Returns
    -------
    Level in dB.

    Notes
    -----
    112.1 dB + 10 lg(efficiency); the constant is 112.1 or 112.2 with the air that is taken.

    Examples
    --------
    >>> sens_of_efficiency_db(0.01)
    92.14
    """
    known, medium = within(efficiency, 1e-9, 1.0), positive(air.c_m_s, air.rho_kg_m3)
    if known is None or medium is None:
        return None
    return _db(loudness_of(known, *medium))


@formula(
    source=published("Small, JAES 20, 1972; half space, 1 m"),
    valid="sensitivities up to 112 dB at 1 W (efficiency 1); half space",
)
def efficiency_of_sens(sens_1w: float | None, *, air: Air = AIR) -> float | None:
    """Reference efficiency of a driver of this level at 1 W and 1 m in half space.

    Examples
    --------
    >>> efficiency_of_sens(92.1)
    0.0099
    """
    level, at_one = _level(sens_1w), sens_of_efficiency_db(1.0, air=air)
    return None if level is None or at_one is None or level > at_one else 10 ** ((level - at_one) / 10)
