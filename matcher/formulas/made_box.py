"""A made-to-measure bass box: outer sizes, net volume, panels to cut, mass.

The box has a front and two ends that stand upright, and a back that may slope. The ends cover the
edges of all other panels; front and back cover those of top and bottom.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.formulas.cargo import Space
from matcher.formulas.known import not_negative, positive, whole, within
from matcher.formulas.register import formula

_GEOMETRY = published("geometry")
_PANELS = "sizes over 0 with room left inside the boards; back upright or sloped up to 60 degrees"
_MM3_PER_L = 1e6
STEEPEST_DEG = 60.0


@dataclass(frozen=True, slots=True)
class _Inside:
    """The room inside the boards; depths along the floor and along the top board."""

    w_mm: float
    h_mm: float
    d_mm: float
    d_top_mm: float
    tilt: float


def _inside(outer: Space, board_mm: float | None) -> _Inside | None:
    sizes, board = positive(outer.w_mm, outer.h_mm, outer.d_mm, outer.d_top_mm), positive(board_mm)
    if sizes is None or board is None:
        return None
    w, h, d, d_top = sizes
    tilt = math.atan2(d - d_top, h)
    if abs(math.degrees(tilt)) > STEEPEST_DEG:
        return None
    # Along the floor, a sloped board takes its thickness divided by the cosine of the slope.
    boards = board[0] + board[0] / math.cos(tilt)
    slope = (d - d_top) / h
    bottom, top = d - slope * board[0] - boards, d_top + slope * board[0] - boards
    inside = _Inside(w - 2 * board[0], h - 2 * board[0], bottom, top, tilt)
    return inside if min(inside.w_mm, inside.h_mm, bottom, top) > 0 else None


@formula(source=_GEOMETRY, valid="sizes over 0")
def outer_volume_l(outer: Space) -> float | None:
    """Outer volume of a box.

    Examples
    --------
    >>> outer_volume_l(Space(400, 350, 300, 300))
    42.0
    """
    known = positive(outer.w_mm, outer.h_mm, outer.d_mm, outer.d_top_mm)
    return None if known is None else known[0] * known[1] * (known[2] + known[3]) / 2 / _MM3_PER_L


@formula(source=_GEOMETRY, valid=_PANELS)
def inner_volume_l(outer: Space, board_mm: float | None) -> float | None:
    """Volume inside the boards without contents.

    Parameters
    ----------
    outer
        Outer sizes; the depth at the top differs from that at the floor if the back slopes.
    board_mm
        Thickness of all boards, mm.

    Returns
    -------
    Volume in L.

    Examples
    --------
    >>> inner_volume_l(Space(400, 350, 300, 300), 18)
    30.17
    """
    inside = _inside(outer, board_mm)
    if inside is None:
        return None
    return inside.w_mm * inside.h_mm * (inside.d_mm + inside.d_top_mm) / 2 / _MM3_PER_L


@formula(source=_GEOMETRY, valid=_PANELS + "; front upright")
def driver_depth_mm(outer: Space, board_mm: float | None) -> float | None:
    """Maximum depth of a driver behind the front's face, anywhere on it.

    Parameters
    ----------
    outer, board_mm
        Outer sizes, and thickness of all boards in mm.

    Returns
    -------
    Depth in mm, from the outer face of the front to the back where it is nearest.

    Examples
    --------
    >>> driver_depth_mm(Space(400, 350, 300, 300), 18)
    282.0
    """
    inside, board = _inside(outer, board_mm), positive(board_mm)
    return None if inside is None or board is None else min(inside.d_mm, inside.d_top_mm) + board[0]


@formula(source=COMMON_PRACTICE, valid=_PANELS + "; braces across the whole inside, 0 to 8; cut away 0 to 1")
def bracing_l(outer: Space, board_mm: float | None, braces: float | None, cut_away: float | None = 0.5) -> float | None:
    """Volume of window braces: boards across the inside, partly cut out.

    Parameters
    ----------
    outer, board_mm
        Outer sizes, and thickness of all boards in mm.
    braces
        Number of braces between the ends.
    cut_away
        Cut-out share of each brace, for the air to pass.

    Returns
    -------
    Volume in L.

    Examples
    --------
    >>> bracing_l(Space(400, 350, 300, 300), 18, 1)
    0.746
    """
    inner, inside, count = inner_volume_l(outer, board_mm), _inside(outer, board_mm), whole(braces, 0, 8)
    board, gone = positive(board_mm), within(cut_away, 0, 1)
    if inner is None or inside is None or count is None or board is None or gone is None:
        return None
    return inner / inside.w_mm * board[0] * count * (1 - gone)


@formula(source=COMMON_PRACTICE, valid=_PANELS + "; what stands inside takes less than there is")
def net_volume_l(
    outer: Space,
    board_mm: float | None,
    *,
    drivers_l: float | None = 0.0,
    port_l: float | None = 0.0,
    braces: float | None = 0,
) -> float | None:
    """Net volume of air: the inside minus drivers, port and braces.

    Parameters
    ----------
    outer, board_mm
        Outer sizes, and thickness of all boards in mm.
    drivers_l, port_l
        Volume of all drivers and the port, L.
    braces
        Number of window braces.

    Returns
    -------
    Volume of the whole box in L.

    Examples
    --------
    >>> net_volume_l(Space(400, 350, 300, 300), 18, drivers_l=2.5, braces=1)
    26.93
    """
    inner, taken = inner_volume_l(outer, board_mm), not_negative(drivers_l, port_l)
    bracing = bracing_l(outer, board_mm, braces)
    if inner is None or taken is None or bracing is None:
        return None
    net = inner - sum(taken) - bracing
    return net if net > 0 else None


@dataclass(frozen=True, slots=True)
class Panel:
    """One line of the cut list: a rectangle, or an end with two different depths.

    `bevel_deg` is the angle at which the edges that meet the sloped back are cut.
    """

    name: str
    count: int
    length_mm: float
    width_mm: float
    width_top_mm: float | None = None
    bevel_deg: float = 0.0


@formula(source=_GEOMETRY, valid=_PANELS)
def cut_list(outer: Space, board_mm: float | None) -> tuple[Panel, ...] | None:
    """Panels of a box, each at the largest of its two faces.

    Parameters
    ----------
    outer, board_mm
        Outer sizes, and thickness of all boards in mm.

    Returns
    -------
    Two ends, front, back, bottom, top. The length of an end is its height.

    Examples
    --------
    >>> for panel in cut_list(Space(400, 350, 300, 300), 18):
    ...     print(panel.count, panel.name, panel.length_mm, "x", panel.width_mm)
    2 end 350.0 x 300.0
    1 front 364.0 x 350.0
    1 back 364.0 x 350.0
    1 bottom 364.0 x 264.0
    1 top 364.0 x 264.0
    """
    inside, sizes = _inside(outer, board_mm), positive(outer.h_mm, outer.d_mm, outer.d_top_mm, board_mm)
    if inside is None or sizes is None:
        return None
    h, d, d_top, board = sizes
    bevel, rise = math.degrees(inside.tilt), board * math.tan(inside.tilt)
    between = [max(depth, depth + side) for depth, side in ((inside.d_mm, rise), (inside.d_top_mm, -rise))]
    return (
        Panel("end", 2, h, d, d_top if d != d_top else None),
        Panel("front", 1, inside.w_mm, h),
        Panel("back", 1, inside.w_mm, math.hypot(h, d - d_top), bevel_deg=bevel),
        Panel("bottom", 1, inside.w_mm, between[0], bevel_deg=bevel),
        Panel("top", 1, inside.w_mm, between[1], bevel_deg=bevel),
    )


@formula(source=_GEOMETRY, valid=_PANELS + "; density over 0, in kg/m3")
def box_mass_kg(
    outer: Space,
    board_mm: float | None,
    density_kg_m3: float | None,
    *,
    braces: float | None = 0,
    drivers_kg: float | None = 0.0,
) -> float | None:
    """Mass of boards, braces and drivers.

    Parameters
    ----------
    outer, board_mm
        Outer sizes, and thickness of all boards in mm.
    density_kg_m3
        Density of the board.
    braces
        Number of window braces.
    drivers_kg
        Mass of all drivers together, kg.

    Returns
    -------
    Mass in kg, cut-outs for drivers not taken off.

    Examples
    --------
    >>> box_mass_kg(Space(400, 350, 300, 300), 18, 769)
    9.09
    """
    inner, all_over = inner_volume_l(outer, board_mm), outer_volume_l(outer)
    bracing, density = bracing_l(outer, board_mm, braces), positive(density_kg_m3)
    drivers = not_negative(drivers_kg)
    if inner is None or all_over is None or bracing is None or density is None or drivers is None:
        return None
    return (all_over - inner + bracing) * density[0] / 1000 + drivers[0]
