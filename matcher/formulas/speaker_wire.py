"""Loudspeaker wire: the area that keeps its loss small, and the areas that are sold."""

from __future__ import annotations

from catalog_schema.sources import published
from matcher.formulas.known import positive, within
from matcher.formulas.register import formula
from matcher.formulas.wire import resistance_ohm_per_m
from matcher.formulas.wire_tables import CLASS_5_OHM_PER_KM


@formula(source=published("Ohm's law, out and back"), valid="length and load over 0; loss over 0 up to half")
def area_for_loss_mm2(one_way_m: float | None, load_ohm: float | None, loss_share: float | None) -> float | None:
    """Area of loudspeaker wire with this power loss out and back, for stranded copper at 20 C.

    Parameters
    ----------
    one_way_m, load_ohm
        Length of one conductor in m, load at its end in ohm.
    loss_share
        Ratio of the power lost in the wire to that of the load.

    Returns
    -------
    Cross-section of metal in mm2.

    Examples
    --------
    >>> area_for_loss_mm2(4, 2, 0.05)
    1.41
    """
    known, share = positive(one_way_m, load_ohm), within(loss_share, 1e-6, 0.5)
    of_one_mm2 = resistance_ohm_per_m(1.0, temp_c=20.0)
    if known is None or share is None or of_one_mm2 is None:
        return None
    return 2 * known[0] * of_one_mm2 / (share * known[1])


@formula(source=published("IEC 60228, class 5: the areas it lists"), valid="areas over 0 up to 120 mm2")
def standard_area_mm2(area_mm2: float | None) -> float | None:
    """Smallest standard area of at least this size.

    Examples
    --------
    >>> standard_area_mm2(37), standard_area_mm2(16), standard_area_mm2(130)
    (50, 16, None)
    """
    known = positive(area_mm2)
    return None if known is None else next((area for area in CLASS_5_OHM_PER_KM if area >= known[0]), None)
