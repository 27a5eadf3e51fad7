"""The guards that make an answer unknown."""

from __future__ import annotations

import math

import pytest

from matcher.formulas.known import LARGEST, SMALLEST, not_negative, positive, whole, within


@pytest.mark.parametrize(
    ("figure", "known"),
    [(0, 0.0), (10, 10.0), (5, 5.0), (-0.001, None), (10.001, None), (None, None), (math.nan, None)],
)
def test_within_includes_both_ends(figure: float | None, known: float | None) -> None:
    assert within(figure, 0, 10) == known


@pytest.mark.parametrize("rough", [None, math.nan, math.inf, -1.0, LARGEST * 2, 10**400])
def test_one_rough_figure_makes_all_unknown(rough: float | None) -> None:
    assert positive(1.0, rough, 2.0) is None
    assert not_negative(1.0, rough, 2.0) is None


def test_zero_is_not_negative_but_not_positive() -> None:
    assert not_negative(0.0, LARGEST) == (0.0, LARGEST)
    assert positive(0.0) is None
    assert positive(SMALLEST, LARGEST) == (SMALLEST, LARGEST)


@pytest.mark.parametrize(
    ("figure", "known"), [(1, 1), (4.0, 4), (2.5, None), (0, None), (5, None), (None, None), (math.nan, None)]
)
def test_whole_numbers(figure: float | None, known: int | None) -> None:
    assert whole(figure, 1, 4) == known
