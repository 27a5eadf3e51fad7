"""Ports of vented boxes: length, volume taken, and the speed of the air in them."""

from __future__ import annotations

import math
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.air import AIR, HEARING_PA, Air
from matcher.formulas.known import positive, whole, within
from matcher.formulas.register import formula
from matcher.formulas.relations import quiet_pressure_pa

Ends = Literal["none flanged", "one flanged", "both flanged"]

# End corrections in radii: Levine and Schwinger for a free end, a piston in a wall for a flanged one.
FREE_END, FLANGED_END = 0.6133, 8 / (3 * math.pi)
_FLANGED = {"none flanged": 0, "one flanged": 1, "both flanged": 2}
_HELMHOLTZ = published("Helmholtz resonator; end corrections: Levine and Schwinger 1948, and 8/(3 pi) of the radius")
_PORT = "volume, tuning and diameter over 0; 1 to 8 like round ports, short against the wavelength"


def _correction_mm(diameter_mm: float, ends: Ends) -> float | None:
    flanged = _FLANGED.get(ends)
    if flanged is None:
        return None
    return (flanged * FLANGED_END + (2 - flanged) * FREE_END) * diameter_mm / 2


def _area_m2(diameter_mm: float, ports: int) -> float:
    return ports * math.pi / 4 * (diameter_mm / 1000) ** 2


@formula(source=_HELMHOLTZ, valid=_PORT + "; None where the port would have no length left")
def port_length_mm(
    net_l: float | None,
    tuned_hz: float | None,
    diameter_mm: float | None,
    *,
    ends: Ends = "one flanged",
    ports: float | None = 1,
    air: Air = AIR,
) -> float | None:
    """Length of the port that tunes a box.

    Parameters
    ----------
    net_l, tuned_hz
        Net volume in L and tuning wanted in Hz.
    diameter_mm
        Inner diameter of each port, mm.
    ends
        Ends that are flush with a wall: usually the outer one.
    ports
        Number of equal ports.
    air
        Speed of sound and density.

    Returns
    -------
    Length of each port in mm.

    Examples
    --------
    >>> port_length_mm(50, 35, 100)
    309.
    """
    known, number = positive(net_l, tuned_hz, diameter_mm, air.c_m_s), whole(ports, 1, 8)
    if known is None or number is None:
        return None
    net, tuned, diameter, c = known
    correction = _correction_mm(diameter, ends)
    if correction is None:
        return None
    acoustic_m = c**2 * _area_m2(diameter, number) / ((2 * math.pi * tuned) ** 2 * net / 1000)
    length = 1000 * acoustic_m - correction
    return length if length > 0 else None


@formula(source=published("geometry of a cylinder"), valid=_PORT + "; length over 0")
def port_takes_l(outer_diameter_mm: float | None, length_mm: float | None, ports: float | None = 1) -> float | None:
    """Inner volume of a box taken by round ports.

    Examples
    --------
    >>> port_takes_l(110, 309)
    2.94
    """
    known, number = positive(outer_diameter_mm, length_mm), whole(ports, 1, 8)
    return None if known is None or number is None else _area_m2(known[0], number) * known[1]


@formula(
    source=published("monopole in half space; Small 1973 for the port's part of the sound"),
    valid=_PORT + "; half space, 1 m; levels from 0 to 200 dB",
)
def port_air_speed_m_s(
    level_db: float | None,
    freq_hz: float | None,
    tuned_hz: float | None,
    diameter_mm: float | None,
    *,
    ports: float | None = 1,
    air: Air = AIR,
) -> float | None:
    """Peak speed of the air in the port while the box gives this level.

    Parameters
    ----------
    level_db
        Level at 1 m in half space, dB.
    freq_hz, tuned_hz
        Frequency played, and tuning of the box, Hz.
    diameter_mm, ports
        Inner diameter of each port in mm, and number of ports.
    air
        Speed of sound and density.

    Returns
    -------
    Speed in m/s.

    Notes
    -----
    At its tuning the whole sound comes from the port; elsewhere the port moves (fb/f)^2 of what
    the box as a whole does, with leakage or without.

    Examples
    --------
    >>> port_air_speed_m_s(105, 35, 35, 100)
    15.2
    """
    level, number = within(level_db, 0, 200), whole(ports, 1, 8)
    known = positive(freq_hz, tuned_hz, diameter_mm, air.rho_kg_m3)
    if level is None or number is None or known is None:
        return None
    freq, tuned, diameter, rho = known
    flow_m3_s = HEARING_PA * 10 ** (level / 20) / (rho * freq) * (tuned / freq) ** 2
    return math.sqrt(2) * flow_m3_s / _area_m2(diameter, number)


@formula(
    source=published("monopole in half space; Small 1973 for the port's part of the sound"),
    valid="half space, 1 m; all figures over 0",
)
def port_quiet_level_db(
    area_cm2: float | None,
    speed_m_s: float | None,
    freq_hz: float | None,
    tuned_hz: float | None,
    *,
    air: Air = AIR,
) -> float | None:
    """Level of the box at a peak air speed in its port.

    Parameters
    ----------
    area_cm2
        Area of all ports together, cm2.
    speed_m_s
        Peak speed at which the port becomes audible, m/s.
    freq_hz, tuned_hz
        Frequency played, and tuning of the box, Hz.
    air
        Speed of sound and density.

    Returns
    -------
    Level at 1 m in dB.

    Examples
    --------
    >>> port_quiet_level_db(78.54, 15.25, 35, 35)
    105.0
    """
    known = positive(area_cm2, speed_m_s, freq_hz, tuned_hz, air.rho_kg_m3)
    if known is None:
        return None
    area, speed, freq, tuned, rho = known
    return 20 * math.log10(quiet_pressure_pa(area / 1e4, speed, freq, tuned, rho) / HEARING_PA)
