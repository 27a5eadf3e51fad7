"""Lengths as the people of a shop read and type them: in millimeters, or in inches to a sixteenth.

Opening a store (`store/database/opening.py`) sets its shop's unit for the thread that opens it, so that shops of
different units can be asked side by side. Screens, papers and drawings show a length through this module; lengths in
the store and in JSON answers stay in millimeters.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextvars import ContextVar
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Any, Literal

from catalog_schema.units import half_mm

LengthUnit = Literal["mm", "in"]
UNITS: tuple[LengthUnit, ...] = ("mm", "in")
MM_PER_IN = Decimal("25.4")
SIXTEENTH_MM = MM_PER_IN / 16
_NUMBER = r"(?:(?:\d+[ -])?\d+[/⁄]\d+|\d*[.,]?\d+(?: ?[¼½¾⅛⅜⅝⅞])?|[¼½¾⅛⅜⅝⅞])"
_BARE = re.compile(rf"{_NUMBER}(?: ?(?:±|\+/-) ?{_NUMBER})?")
_unit: ContextVar[LengthUnit] = ContextVar("length unit", default="mm")


def tell_lengths_in(unit: str) -> None:
    """Show lengths in this unit from now on, in this thread or task."""
    _unit.set("in" if unit == "in" else "mm")


def shown_unit(unit: str) -> str:
    """The unit that figures of a unit are shown and typed in: that of lengths is the shop's."""
    return _unit.get() if unit == "mm" else unit


def length_text(mm: Decimal | float, *, to_tenths: bool = False) -> str:
    """A length in the shop's unit, with a decimal point: in half millimeters, or sixteenths of an inch.

    Where two figures and their difference stand in one sentence, millimeters are told to tenths. Inches below a
    sixteenth are told in hundredths, so that a little is not told as nothing.

    >>> tell_lengths_in("in"); [length_text(Decimal(mm)) for mm in ("61", "-12.7", "0.5", "304.8")]
    ['2 3/8', '-1/2', '0.02', '12']
    >>> tell_lengths_in("mm"); length_text(Decimal("47.62")), length_text(Decimal("47.62"), to_tenths=True)
    ('47.5', '47.6')
    """
    exact = Decimal(str(mm))
    if _unit.get() == "mm":
        rounded = (round(exact, 1) or round(exact, 3)) if to_tenths else half_mm(exact)
        return f"{(rounded or Decimal(0)).normalize():f}"
    if abs(exact) < SIXTEENTH_MM:
        return f"{(round(exact / MM_PER_IN, 2) or Decimal(0)).normalize():f}"
    count = int((abs(exact) / SIXTEENTH_MM).quantize(Decimal(1), ROUND_HALF_UP))
    whole, part = divmod(count, 16)
    half = part & -part or 1
    fraction = f"{part // half}/{16 // half}" if part else ""
    return ("-" if exact < 0 else "") + " ".join(filter(None, [str(whole) if whole else "", fraction]))


def on_the_safe_side(mm: Decimal, rounding: str = ROUND_FLOOR) -> Decimal:
    """A length as it is told, in mm, rounded down (or up)."""
    if _unit.get() == "mm":
        return half_mm(mm, rounding)
    step = SIXTEENTH_MM if abs(mm) >= SIXTEENTH_MM else MM_PER_IN / 100
    return (mm / step).quantize(Decimal(1), rounding) * step


def in_shop_unit(cell: Any) -> Any:
    """A stored length, with its tolerance if it has one, as the boxes of a form hold it; text as it was typed.

    >>> tell_lengths_in("in"); in_shop_unit({"value": 61, "tol": 1, "basis": "measured"}); tell_lengths_in("mm")
    {'value': '2 3/8', 'tol': '0.04', 'basis': 'measured'}
    """
    if _unit.get() == "mm" or isinstance(cell, bool):
        return cell
    if isinstance(cell, Mapping):
        return {name: in_shop_unit(one) for name, one in cell.items()}
    return length_text(cell) if isinstance(cell, int | float | Decimal) else cell


def shown_length(cell: Any) -> Any:
    """A stored length as a table shows it: in inches with the unit behind it, in millimeters as it is.

    >>> tell_lengths_in("in"); shown_length(Decimal(61)), shown_length(None); tell_lengths_in("mm")
    ('2 3/8 in', None)
    """
    shown = in_shop_unit(cell)
    return with_unit(shown, _unit.get()) if isinstance(shown, str) else shown


def with_unit(typed: str, unit: str) -> str:
    """Text typed into a box of inches, with its unit; any other text as it is.

    >>> with_unit("2 3/8", "in"), with_unit("60 mm", "in"), with_unit("60", "mm")
    ('2 3/8 in', '60 mm', '60')
    """
    return f"{typed.strip()} in" if unit == "in" and _BARE.fullmatch(typed.strip()) else typed
