"""Exact numbers in arrays: micro-units in int64, rounded half away from zero like the store's decimals.

The store's numbers are DECIMAL(15,6) below 10^9, so a value is below 10^15 micro-units and thousands of them can be
summed. Products are computed in parts, so that no step exceeds the 9.2 x 10^18 of int64.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64] | np.int64
Mask = NDArray[np.bool_] | bool
"""A truth value per row, or one for all rows."""

MICRO = 10**6
ROOMY = 2**62
"""Products up to this are computed at once."""
GREATEST = 10**15
"""Upper limit of the store's values; a computed value beyond it is unknown."""


def to_micro(number: Decimal | int) -> int:
    """Convert a number to micro-units.

    >>> to_micro(Decimal("1.5")), to_micro(Decimal("-0.0000005"))
    (1500000, -1)
    """
    return int((Decimal(number) * MICRO).to_integral_value(ROUND_HALF_UP))


@lru_cache(maxsize=1 << 14)
def from_micro(number: int) -> Decimal:
    """Convert micro-units to a number without trailing zeros or exponent.

    >>> from_micro(1500000), from_micro(30000000)
    (Decimal('1.5'), Decimal('30'))
    """
    return plain(Decimal(int(number)) / MICRO)


def plain(number: Decimal) -> Decimal:
    """Return a number without trailing zeros or exponent."""
    number = number.normalize()
    return number.quantize(Decimal(1)) if number == number.to_integral_value() else number


def divided(values: Integers, by: int) -> Any:
    """Divide values by a positive number, rounding half away from zero."""
    found = (np.abs(values) + by // 2) // by
    return np.where(values >= 0, found, -found)


def scaled(values: Any, factor: Decimal) -> Any:
    """Multiply values by a number of at most nine decimals, exactly, then round."""
    times, by = factor.as_integer_ratio()
    if by == 1:
        return values * times
    size = np.abs(values)
    if int(size.max(initial=0)) <= ROOMY // abs(times or 1):
        return divided(values * times, by)
    whole, rest = np.divmod(size, by)
    return np.sign(values) * (whole * times + divided(rest * times, by))


def product(first: Any, second: Any) -> tuple[Any, Mask]:
    """Multiply two arrays of micro-units; the mask marks the rows without overflow."""
    sign, one, other = np.sign(first) * np.sign(second), np.abs(first), np.abs(second)
    known = one.astype(float) * other < float(GREATEST) * MICRO
    one, other = np.where(known, one, 0), np.where(known, other, 0)
    (high, low), (up, down) = np.divmod(one, MICRO), np.divmod(other, MICRO)
    return sign * (high * other + low * up + divided(low * down, MICRO)), known


def rounded(values: Any) -> tuple[Any, Mask]:
    """Convert floats to micro-units; the mask marks the rows without overflow."""
    micro = values * MICRO
    known = np.abs(micro) < GREATEST  # False for NaN, too
    micro = np.where(known, micro, 0.0)
    return np.trunc(micro + np.copysign(0.5, micro)).astype(np.int64), known


def floating(values: Any) -> Any:
    """Convert micro-units to floats."""
    return np.asarray(values, dtype=np.float64) / MICRO


def both(first: Mask, second: Mask) -> Mask:
    """Return the mask of rows in which both hold."""
    if first is True or second is False:
        return second
    if second is True or first is False:
        return first
    return first & second


def either(first: Mask, second: Mask) -> Mask:
    """Return the mask of rows in which at least one holds."""
    if first is False or second is True:
        return second
    if second is False or first is True:
        return first
    return first | second


def opposite(mask: Mask) -> Mask:
    """Return the inverse of a mask."""
    return (not mask) if isinstance(mask, bool) else ~mask
