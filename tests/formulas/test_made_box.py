"""A box made to measure against its own polygon, its boards, and a worked mass."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from matcher.formulas.cargo import Space, depth_at_mm
from matcher.formulas.fitted_box import Boards, Contents, Gate, MadeBox, largest_outer, made_to_measure
from matcher.formulas.geometry import box_passes
from matcher.formulas.made_box import box_mass_kg, bracing_l, cut_list, inner_volume_l, net_volume_l, outer_volume_l

PLAIN = Space(400, 350, 300, 300)
SLOPED = Space(900, 380, 450, 300)
sloped_boxes = st.builds(Space, st.floats(200, 1200), st.floats(150, 600), st.floats(200, 700), st.floats(200, 700))
gates = st.builds(Gate, st.floats(200, 1300), st.floats(200, 900))


def polygon_l(box: Space, board: float) -> float:
    """Volume inside by the corners of the profile: four boards as half planes, shoelace for the area."""
    slope = np.array([box.d_top_mm - box.d_mm, box.h_mm])
    normal = np.array([slope[1], -slope[0]]) / np.linalg.norm(slope)
    back = normal @ np.array([box.d_mm, 0.0]) - board
    lines = [((0, 1), board), (normal, back), ((0, 1), box.h_mm - board), ((1, 0), board)]
    corners = [
        np.linalg.solve(np.array([one[0], other[0]]), np.array([one[1], other[1]]))
        for one, other in zip(lines, lines[1:] + lines[:1], strict=True)
    ]
    x, y = np.array(corners).T
    area = 0.5 * abs(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    return float(area * (box.w_mm - 2 * board) / 1e6)


def boards_l(box: Space, board: float) -> float:
    """Volume of all panels by the cut list, the bevels taken off."""
    panels = cut_list(box, board)
    assert panels is not None
    total = 0.0
    for panel in panels:
        width = panel.width_mm if panel.width_top_mm is None else (panel.width_mm + panel.width_top_mm) / 2
        if panel.name in ("bottom", "top"):
            width -= board * abs(math.tan(math.radians(panel.bevel_deg))) / 2
        total += panel.count * panel.length_mm * width * board
    return total / 1e6


def test_box_of_769_kg_m3_board() -> None:
    # By hand: 400 x 350 x 300 in 18 mm: 11.826 L of board, 9.09 kg at 769 kg/m3, 30.17 L inside.
    assert inner_volume_l(PLAIN, 18) == pytest.approx(30.17, abs=5e-3)
    assert (outer_volume_l(PLAIN) or 0) - (inner_volume_l(PLAIN, 18) or 0) == pytest.approx(11.826, abs=5e-4)
    assert box_mass_kg(PLAIN, 18, 769) == pytest.approx(9.09, abs=5e-3)


@given(sloped_boxes, st.floats(9, 25))
def test_volume_inside_agrees_with_the_polygon(box: Space, board: float) -> None:
    inner = inner_volume_l(box, board)
    assume(inner is not None)
    assert inner == pytest.approx(polygon_l(box, board), rel=1e-9)


@given(sloped_boxes, st.floats(9, 25))
def test_the_panels_are_what_the_volumes_leave(box: Space, board: float) -> None:
    inner, outer = inner_volume_l(box, board), outer_volume_l(box)
    assume(inner is not None)
    assert boards_l(box, board) == pytest.approx((outer or 0) - (inner or 0), rel=1e-9)


def test_cut_list_of_a_sloped_box() -> None:
    # Slope 150 in 380 is 21.54 degrees: the back is hypot(380, 150) = 408.5 long and takes
    # 18 / cos = 19.35 along the floor, so the bottom is 450 - 18 - 19.35 = 412.65 at its lower face; the
    # top is 300 - 37.35 = 262.65 at its upper face and 18 x tan = 7.11 more at its lower one.
    panels = cut_list(SLOPED, 18)
    assert panels is not None
    sizes = {panel.name: (panel.count, panel.length_mm, panel.width_mm) for panel in panels}
    assert sizes["end"] == (2, 380, 450)
    assert sizes["front"] == (1, 864, 380)
    assert sizes["back"] == pytest.approx((1, 864, 408.5), abs=0.05)
    assert sizes["bottom"] == pytest.approx((1, 864, 412.65), abs=0.01)
    assert sizes["top"] == pytest.approx((1, 864, 269.75), abs=0.01)
    assert panels[0].width_top_mm == 300
    assert [panel.bevel_deg for panel in panels] == pytest.approx([0, 0, 21.54, 21.54, 21.54], abs=5e-3)


def test_braces_and_contents_are_taken_off() -> None:
    # A brace across 314 x 264 in 18 mm, half cut away, is 0.746 L.
    assert bracing_l(PLAIN, 18, 2) == pytest.approx(2 * 0.746, abs=1e-3)
    assert bracing_l(PLAIN, 18, 1, cut_away=0) == pytest.approx(1.492, abs=1e-3)
    net = net_volume_l(PLAIN, 18, drivers_l=2.5, port_l=1.0, braces=2)
    assert net == pytest.approx(30.174 - 3.5 - 1.492, abs=1e-3)
    assert box_mass_kg(PLAIN, 18, 769, braces=2, drivers_kg=5) == pytest.approx(9.094 + 1.148 + 5, abs=2e-3)


def test_the_largest_box_fills_the_space() -> None:
    space = Space(1000, 400, 500, 300)
    assert largest_outer(space, Gate(1100, 600)) == space
    # 10 at each side, over the top and in front: at 390 the space is 305 deep.
    assert largest_outer(space, Gate(1100, 600), clearance_mm=10) == Space(980, 390, 490, 295)


def test_a_gate_takes_from_the_edge_that_costs_least() -> None:
    space = Space(1000, 400, 500, 500)
    # Sideways through 900 x 380 the 400 has to lose 20; lying down likewise.
    assert largest_outer(space, Gate(900, 380)) == Space(1000, 380, 500, 500)
    # A gate of 380 x 380: the two shorter edges lose 20 and 120.
    assert largest_outer(space, Gate(380, 380)) == Space(1000, 380, 380, 380)


@given(sloped_boxes, gates, st.floats(0, 20))
def test_the_largest_box_stands_in_the_space_and_goes_through_the_gate(space: Space, gate: Gate, air: float) -> None:
    box = largest_outer(space, gate, air)
    assert box is not None
    assert box.w_mm <= space.w_mm - 2 * air + 1e-6
    assert box.h_mm <= space.h_mm - air + 1e-6
    assert box.d_mm <= space.d_mm - air + 1e-6
    assert box.d_top_mm <= (depth_at_mm(space, box.h_mm) or 0) - air + 1e-6
    assert box_passes(box.w_mm, box.h_mm, max(box.d_mm, box.d_top_mm), gate.w_mm, gate.h_mm)


@pytest.mark.parametrize(
    ("gate", "wanted", "ruled_by"),
    [
        (Gate(1100, 600), None, "space"),
        (Gate(900, 380), None, "gate"),
        (Gate(900, 380), 60.0, "wanted volume"),
        (Gate(1100, 600), 500.0, "space"),  # more than there is: the largest, and short of it
    ],
)
def test_the_limit_that_sets_the_size_of_a_box(gate: Gate, wanted: float | None, ruled_by: str) -> None:
    contents = Contents(drivers_l=5, drivers_kg=10)
    box = made_to_measure(Space(1000, 400, 500, 300), gate, Boards(18, 769, braces=1), contents, wanted_net_l=wanted)
    assert isinstance(box, MadeBox)
    assert box.ruled_by == ruled_by
    assert box.net_l == pytest.approx(net_volume_l(box.outer, 18, drivers_l=5, braces=1))
    assert box.mass_kg == pytest.approx(box_mass_kg(box.outer, 18, 769, braces=1, drivers_kg=10))
    assert box.panels == cut_list(box.outer, 18)
    if ruled_by == "wanted volume":
        assert box.net_l == pytest.approx(wanted)


@given(sloped_boxes, st.floats(5, 200), st.floats(0, 3), st.integers(0, 3))
def test_a_wanted_volume_is_met_wherever_there_is_room(
    space: Space, wanted: float, drivers: float, braces: int
) -> None:
    boards, contents = Boards(18, 750, braces), Contents(drivers_l=drivers)
    largest = made_to_measure(space, Gate(2000, 2000), boards, contents)
    box = made_to_measure(space, Gate(2000, 2000), boards, contents, wanted_net_l=wanted)
    assume(largest is not None)
    assert largest is not None
    assert box is not None
    assert box.net_l == pytest.approx(min(wanted, largest.net_l))


@pytest.mark.parametrize(
    "answer",
    [
        outer_volume_l(Space(1, 1, 0, 1)),
        inner_volume_l(PLAIN, None),
        inner_volume_l(PLAIN, 150),
        inner_volume_l(Space(400, 200, 600, 100), 18),  # the back would lie flatter than 60 degrees
        bracing_l(PLAIN, 18, 9),
        bracing_l(PLAIN, 18, 1, cut_away=1.5),
        net_volume_l(PLAIN, 18, drivers_l=40),
        net_volume_l(PLAIN, 18, drivers_l=None),
        cut_list(PLAIN, 0),
        box_mass_kg(PLAIN, 18, None),
        largest_outer(PLAIN, Gate(1000, 1000), None),
        largest_outer(PLAIN, Gate(1000, 1000), 200),
        largest_outer(PLAIN, Gate(0, 1000)),
        made_to_measure(PLAIN, Gate(30, 30), Boards(18, 769)),
        made_to_measure(PLAIN, Gate(1000, 1000), Boards(18, 769), Contents(drivers_l=40)),
        made_to_measure(PLAIN, Gate(1000, 1000), Boards(18, 769), wanted_net_l=-1),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
