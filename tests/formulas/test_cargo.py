"""Boxes in a space with a sloped back, against profiles sampled height by height."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.cargo import (
    BoxClearances,
    Space,
    best_standing,
    box_stands,
    depth_at_mm,
    space_left,
    two_boxes_stand,
)

# Sloped inward, upright, and leaning out over the space.
CARGO = Space(1000, 400, 500, 300)
lengths = st.integers(50, 1200).map(float)
spaces = st.builds(Space, lengths, lengths, lengths, lengths)


def upright(w: float, h: float, d: float) -> Space:
    return Space(w, h, d, d)


plain = st.builds(upright, lengths, lengths, lengths)


def depths(shape: Space, heights: np.ndarray) -> np.ndarray:
    """Depth of a shape at heights; nothing over its top."""
    inside: np.ndarray = shape.d_mm + (shape.d_top_mm - shape.d_mm) * heights / shape.h_mm
    return np.where(heights <= shape.h_mm, inside, 0.0)


def stands_by_profile(box: Space, space: Space) -> bool:
    """Whether a box stands in a space, looked at height by height."""
    heights = np.linspace(0, box.h_mm, 401)
    deep_enough = (depths(box, heights) <= depths(space, heights) + 1e-9).all()
    return bool(box.w_mm <= space.w_mm and box.h_mm <= space.h_mm and deep_enough)


@pytest.mark.parametrize(("height", "depth"), [(0, 500), (100, 450), (400, 300)])
def test_depth_at_a_height(height: float, depth: float) -> None:
    assert depth_at_mm(CARGO, height) == pytest.approx(depth)


@pytest.mark.parametrize(
    ("box", "left"),
    [
        (Space(600, 300, 350, 350), BoxClearances(400, 100, 0)),  # just touches the slope at its top
        (Space(600, 300, 360, 360), BoxClearances(400, 100, -10)),
        (Space(1000, 400, 500, 300), BoxClearances(0, 0, 0)),  # fills it
        (Space(600, 400, 500, 280), BoxClearances(400, 0, 0)),  # touches at the floor
        (Space(1100, 450, 200, 200), BoxClearances(-100, -50, 100)),
    ],
)
def test_what_is_left_around_a_box(box: Space, left: BoxClearances) -> None:
    assert box_stands(box, CARGO) == left


@given(spaces, spaces)
def test_standing_agrees_with_the_profile(box: Space, space: Space) -> None:
    found = box_stands(box, space)
    assert found is not None
    if abs(found.least_mm) > 1e-6:
        assert (found.least_mm > 0) is stands_by_profile(box, space)


@given(plain, spaces)
def test_a_plain_box_may_be_put_on_any_side(box: Space, space: Space) -> None:
    turned = [Space(w, h, d, d) for w, h, d in permutations((box.w_mm, box.h_mm, box.d_mm))]
    found = best_standing(box, space)
    assert found is not None
    way, left = found
    assert box_stands(way, space) == left
    if abs(left.least_mm) > 1e-6:
        assert (left.least_mm > 0) is any(stands_by_profile(each, space) for each in turned)


def test_a_sloped_box_stays_on_its_floor() -> None:
    box = Space(300, 600, 350, 250)
    found = best_standing(box, CARGO)
    assert found is not None
    assert found[0] == box
    assert found[1].height_mm == -200


@given(spaces, spaces, st.floats(0, 300), st.floats(0, 300))
def test_a_larger_space_never_shuts_a_box_out(box: Space, space: Space, wider: float, deeper: float) -> None:
    larger = Space(space.w_mm + wider, space.h_mm, space.d_mm + deeper, space.d_top_mm + deeper)
    before, after = box_stands(box, space), box_stands(box, larger)
    assert before is not None
    assert after is not None
    assert after.least_mm >= before.least_mm - 1e-9


def test_a_false_floor_takes_height_and_the_depth_below_it() -> None:
    # 100 up the slope of 200 in 400 the depth is 450.
    assert space_left(CARGO, floor_loss_mm=100, beside_mm=150) == Space(850, 300, 450, 300)
    assert space_left(CARGO) == CARGO


@given(spaces, st.floats(0, 1))
def test_over_a_false_floor_stands_what_stood_on_a_pedestal(space: Space, share: float) -> None:
    loss = share * space.h_mm * 0.9
    left = space_left(space, floor_loss_mm=loss)
    assert left is not None
    for height in (0.0, left.h_mm / 2, left.h_mm):
        assert depth_at_mm(left, height) == pytest.approx(depth_at_mm(space, min(height + loss, space.h_mm)))


def stand_by_profiles(one: Space, other: Space, space: Space) -> bool:
    """Whether two boxes stand together in some layout, all edges along the space's."""
    for first, second in ((one, other), (other, one)):
        both = stands_by_profile(first, space) and stands_by_profile(second, space)
        if both and first.w_mm + second.w_mm <= space.w_mm:
            return True
        heights = np.linspace(0, min(first.h_mm, second.h_mm), 401)
        at_back = np.linspace(0, first.h_mm, 401)
        if both and first.h_mm <= space.h_mm:
            front_edge = (depths(space, at_back) - depths(first, at_back)).min()
            if (depths(second, heights) <= front_edge).all():
                return True
        if first.h_mm + second.h_mm <= space.h_mm and stands_by_profile(first, space):
            above = np.linspace(0, second.h_mm, 401)
            deep = depths(second, above) <= depths(space, above + first.h_mm) + 1e-9
            if second.w_mm <= space.w_mm and deep.all():
                return True
    return False


