"""Exact numbers in arrays: products and roundings that neither drift nor overflow."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import numpy as np
import pytest

from matcher.kernel.exact import MICRO, divided, from_micro, product, rounded, scaled, to_micro


@pytest.mark.parametrize("number", ["0", "1.5", "-1.5", "999999999.999999", "0.000001", "30"])
def test_number_comes_back_as_it_was(number: str) -> None:
    assert str(from_micro(to_micro(Decimal(number)))) == number


@pytest.mark.parametrize(("value", "by", "expected"), [(5, 2, 3), (-5, 2, -3), (4, 3, 1), (-4, 3, -1), (0, 7, 0)])
def test_halves_go_away_from_zero(value: int, by: int, expected: int) -> None:
    assert divided(np.array([value]), by).tolist() == [expected]


@pytest.mark.parametrize("number", ["1", "-3.3", "999999999.999999", "0.000001", "117.25"])
@pytest.mark.parametrize("factor", ["0.707106781", "0.5", "-1", "1.5", "0.75", "100"])
def test_scaling_is_exact_up_to_the_greatest_number_of_the_store(number: str, factor: str) -> None:
    found = scaled(np.array([to_micro(Decimal(number))]), Decimal(factor)).tolist()
    exact = Decimal(number) * MICRO * Decimal(factor)
    assert found == [int(exact.to_integral_value(ROUND_HALF_UP))]


PAIRS = [("165.5", "2"), ("999999.999999", "999.5"), ("-0.1", "0.00001"), ("70", "0")]


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_product_of_two_columns_is_exact(one: str, other: str) -> None:
    found, known = product(*(np.array([to_micro(Decimal(each))]) for each in (one, other)))
    exact = Decimal(one) * Decimal(other) * MICRO
    assert (found.tolist(), np.asarray(known).tolist()) == ([int(exact.to_integral_value(ROUND_HALF_UP))], [True])


def test_product_beyond_what_the_store_holds_is_not_known() -> None:
    _, known = product(np.array([to_micro(10**8)]), np.array([to_micro(11)]))
    assert np.asarray(known).tolist() == [False]


def test_a_value_that_is_no_number_is_unknown() -> None:
    values, known = rounded(np.array([1.5, np.nan, np.inf, -0.0000005]))
    assert np.asarray(known).tolist() == [True, False, False, True]
    assert values[np.asarray(known)].tolist() == [1_500_000, -1]
