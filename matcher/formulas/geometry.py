"""Geometry of fits: a rectangle in a rectangle, a box through an aperture."""

from __future__ import annotations

import math

from catalog_schema.sources import published
from matcher.formulas.known import positive
from matcher.formulas.register import formula

_CARVER = published("Carver 1957; Wetzel, Mathematics Magazine 73(3), 2000, 204-211")
# A part exactly as large as its hole fits, despite rounding of floats.
_EXACT = 1e-9


def _fits(long: float, short: float, aperture_long: float, aperture_short: float) -> bool:
    """Carver's criterion, long sides first."""
    p, q, a, b = long, short, aperture_long, aperture_short
    slack = _EXACT * (a + b)
    if q > b + slack:
        return False
    if p <= a + slack:
        return True
    # Longer than the aperture: it only fits turned, and then the corners decide.
    span = p * p + q * q
    return b * span + slack * span >= 2 * p * q * a + (p * p - q * q) * math.sqrt(max(0.0, span - a * a))


@formula(source=_CARVER, valid="sides over 0; turned in the plane of the aperture")
def rectangle_fits(
    w_mm: float | None, h_mm: float | None, aperture_w_mm: float | None, aperture_h_mm: float | None
) -> bool | None:
    """Whether a rectangle fits a rectangular aperture, turned in its plane if needed.

    Parameters
    ----------
    w_mm, h_mm
        Sides of the rectangle, mm.
    aperture_w_mm, aperture_h_mm
        Sides of the aperture, mm.

    Returns
    -------
    True if it fits, also without any clearance.

    Examples
    --------
    >>> rectangle_fits(10, 1, 8, 7.6), rectangle_fits(10, 1, 8, 7.5), rectangle_fits(9, 4, 8, 6)
    (True, False, False)
    """
    known = positive(w_mm, h_mm, aperture_w_mm, aperture_h_mm)
    if known is None:
        return None
    (q, p), (b, a) = sorted(known[:2]), sorted(known[2:])
    return _fits(p, q, a, b)


@formula(
    source=published("geometry; Carver 1957 for the face in the aperture"),
    valid="edges over 0; moved straight along an edge, not tilted on the way",
)
def box_passes(
    w_mm: float | None,
    h_mm: float | None,
    d_mm: float | None,
    gate_w_mm: float | None,
    gate_h_mm: float | None,
) -> bool | None:
    """Whether a box passes an aperture in any orientation.

    Parameters
    ----------
    w_mm, h_mm, d_mm
        Edges of the box, mm; a sloped box by its largest.
    gate_w_mm, gate_h_mm
        Sides of the aperture, mm.

    Returns
    -------
    True if its smallest face fits.

    Notes
    -----
    The smallest face is contained in both others, so no other face has to be tried.

    Examples
    --------
    >>> box_passes(1000, 350, 400, 900, 360), box_passes(1000, 350, 400, 380, 340)
    (True, False)
    """
    known = positive(w_mm, h_mm, d_mm)
    if known is None:
        return None
    smallest, middle, _ = sorted(known)
    return rectangle_fits(smallest, middle, gate_w_mm, gate_h_mm)