@given(spaces, spaces, spaces)
def test_two_sloped_boxes_agree_with_their_profiles(one: Space, other: Space, space: Space) -> None:
    if one.d_mm == one.d_top_mm or other.d_mm == other.d_top_mm:
        return
    found = two_boxes_stand(one, other, space)
    assert found is not None
    if abs(found.least_mm) > 1e-6:
        assert (found.least_mm > 0) is stand_by_profiles(one, other, space)


@given(plain, plain, spaces)
def test_two_plain_boxes_agree_with_every_way_tried(one: Space, other: Space, space: Space) -> None:
    found = two_boxes_stand(one, other, space)
    assert found is not None
    if abs(found.least_mm) > 1e-6:
        ways = product(permutations((one.w_mm, one.h_mm, one.d_mm)), permutations((other.w_mm, other.h_mm, other.d_mm)))
        stand = any(stand_by_profiles(upright(*first), upright(*second), space) for first, second in ways)
        assert (found.least_mm > 0) is stand


@pytest.mark.parametrize(
    ("one", "other", "space", "layout", "left"),
    [
        ((600, 350, 300), (600, 350, 300), (1000, 400, 620), "side by side", 20),
        ((900, 190, 480), (900, 200, 480), (920, 400, 500), "stacked", 10),
        ((900, 380, 240), (900, 380, 240), (920, 400, 500), "one behind the other", 20),
    ],
)
def test_layouts_of_two_boxes(
    one: tuple[float, float, float],
    other: tuple[float, float, float],
    space: tuple[float, float, float],
    layout: str,
    left: float,
) -> None:
    first, second, around = (Space(w, h, d, d) for w, h, d in (one, other, space))
    found = two_boxes_stand(first, second, around)
    assert found is not None
    assert (found.layout, found.least_mm) == (layout, left)


def test_a_box_that_leans_out_at_its_top_needs_that_room_behind_another() -> None:
    found = two_boxes_stand(upright(900, 380, 240), Space(900, 380, 200, 250), upright(920, 400, 500))
    assert found is not None
    assert (found.layout, found.least_mm) == ("one behind the other", 10)


@pytest.mark.parametrize(
    "answer",
    [
        depth_at_mm(CARGO, None),
        depth_at_mm(CARGO, 401),
        depth_at_mm(Space(1, 0, 1, 1), 0),
        space_left(CARGO, floor_loss_mm=400),
        space_left(CARGO, beside_mm=1000),
        space_left(CARGO, floor_loss_mm=None),
        box_stands(Space(0, 1, 1, 1), CARGO),
        best_standing(Space(-1, 1, 1, 1), CARGO),
        two_boxes_stand(CARGO, Space(1, 1, 0, 0), CARGO),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
