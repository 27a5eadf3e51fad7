"""Argument checks of the formulas: an unknown figure, or one out of range, makes the answer unknown.

Formulas take plain numbers or None and answer None rather than raise. The bounds here lie far
outside anything a vehicle holds; they keep powers and quotients within what a float can carry.
"""

from __future__ import annotations

SMALLEST = 1e-12
LARGEST = 1e12


def within(figure: float | None, low: float, high: float) -> float | None:
    """The figure as a float if it is known and low <= figure <= high, else None.

    Examples
    --------
    >>> within(3, 0, 10)
    3.0
    >>> within(float("nan"), 0, 10), within(None, 0, 10)
    (None, None)
    """
    if figure is None or not low <= figure <= high or (figure > LARGEST and isinstance(figure, int)):
        return None
    return float(figure)


def _all_within(figures: tuple[float | None, ...], low: float) -> tuple[float, ...] | None:
    known = tuple(float(figure) for figure in figures if figure is not None and low <= figure <= LARGEST)
    return known if len(known) == len(figures) else None


def positive(*figures: float | None) -> tuple[float, ...] | None:
    """All the figures as floats if every one is known, positive and of sensible size, else None.

    Examples
    --------
    >>> positive(1, 2.5)
    (1.0, 2.5)
    >>> positive(1, 0) is None
    True
    """
    return _all_within(figures, SMALLEST)


def not_negative(*figures: float | None) -> tuple[float, ...] | None:
    """All the figures as floats if every one is known, zero or more and of sensible size, else None.

    Examples
    --------
    >>> not_negative(0, 2)
    (0.0, 2.0)
    >>> not_negative(0, -1) is None
    True
    """
    return _all_within(figures, 0.0)


def whole(figure: float | None, low: int, high: int) -> int | None:
    """The figure as an integer if it is a known whole number and low <= figure <= high, else None.

    Examples
    --------
    >>> whole(2.0, 1, 4), whole(2.5, 1, 4), whole(5, 1, 4)
    (2, None, None)
    """
    known = within(figure, low, high)
    return int(known) if known is not None and known.is_integer() else None
