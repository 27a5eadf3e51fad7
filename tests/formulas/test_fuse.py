"""Fuses against ISO 8820 and the boat rules of 33 CFR 183.455."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matcher.formulas.cable import ampacity_a
from matcher.formulas.fuse import (
    OpeningTime,
    blade_color,
    drain_by_fuse_ma,
    farthest_fuse_mm,
    fuse_for,
    fuse_limit_a,
    largest_fuse_a,
    opening_time,
    overload_margin_a,
    standard_fuses_a,
)


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
    # 33 CFR 183.455(c)(1): 150 % of 15 A is 22.5 A, so 20 A; strictly 15 A.
    ampacity = ampacity_a(16, 75)
    assert fuse_limit_a(ampacity, strict=False) == 22.5
    assert largest_fuse_a(ampacity, strict=False) == 20
    assert largest_fuse_a(ampacity) == 15


@pytest.mark.parametrize(
    ("demand", "ampacity", "strict", "rating"),
    [
        (48, 80, True, 50),
        (50, 80, True, 50),  # exactly the rating
        (50.1, 80, True, 60),
        (41, 41, True, None),  # nothing between 40 and 50
        (41, 41, False, 50),
        (60, 60, True, 60),  # exactly both
        (600, 900, True, None),
    ],
)
def test_fuse_between_demand_and_conductor(demand: float, ampacity: float, strict: bool, rating: float | None) -> None:
    choice = fuse_for(demand, ampacity, strict=strict)
    assert choice is not None
    assert choice.rating_a == rating
    assert choice.color == blade_color(rating)


@given(st.floats(0.1, 600), st.floats(0.1, 600), st.booleans())
def test_a_chosen_fuse_carries_the_demand_and_protects_the_conductor(
    demand: float, ampacity: float, strict: bool
) -> None:
    choice = fuse_for(demand, ampacity, strict=strict)
    assert choice is not None
    if choice.rating_a is None:
        assert not any(demand <= rating <= choice.limit_a for rating in standard_fuses_a())
    else:
        assert demand <= choice.rating_a <= choice.limit_a


def test_place_of_the_fuse() -> None:
    # 33 CFR 183.455(b): 7 in along the conductor, 40 in if sheathed.
    assert farthest_fuse_mm() == pytest.approx(177.8)
    assert farthest_fuse_mm(sheathed=True) == pytest.approx(1016)


@pytest.mark.parametrize(
    ("load", "shortest", "longest"),
    [
        (100, 360_000, None),  # ISO 8820-3: holds 100 h at 110 %
        (110, 360_000, None),
        (120, 0.75, None),
        (135, 0.75, 600),  # ISO 8820-3
        (150, 0.25, 600),  # between two points: the bounds of both
        (200, 0.15, 5),  # ISO 8820-3 type C, from memory, here and below
        (600, 0, 0.1),
        (900, 0, 0.1),
    ],
)
def test_time_to_open(load: float, shortest: float, longest: float | None) -> None:
    assert opening_time(load) == OpeningTime(shortest, longest)


@given(st.floats(0, 1000), st.floats(0, 1000))
def test_more_current_never_opens_a_fuse_later(one: float, other: float) -> None:
    less, more = opening_time(min(one, other)), opening_time(max(one, other))
    assert less is not None
    assert more is not None
    assert less.shortest_s >= more.shortest_s
    if less.longest_s is not None:
        assert more.longest_s is not None
        assert less.longest_s >= more.longest_s


def test_drain_by_the_drop_across_a_fuse() -> None:
    # A worked example: 2.4 mV across a 10 A fuse are 312 mA.
    assert drain_by_fuse_ma(2.4, 10) == pytest.approx(312, abs=0.5)


@pytest.mark.parametrize(("rating", "rated_mv"), [(1, 176), (2, 141), (4, 136), (10, 109)])
def test_a_fuse_at_its_rating_is_warmer_than_cold(rating: float, rated_mv: float) -> None:
    # The same data sheet's drop at rated current: a warm fuse has more resistance, so reading it as
    # if cold gives too much current.
    assert 1.0 < (drain_by_fuse_ma(rated_mv, rating) or 0) / (1000 * rating) < 1.5


@pytest.mark.parametrize(("opens", "ampacity", "margin"), [(29, 20, 0.0), (27, 20, 2.0), (32, 20, -3.0)])
def test_overload_coordination(opens: float, ampacity: float, margin: float) -> None:
    assert overload_margin_a(opens, ampacity) == pytest.approx(margin, abs=1e-9)


@pytest.mark.parametrize(
    "answer",
    [
        *[blade_color(None), blade_color(6), blade_color(150), fuse_limit_a(-1), largest_fuse_a(0.9)],
        *[largest_fuse_a(None), fuse_for(None, 80), fuse_for(10, None), opening_time(None), opening_time(-1)],
        *[drain_by_fuse_ma(1, 20), drain_by_fuse_ma(None, 10), overload_margin_a(None, 20)],
    ],
)
def test_outside_its_range_nothing_is_known(answer: object) -> None:
    assert answer is None
