"""Cable runs: ampacity, voltage drop out and back, and required thickness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from catalog_schema.sources import COMMON_PRACTICE, from_memory, published
from matcher.formulas.known import positive, whole
from matcher.formulas.register import formula
from matcher.formulas.wire import (
    RESISTANCE_RATIO,
    Conductor,
    awg_area_mm2,
    awg_for_area,
    copper_equal_mm2,
    resistance_ohm_per_m,
)
from matcher.formulas.wire_tables import (
    AMPACITY_A,
    CLASS_5_OHM_PER_KM,
    GAUGES,
    HOT_SPACE_FACTOR,
    INSULATION_C,
)

_TABLE_5 = published("33 CFR 183.425 Table 5")
_RATINGS = "gauges 18 to 4/0 of the table; insulation rated 60, 75, 80, 90, 105, 125 or 200 C"


@formula(source=from_memory("33 CFR 183.425 Table 5; only the factor at 105 C was seen"), valid=_RATINGS)
def hot_space_factor(insulation_c: float | None) -> float | None:
    """Share of a cable's current that remains at 50 C instead of 30 C.

    Examples
    --------
    >>> hot_space_factor(105)
    0.85
    """
    rating = whole(insulation_c, 60, 200)
    return None if rating is None else HOT_SPACE_FACTOR.get(rating)


@formula(source=_TABLE_5, valid=_RATINGS)
def ampacity_a(awg: float | None, insulation_c: float | None = 105, *, hot_space: bool = False) -> float | None:
    """Continuous current of a copper conductor of this gauge.

    Parameters
    ----------
    awg
        Gauge number; 0 is 1/0, -3 is 4/0.
    insulation_c
        Temperature rating of the insulation, C.
    hot_space
        The cable runs through a space at 50 C, such as an engine bay.

    Returns
    -------
    Current in A.

    Examples
    --------
    >>> ampacity_a(8), ampacity_a(8, hot_space=True), ampacity_a(4, 75)
    (80.0, 68.0, 125.0)
    """
    number, rating = whole(awg, -3, 18), whole(insulation_c, 60, 200)
    if number not in AMPACITY_A or rating not in INSULATION_C:
        return None
    factor = HOT_SPACE_FACTOR[rating] if hot_space else 1.0
    return AMPACITY_A[number][INSULATION_C.index(rating)] * factor


def _thickest_row_within(area_mm2: float) -> int | None:
    # Printed areas are rounded, so half a percent is tolerated.
    rows = (awg for awg in reversed(GAUGES) if (awg_area_mm2(awg) or 0) <= area_mm2 * 1.005)
    return next(rows, None)


@formula(
    source=published("33 CFR 183.425 Table 5; between its gauges the next thinner one counts"),
    valid="0.82 mm2 of copper and over; insulation ratings of the table; over 4/0 what 4/0 carries",
)
def area_ampacity_a(
    area_mm2: float | None,
    insulation_c: float | None = 105,
    *,
    hot_space: bool = False,
    conductor: Conductor = "copper",
) -> float | None:
    """Continuous current of a cable of this metric area.

    Parameters
    ----------
    area_mm2
        Cross-section of metal, mm2.
    insulation_c
        Temperature rating of the insulation, C.
    hot_space
        The cable runs through a space at 50 C.
    conductor
        ``cca`` counts as the copper area of the same resistance.

    Returns
    -------
    Current in A, of the thickest gauge up to this area.

    Examples
    --------
    >>> area_ampacity_a(16), area_ampacity_a(16, conductor="cca")
    (120.0, 80.0)
    """
    copper = copper_equal_mm2(area_mm2, conductor)
    awg = None if copper is None else _thickest_row_within(copper)
    return ampacity_a(awg, insulation_c, hot_space=hot_space)


@formula(
    source=published("Ohm's law, out and back; resistance as IEC 60028 and NEC chapter 9 table 8"),
    valid="current, length and area over 0; conductor at -40 to 200 C",
)
def drop_v(
    current_a: float | None,
    one_way_m: float | None,
    area_mm2: float | None,
    *,
    temp_c: float | None = 75.0,
    stranded: bool = True,
    conductor: Conductor = "copper",
) -> float | None:
    """Voltage lost on the way out and back.

    Parameters
    ----------
    current_a
        Current, A.
    one_way_m
        Length of one of the two conductors, m.
    area_mm2
        Cross-section of metal of each, mm2.
    temp_c
        Temperature of the conductor, C; 75 for a loaded cable.
    stranded, conductor
        As for the resistance.

    Returns
    -------
    Drop in V.

    Notes
    -----
    The car body as the return path loses less, so the figure is then conservative.

    Examples
    --------
    >>> drop_v(60, 5.0, awg_area_mm2(4))
    0.607
    """
    ohm_per_m = resistance_ohm_per_m(area_mm2, temp_c, stranded=stranded, conductor=conductor)
    known = positive(current_a, one_way_m, ohm_per_m)
    return None if known is None else 2 * known[0] * known[1] * known[2]


@formula(
    source=published("Ohm's law, out and back; resistance as IEC 60028 and NEC chapter 9 table 8"),
    valid="current, length and drop over 0; conductor at -40 to 200 C",
)
def area_for_drop_mm2(
    current_a: float | None,
    one_way_m: float | None,
    drop_max_v: float | None,
    *,
    temp_c: float | None = 75.0,
    stranded: bool = True,
    conductor: Conductor = "copper",
) -> float | None:
    """Area with exactly this voltage drop out and back.

    Parameters
    ----------
    current_a, one_way_m, drop_max_v
        Current in A, length of one conductor in m, drop allowed in V.
    temp_c, stranded, conductor
        As for the drop.

    Returns
    -------
    Cross-section of metal in mm2.

    Examples
    --------
    >>> area_for_drop_mm2(60, 5.0, 0.5)
    25.7
    """
    # The drop is inversely proportional to the area, so that of 1 mm2 suffices.
    of_one_mm2 = drop_v(current_a, one_way_m, 1.0, temp_c=temp_c, stranded=stranded, conductor=conductor)
    known = positive(of_one_mm2, drop_max_v)
    return None if known is None else known[0] / known[1]


@formula(source=_TABLE_5, valid="currents that 4/0 or thinner carries; insulation ratings of the table")
def area_for_current_mm2(
    current_a: float | None,
    insulation_c: float | None = 105,
    *,
    hot_space: bool = False,
    conductor: Conductor = "copper",
) -> float | None:
    """Area of the thinnest gauge with this ampacity.

    Parameters
    ----------
    current_a
        Current, or the fuse's rating, A.
    insulation_c, hot_space, conductor
        As for the ampacity.

    Returns
    -------
    Cross-section of metal in mm2.

    Examples
    --------
    >>> area_for_current_mm2(80)
    8.37
    """
    known, ratio = positive(current_a), RESISTANCE_RATIO.get(conductor)
    if known is None or ratio is None:
        return None
    for awg in GAUGES:
        carries, area = ampacity_a(awg, insulation_c, hot_space=hot_space), awg_area_mm2(awg)
        if carries is not None and area is not None and carries >= known[0]:
            return area * ratio
    return None


@dataclass(frozen=True, slots=True)
class CableNeed:
    """Cross-section of a cable, and the requirement that determines it."""

    by_current_mm2: float
    by_drop_mm2: float
    area_mm2: float
    ruled_by: Literal["current", "drop"]
    awg: int | None
    standard_mm2: float | None


@formula(
    source=COMMON_PRACTICE,
    valid="where both demands are known: by 33 CFR 183.425 Table 5 and by the drop out and back",
)
def cable_need(
    current_a: float | None,
    one_way_m: float | None,
    drop_max_v: float | None,
    *,
    fuse_a: float | None = None,
    insulation_c: float | None = 105,
    hot_space: bool = False,
    temp_c: float | None = 75.0,
    conductor: Conductor = "copper",
) -> CableNeed | None:
    """Area sufficient for both the current and the voltage drop.

    Parameters
    ----------
    current_a, one_way_m, drop_max_v
        Current in A, length of one conductor in m, drop allowed in V.
    fuse_a
        Rating of the fuse, which the cable has to carry; by default the current.
    insulation_c, hot_space, temp_c, conductor
        As for the ampacity and the drop.

    Returns
    -------
    Both areas, the larger one, and the thinnest sufficient AWG and IEC 60228 sizes; these two are None if no
    listed size is thick enough.

    Examples
    --------
    >>> need = cable_need(60, 5.0, 0.5, fuse_a=60)
    >>> need.ruled_by, need.awg, need.standard_mm2
    ('drop', 3, 35)
    """
    carried = current_a if fuse_a is None else fuse_a
    known = positive(
        area_for_current_mm2(carried, insulation_c, hot_space=hot_space, conductor=conductor),
        area_for_drop_mm2(current_a, one_way_m, drop_max_v, temp_c=temp_c, conductor=conductor),
    )
    if known is None:
        return None
    area = max(known)
    standard = next((size for size in sorted(CLASS_5_OHM_PER_KM) if size >= area), None)
    ruled_by: Literal["current", "drop"] = "drop" if known[1] > known[0] else "current"
    return CableNeed(known[0], known[1], area, ruled_by, awg_for_area(area), standard)
