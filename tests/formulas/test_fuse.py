"""Fuses against ISO 8820 and the boat rules of 33 CFR 183.455."""

from __future__ import annotations

import pytest

from matcher.formulas.cable import ampacity_a
from matcher.formulas.fuse import blade_color, farthest_fuse_mm, largest_fuse_a, standard_fuses_a


@pytest.mark.parametrize(
    ("rating", "color"),
    # ISO 8820-3, DIN 72581-3, SAE J1284; the last two rows SAE J1888.
    [
        *[(3, "violet"), (5, "tan"), (7.5, "brown"), (10, "red"), (15, "blue"), (20, "yellow")],
        *[(25, "clear"), (30, "green"), (40, "orange"), (60, "blue"), (100, "violet")],
    ],
)
def test_blade_colors(rating: float, color: str) -> None:
    assert blade_color(rating) == color


def test_no_color_is_used_twice_among_blades_of_one_size() -> None:
    small = [blade_color(rating) for rating in standard_fuses_a() if rating <= 40]
    large = [blade_color(rating) for rating in standard_fuses_a() if 40 < rating <= 100]
    assert len(set(small)) == len(small) == 13
    assert len(set(large)) == len(large) == 5


def test_the_series_runs_upward_from_1_to_500_a() -> None:
    # ISO 8820-3 up to 100 A, ISO 8820-5 up to 500 A.
    ratings = standard_fuses_a()
    assert list(ratings) == sorted(set(ratings))
    assert (ratings[0], ratings[-1]) == (1, 500)


def test_16_awg_at_75_c() -> None:
    # 33 CFR 183.425 Table 5 gives 15 A, and 46 CFR 183.380(d) a fuse of no more.
    assert largest_fuse_a(ampacity_a(16, 75)) == 15


def test_place_of_the_fuse() -> None:
    # 33 CFR 183.455(b): 7 in along the conductor.
    assert farthest_fuse_mm() == pytest.approx(177.8)


@pytest.mark.parametrize(
    "answer",
    [
        *[blade_color(None), blade_color(6), blade_color(150), largest_fuse_a(-1), largest_fuse_a(0.9)],
        *[largest_fuse_a(None)],
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
