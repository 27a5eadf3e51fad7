"""A cargo space with a floor, a tailgate side, and a back that may slope."""

from __future__ import annotations

from dataclasses import dataclass

from catalog_schema.sources import published
from matcher.formulas.known import not_negative, positive
from matcher.formulas.register import formula

_GEOMETRY = published("geometry")
_BOXES = "lengths over 0; boxes upright on the floor, backs against the sloped back; the slope is straight"


@dataclass(frozen=True, slots=True)
class Space:
    """A cargo space, or a box: width, height, and depth at the floor and at the top."""

    w_mm: float
    h_mm: float
    d_mm: float
    d_top_mm: float


def _known(space: Space) -> Space | None:
    figures = positive(space.w_mm, space.h_mm, space.d_mm, space.d_top_mm)
    return None if figures is None else Space(*figures)


@formula(source=_GEOMETRY, valid="lengths over 0; heights from the floor up to the top; the slope is straight")
def depth_at_mm(space: Space, height_mm: float | None) -> float | None:
    """Depth of a space at a height above its floor.

    Parameters
    ----------
    space
        The space, or a box with a sloped back.
    height_mm
        Height above the floor, mm.

    Returns
    -------
    Depth in mm.

    Examples
    --------
    >>> depth_at_mm(Space(1000, 400, 500, 300), 100)
    450.0
    """
    whole, known = _known(space), not_negative(height_mm)
    if whole is None or known is None or known[0] > whole.h_mm * (1 + 1e-9):
        return None
    return whole.d_mm - (whole.d_mm - whole.d_top_mm) * known[0] / whole.h_mm


@formula(source=_GEOMETRY, valid=_BOXES + "; floor and what stays are level and straight")
def space_left(space: Space, floor_loss_mm: float | None = 0.0, beside_mm: float | None = 0.0) -> Space | None:
    """Space left above a false floor and next to items that stay in the car.

    Parameters
    ----------
    space
        The space as it is.
    floor_loss_mm
        Height that a false floor takes, mm.
    beside_mm
        Width of the items that stay, mm.

    Returns
    -------
    The space left; None if nothing is left.

    Examples
    --------
    >>> space_left(Space(1000, 400, 500, 300), floor_loss_mm=100, beside_mm=150)
    Space(w_mm=850.0, h_mm=300.0, d_mm=450.0, d_top_mm=300.0)
    """
    whole, taken = _known(space), not_negative(floor_loss_mm, beside_mm)
    floor_depth = depth_at_mm(space, floor_loss_mm)
    if whole is None or taken is None or floor_depth is None:
        return None
    return _known(Space(whole.w_mm - taken[1], whole.h_mm - taken[0], floor_depth, whole.d_top_mm))
