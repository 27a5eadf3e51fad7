"""A cargo space with a sloped back: its depth by height, and the space left above a false floor."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.cargo import Space, depth_at_mm, space_left

# Sloped inward, upright, and leaning out over the space.
CARGO = Space(1000, 400, 500, 300)
lengths = st.integers(50, 1200).map(float)
spaces = st.builds(Space, lengths, lengths, lengths, lengths)


@pytest.mark.parametrize(("height", "depth"), [(0, 500), (100, 450), (400, 300)])
def test_depth_at_a_height(height: float, depth: float) -> None:
    assert depth_at_mm(CARGO, height) == pytest.approx(depth)


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


@pytest.mark.parametrize(
    "answer",
    [
        depth_at_mm(CARGO, None),
        depth_at_mm(CARGO, 401),
        depth_at_mm(Space(1, 0, 1, 1), 0),
        space_left(CARGO, floor_loss_mm=400),
        space_left(CARGO, beside_mm=1000),
        space_left(CARGO, floor_loss_mm=None),
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
