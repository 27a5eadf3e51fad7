"""Boxes in a cargo space with a floor, a tailgate side, and a back that may slope."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import permutations
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.known import not_negative, positive
from matcher.formulas.register import formula

_GEOMETRY = published("geometry")
_BOXES = "lengths over 0; boxes upright on the floor, backs against the sloped back; the slope is straight"
Layout = Literal["side by side", "stacked", "one behind the other"]


@dataclass(frozen=True, slots=True)
class Space:
    """A cargo space, or a box: width, height, and depth at the floor and at the top."""

    w_mm: float
    h_mm: float
    d_mm: float
    d_top_mm: float


@dataclass(frozen=True, slots=True)
class BoxClearances:
    """Free space on each side; negative if the box is too large."""

    width_mm: float
    height_mm: float
    depth_mm: float

    @property
    def least_mm(self) -> float:
        """The smallest of the three."""
        return min(self.width_mm, self.height_mm, self.depth_mm)


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


@formula(source=_GEOMETRY, valid=_BOXES)
def box_stands(box: Space, space: Space) -> BoxClearances | None:
    """Free space around a box with its back to the slope.

    Parameters
    ----------
    box
        Outer sizes; the depth at its top equals that at its floor for a plain box.
    space
        The cargo space.

    Returns
    -------
    Clearances in width, height and depth, the depth at the box's floor and at its top.

    Examples
    --------
    >>> box_stands(Space(600, 300, 350, 350), Space(1000, 400, 500, 300))
    BoxClearances(width_mm=400.0, height_mm=100.0, depth_mm=0.0)
    """
    whole, inside = _known(space), _known(box)
    if whole is None or inside is None:
        return None
    # For a box taller than the space, the depth is that at the space's top.
    at_top = depth_at_mm(whole, min(inside.h_mm, whole.h_mm)) or 0.0
    depth = min(whole.d_mm - inside.d_mm, at_top - inside.d_top_mm)
    return BoxClearances(whole.w_mm - inside.w_mm, whole.h_mm - inside.h_mm, depth)


def _ways(box: Space) -> list[Space]:
    """Yield the orientations of a box: any for a plain one, only on its floor for a sloped one."""
    if box.d_mm != box.d_top_mm:
        return [box]
    turned = permutations((box.w_mm, box.h_mm, box.d_mm))
    return [Space(w, h, d, d) for w, h, d in dict.fromkeys(turned)]


@formula(source=_GEOMETRY, valid=_BOXES + "; a plain box may be put on any side, a sloped one stands on its floor")
def best_standing(box: Space, space: Space) -> tuple[Space, BoxClearances] | None:
    """Orientation of a box in a space with the largest minimum clearance.

    Parameters
    ----------
    box, space
        Outer sizes of the box, and the space.

    Returns
    -------
    The box in its orientation, and its clearances.

    Examples
    --------
    >>> best_standing(Space(300, 600, 350, 350), Space(1000, 400, 500, 300))[0]
    Space(w_mm=600, h_mm=350, d_mm=300, d_top_mm=300)
    """
    stood = [(way, found) for way in _ways(box) if (found := box_stands(way, space)) is not None]
    return max(stood, key=lambda each: each[1].least_mm, default=None)


@dataclass(frozen=True, slots=True)
class TwoBoxes:
    """Arrangement of two boxes, and the tightest free space; negative if they do not both fit."""

    layout: Layout
    first: Space
    second: Space
    least_mm: float


def _side_by_side(one: Space, other: Space, space: Space) -> float:
    alone = [found for box in (one, other) if (found := box_stands(box, space)) is not None]
    rest = [min(found.height_mm, found.depth_mm) for found in alone]
    return min(space.w_mm - one.w_mm - other.w_mm, *rest)


def _stacked(lower: Space, upper: Space, space: Space) -> float:
    below = box_stands(lower, space)
    above = space_left(space, floor_loss_mm=lower.h_mm)
    if below is None or above is None:
        return space.h_mm - lower.h_mm - upper.h_mm
    on_top = box_stands(upper, above)
    return min(below.least_mm, on_top.least_mm) if on_top is not None else below.least_mm


def _one_behind_the_other(back: Space, front: Space, space: Space) -> float:
    behind, alone = box_stands(back, space), box_stands(front, space)
    if behind is None or alone is None:
        return -space.d_mm
    # The back box, with its back to the slope, leaves its depth margin in front of it; the front box is deepest at one
    # end of the height that both share.
    shared = min(back.h_mm, front.h_mm)
    deepest = max(front.d_mm, depth_at_mm(front, shared) or 0.0)
    rest = min(behind.width_mm, behind.height_mm, alone.least_mm)
    return min(rest, behind.depth_mm - deepest)


_LAYOUTS: dict[Layout, Callable[[Space, Space, Space], float]] = {
    "side by side": _side_by_side,
    "stacked": _stacked,
    "one behind the other": _one_behind_the_other,
}


@formula(source=_GEOMETRY, valid=_BOXES + "; all edges along the space's; what an upper box rests on is not judged")
def two_boxes_stand(one: Space, other: Space, space: Space) -> TwoBoxes | None:
    """Arrangement of two boxes in a space with the largest minimum clearance.

    Parameters
    ----------
    one, other, space
        Outer sizes of the boxes, and the space.

    Returns
    -------
    Layout, both boxes in their orientation (the lower or the back one first), and the smallest clearance.

    Examples
    --------
    >>> plain = Space(600, 350, 300, 300)
    >>> found = two_boxes_stand(plain, plain, Space(1000, 400, 620, 620))
    >>> found.layout, found.least_mm
    ('side by side', 20.0)
    """
    if _known(one) is None or _known(other) is None or _known(space) is None:
        return None
    found = [
        TwoBoxes(layout, first, second, room(first, second, space))
        for layout, room in _LAYOUTS.items()
        for pair in ((one, other), (other, one))
        for first in _ways(pair[0])
        for second in _ways(pair[1])
    ]
    return max(found, key=lambda each: each.least_mm)
