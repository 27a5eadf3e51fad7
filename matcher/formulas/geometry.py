"""Geometry of fits: rectangle in rectangle, a box through an aperture, and tolerance stacks."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from catalog_schema.sources import published
from matcher.formulas.known import not_negative, positive, within
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


@formula(source=_CARVER, valid="sides over 0; turned in the plane of the aperture")
def rectangle_margin_mm(
    w_mm: float | None, h_mm: float | None, aperture_w_mm: float | None, aperture_h_mm: float | None
) -> float | None:
    """Margin by which both sides of a rectangle could grow and still fit the aperture.

    Parameters
    ----------
    w_mm, h_mm
        Sides of the rectangle, mm.
    aperture_w_mm, aperture_h_mm
        Sides of the aperture, mm.

    Returns
    -------
    Margin in mm; negative by how much both sides must shrink.

    Examples
    --------
    >>> rectangle_margin_mm(400, 300, 450, 320)
    20.0
    >>> rectangle_margin_mm(10, 1, 8, 7.6) > 0 > rectangle_margin_mm(10, 1, 8, 7.5)
    True
    """
    known = positive(w_mm, h_mm, aperture_w_mm, aperture_h_mm)
    if known is None:
        return None
    (q, p), (b, a) = sorted(known[:2]), sorted(known[2:])
    straight = min(a - p, b - q)
    # Turning can only help a rectangle longer than the aperture, and never past the shorter side.
    low, high = straight, b - q
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _fits(p + middle, max(0.0, q + middle), a, b) else (low, middle)
    return straight if low - straight < 1e-6 * (a + b) else low


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


@formula(
    source=published("geometry; Carver 1957 for the face in the aperture"),
    valid="edges over 0; moved straight along an edge, not tilted on the way",
)
def box_gate_margin_mm(
    w_mm: float | None,
    h_mm: float | None,
    d_mm: float | None,
    gate_w_mm: float | None,
    gate_h_mm: float | None,
) -> float | None:
    """Margin by which a box could grow and still pass an aperture in any orientation.

    Parameters
    ----------
    w_mm, h_mm, d_mm
        Edges of the box, mm; a sloped box by its largest.
    gate_w_mm, gate_h_mm
        Sides of the aperture, mm.

    Returns
    -------
    Margin in mm, negative by how much it must shrink.

    Examples
    --------
    >>> box_gate_margin_mm(1000, 350, 400, 900, 360)
    10.0
    """
    known = positive(w_mm, h_mm, d_mm)
    if known is None:
        return None
    smallest, middle, _ = sorted(known)
    return rectangle_margin_mm(smallest, middle, gate_w_mm, gate_h_mm)


@dataclass(frozen=True, slots=True)
class Tolerance:
    """One figure of a stack with its tolerance: added (sign +1) or subtracted (sign -1)."""

    value: float | None
    tol: float | None
    sign: int = 1


@dataclass(frozen=True, slots=True)
class StackUp:
    """Sum of a stack of figures: worst case, and root of the sum of squares."""

    value: float
    worst: float
    rss: float


@formula(
    source=published("tolerance stack-up, worst case and root of the sum of squares; JCGM 100:2008 for the latter"),
    valid="tolerances 0 and over; for the root: figures independent of each other",
)
def stack_up(figures: Iterable[Tolerance]) -> StackUp | None:
    """Sum of figures, and how far it may be off.

    Parameters
    ----------
    figures
        Figures with their tolerances, in one unit; one unknown makes the stack unknown.

    Returns
    -------
    Sum, worst case and root of the sum of squares, in the same unit.

    Examples
    --------
    >>> stack_up([Tolerance(52, 0.5), Tolerance(50, 0.5, sign=-1)])
    StackUp(value=2.0, worst=1.0, rss=0.7071)
    """
    values: list[float] = []
    tolerances: list[float] = []
    for figure in figures:
        value, tol = within(figure.value, -1e12, 1e12), not_negative(figure.tol)
        if value is None or tol is None or figure.sign not in (1, -1):
            return None
        values.append(figure.sign * value)
        tolerances.append(tol[0])
    return StackUp(math.fsum(values), math.fsum(tolerances), math.hypot(*tolerances))
