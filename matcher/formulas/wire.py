"""Conductors: gauge, area and resistance. AWG numbers run -3 for 4/0, 0 for 1/0, up to 40."""

from __future__ import annotations

import math
from typing import Literal

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.formulas.known import positive, whole, within
from matcher.formulas.register import formula
from matcher.formulas.wire_tables import GAUGES

Conductor = Literal["copper", "cca"]

MM_PER_INCH = 25.4
COPPER_OHM_MM2_PER_M = 0.017241
COPPER_PER_K = 0.00393
LAY = 1.02
RESISTANCE_RATIO = {"copper": 1.0, "cca": 1.6}

_ASTM = published("ASTM B258-02")
_IEC_60028 = published("IEC 60028:1925")


@formula(source=_ASTM, valid="whole AWG numbers from -3 (4/0) to 40")
def awg_diameter_mm(awg: float | None) -> float | None:
    """Diameter of a solid round conductor of this gauge.

    Parameters
    ----------
    awg
        Gauge number; 0 is 1/0, -3 is 4/0.

    Returns
    -------
    Diameter in mm.

    Notes
    -----
    39 equal steps from 0.0050 in (No. 36) to 0.4600 in (4/0): 0.127 mm x 92^((36 - n)/39).

    Examples
    --------
    >>> awg_diameter_mm(10)
    2.588
    """
    number = whole(awg, -3, 40)
    return None if number is None else 0.127 * 92 ** ((36 - number) / 39)


@formula(source=_ASTM, valid="whole AWG numbers from -3 (4/0) to 40")
def awg_area_mm2(awg: float | None) -> float | None:
    """Cross-section of a solid round conductor of this gauge.

    Parameters
    ----------
    awg
        Gauge number; 0 is 1/0, -3 is 4/0.

    Returns
    -------
    Area in mm2.

    Examples
    --------
    >>> awg_area_mm2(4)
    21.15
    """
    diameter = awg_diameter_mm(awg)
    return None if diameter is None else math.pi / 4 * diameter**2


@formula(source=_ASTM, valid="areas over 0 up to that of 4/0 (107.2 mm2)")
def awg_for_area(area_mm2: float | None) -> int | None:
    """The thinnest available gauge with at least this area.

    Parameters
    ----------
    area_mm2
        Required area, mm2.

    Returns
    -------
    Gauge number; None if 4/0 is too thin.

    Notes
    -----
    Odd gauges over 3 are not sold. Half a percent is let through, since areas are printed rounded
    (4 AWG as 21.1 or 21.2 mm2).

    Examples
    --------
    >>> awg_for_area(16.0), awg_for_area(21.2), awg_for_area(120)
    (4, 4, None)
    """
    known = positive(area_mm2)
    if known is None:
        return None
    return next((awg for awg in GAUGES if (awg_area_mm2(awg) or 0) >= known[0] * 0.995), None)


@formula(source=_ASTM, valid="whole AWG numbers from -3 (4/0) to 40")
def awg_name(awg: float | None) -> str | None:
    """A gauge number as printed on the reel.

    Examples
    --------
    >>> awg_name(8), awg_name(0), awg_name(-3)
    ('8', '1/0', '4/0')
    """
    number = whole(awg, -3, 40)
    if number is None:
        return None
    return str(number) if number > 0 else f"{1 - number}/0"


@formula(source=_IEC_60028, valid="-40 to 200 C")
def copper_factor(temp_c: float | None, reference_c: float | None = 20.0) -> float | None:
    """Ratio of copper's resistance at this temperature to that at the reference temperature.

    Parameters
    ----------
    temp_c, reference_c
        Temperatures of the conductor, C.

    Returns
    -------
    Ratio of resistances.

    Notes
    -----
    The coefficient is 0.00393 per K at 20 C, rising in a straight line.

    Examples
    --------
    >>> copper_factor(75)
    1.216
    """
    temp, reference = within(temp_c, -40, 200), within(reference_c, -40, 200)
    if temp is None or reference is None:
        return None
    return (1 + COPPER_PER_K * (temp - 20)) / (1 + COPPER_PER_K * (reference - 20))


@formula(
    source=published("IEC 60028:1925; lay of 2 % as NEC chapter 9 table 8 has it; aluminum at 1.6: common practice"),
    valid="areas over 0; conductor at -40 to 200 C; copper or copper-clad aluminum (cca)",
)
def resistance_ohm_per_m(
    area_mm2: float | None,
    temp_c: float | None = 20.0,
    *,
    stranded: bool = True,
    conductor: Conductor = "copper",
) -> float | None:
    """Resistance of a meter of conductor.

    Parameters
    ----------
    area_mm2
        Cross-section of metal, mm2.
    temp_c
        Temperature of the conductor, C.
    stranded
        Twisting makes the strands 2 % longer than the cable.
    conductor
        ``copper``, or ``cca`` for copper-clad aluminum, which has about 1.6 times the resistance.

    Returns
    -------
    Resistance in ohm/m.

    Examples
    --------
    >>> 304.8 * resistance_ohm_per_m(awg_area_mm2(4), 75)
    0.308
    """
    known, factor, ratio = positive(area_mm2), copper_factor(temp_c), RESISTANCE_RATIO.get(conductor)
    if known is None or factor is None or ratio is None:
        return None
    return COPPER_OHM_MM2_PER_M / known[0] * factor * ratio * (LAY if stranded else 1.0)


@formula(source=COMMON_PRACTICE, valid="areas over 0; copper or copper-clad aluminum (cca)")
def copper_equal_mm2(area_mm2: float | None, conductor: Conductor = "copper") -> float | None:
    """Area of copper that has the same resistance as this conductor.

    Examples
    --------
    >>> copper_equal_mm2(32, "cca")
    20.
    """
    known, ratio = positive(area_mm2), RESISTANCE_RATIO.get(conductor)
    return None if known is None or ratio is None else known[0] / ratio
