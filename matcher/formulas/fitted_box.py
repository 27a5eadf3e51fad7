"""The largest box for a cargo space that passes its tailgate, or a box of a given volume."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import permutations
from typing import Literal

from catalog_schema.sources import COMMON_PRACTICE
from matcher.formulas.cargo import Space, depth_at_mm
from matcher.formulas.geometry import box_passes
from matcher.formulas.known import not_negative, positive
from matcher.formulas.made_box import (
    Panel,
    box_mass_kg,
    bracing_l,
    cut_list,
    inner_volume_l,
    net_volume_l,
    outer_volume_l,
)
from matcher.formulas.register import formula

_VALID = "lengths over 0; box upright, moved in straight along an edge; what is left has room inside the boards"


@dataclass(frozen=True, slots=True)
class Gate:
    """Clear width and height of the tailgate."""

    w_mm: float
    h_mm: float


@dataclass(frozen=True, slots=True)
class Boards:
    """Construction of the box: thickness, density, and number of window braces."""

    board_mm: float
    density_kg_m3: float
    braces: float = 0


@dataclass(frozen=True, slots=True)
class Contents:
    """Contents of the box: volume of drivers and port, mass of the drivers."""

    drivers_l: float = 0.0
    port_l: float = 0.0
    drivers_kg: float = 0.0


@dataclass(frozen=True, slots=True)
class MadeBox:
    """A made-to-measure box, and the constraint on its size."""

    outer: Space
    net_l: float
    mass_kg: float
    panels: tuple[Panel, ...]
    ruled_by: Literal["space", "gate", "wanted volume"]


def _passes(box: Space, gate: Gate) -> bool:
    return bool(box_passes(box.w_mm, box.h_mm, max(box.d_mm, box.d_top_mm), gate.w_mm, gate.h_mm))


def _trimmed(space: Space, limits: dict[str, float]) -> Space | None:
    """The space's own shape with some edges no longer than these."""
    w = min(space.w_mm, limits.get("w", space.w_mm))
    h = min(space.h_mm, limits.get("h", space.h_mm))
    d = min(space.d_mm, limits.get("d", space.d_mm))
    at_top = depth_at_mm(space, h)
    return None if at_top is None else Space(w, h, d, min(at_top, limits.get("d", at_top)))


@formula(source=COMMON_PRACTICE, valid=_VALID)
def largest_outer(space: Space, gate: Gate, clearance_mm: float | None = 0.0) -> Space | None:
    """The largest box that fills a space and passes its tailgate.

    Parameters
    ----------
    space
        The space available for it.
    gate
        The tailgate.
    clearance_mm
        Air at both sides, above, in front, and all around in the tailgate, mm.

    Returns
    -------
    Outer sizes. A box too large for the tailgate is shortened on the two edges that cost the least volume.

    Examples
    --------
    >>> largest_outer(Space(1000, 400, 500, 300), Gate(900, 380))
    Space(w_mm=1000.0, h_mm=380.0, d_mm=500.0, d_top_mm=310.0)
    """
    air, sizes = not_negative(clearance_mm), positive(space.w_mm, space.h_mm, space.d_mm, space.d_top_mm)
    if air is None or sizes is None:
        return None
    w, h, d, _ = sizes
    # Shifted by the clearance, the box has the slope of the space.
    at_top = depth_at_mm(space, h - air[0]) if h > air[0] else None
    way_in = positive(gate.w_mm - 2 * air[0], gate.h_mm - 2 * air[0])
    room = None if at_top is None else positive(w - 2 * air[0], h - air[0], d - air[0], at_top - air[0])
    if room is None or way_in is None:
        return None
    full = Space(*room)
    if _passes(full, Gate(*way_in)):
        return full
    trimmed = (_trimmed(full, dict(zip(pair, way_in, strict=True))) for pair in permutations("whd", 2))
    going_in = [box for box in trimmed if box is not None and _passes(box, Gate(*way_in))]
    return max(going_in, key=lambda box: outer_volume_l(box) or 0.0, default=None)


def _narrowed(outer: Space, boards: Boards, contents: Contents, wanted_l: float) -> Space | None:
    """Return the box narrowed to exactly the required volume."""
    inner = inner_volume_l(outer, boards.board_mm)
    bracing = bracing_l(outer, boards.board_mm, boards.braces)
    if inner is None or bracing is None:
        return None
    per_mm = inner / (outer.w_mm - 2 * boards.board_mm)
    needed = wanted_l + contents.drivers_l + contents.port_l + bracing
    return replace(outer, w_mm=2 * boards.board_mm + needed / per_mm)


def _built(
    outer: Space, boards: Boards, contents: Contents, ruled_by: Literal["space", "gate", "wanted volume"]
) -> MadeBox | None:
    net = net_volume_l(
        outer,
        boards.board_mm,
        drivers_l=contents.drivers_l,
        port_l=contents.port_l,
        braces=boards.braces,
    )
    mass = box_mass_kg(
        outer,
        boards.board_mm,
        boards.density_kg_m3,
        braces=boards.braces,
        drivers_kg=contents.drivers_kg,
    )
    panels = cut_list(outer, boards.board_mm)
    if net is None or mass is None or panels is None:
        return None
    return MadeBox(outer, net, mass, panels, ruled_by)


@formula(source=COMMON_PRACTICE, valid=_VALID)
def made_to_measure(
    space: Space,
    gate: Gate,
    boards: Boards,
    contents: Contents = Contents(),
    *,
    wanted_net_l: float | None = None,
    clearance_mm: float | None = 0.0,
) -> MadeBox | None:
    """A box that fills a space, or one just wide enough for a required net volume.

    Parameters
    ----------
    space, gate
        The space available for it, and the tailgate.
    boards, contents
        Its boards and its contents.
    wanted_net_l
        Net volume of the whole box, L; by default the largest possible. If the space is too small, the largest box is
        returned, and its net volume shows the deficit.
    clearance_mm
        As for the largest box.

    Returns
    -------
    Outer sizes, net volume, mass, panels, and the constraint on the size.

    Examples
    --------
    >>> box = made_to_measure(Space(1000, 400, 500, 300), Gate(900, 380), Boards(18, 769), wanted_net_l=60)
    >>> box.ruled_by, box.outer.w_mm, box.net_l, box.mass_kg
    ('wanted volume', 511.4, 60.0, 14.39)
    """
    largest = largest_outer(space, gate, clearance_mm)
    if largest is None:
        return None
    whole = largest_outer(space, Gate(1e9, 1e9), clearance_mm)
    built = _built(largest, boards, contents, "space" if largest == whole else "gate")
    if built is None or wanted_net_l is None or built.net_l <= wanted_net_l:
        return built
    narrowed = None if positive(wanted_net_l) is None else _narrowed(largest, boards, contents, wanted_net_l)
    return None if narrowed is None else _built(narrowed, boards, contents, "wanted volume")
