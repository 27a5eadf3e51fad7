"""Sensitivity by efficiency, and sums of sources."""

from __future__ import annotations

import math
from collections.abc import Sequence

from catalog_schema.sources import published
from matcher.formulas.air import AIR, Air
from matcher.formulas.known import positive, within
from matcher.formulas.register import formula
from matcher.formulas.relations import loudness_of

LEAST_DB, MOST_DB = -100.0, 250.0
_SUMS = published("addition of sound pressures and of sound powers, any acoustics handbook")
_LEVELS = f"levels from {LEAST_DB:.0f} to {MOST_DB:.0f} dB"


def _db(ratio: float) -> float:
    return 10 * math.log10(ratio)


def _level(level_db: float | None) -> float | None:
    return within(level_db, LEAST_DB, MOST_DB)


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
