"""Notations of suppliers: a clean cell in the notation of its sheet.

plain: ``60.5`` · mm: ``60.5 mm``, ``75 W RMS`` · comma: ``60,5 mm``, ``129,90 €`` · fraction: ``2 3/8 in`` ·
inch_mark: ``2-3/16"`` or ``6½"``. A length in inches is rounded to a sixteenth, as on such sheets.
"""

from __future__ import annotations

from fractions import Fraction

from catalog_schema.figures import unit_of_field
from catalog_schema.units import UNITS

MM_PER_INCH = Fraction("25.4")
LEAST_IN_INCHES_MM = 3  # less than this stays in mm: a sixteenth would say little about it
GLYPHS = {
    Fraction(1, 2): "½",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
    Fraction(1, 8): "⅛",
    Fraction(3, 8): "⅜",
    Fraction(5, 8): "⅝",
    Fraction(7, 8): "⅞",
}


def number_text(value: object) -> str:
    """A number without a needless ``.0``; any other cell as it is, None as an empty one."""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return "" if value is None else str(value)


def write_cell(column: str, value: object, hand: str) -> str:
    """The cell of a column in a hand."""
    unit = unit_of_field(column)
    if column == "price" and hand == "comma":
        return f"{value} €".replace(".", ",")
    if unit in (None, "days") or not isinstance(value, int | float):
        return number_text(value)
    if unit == "mm" and hand in ("fraction", "inch_mark"):
        return inches_text(value, hand)
    if hand in ("mm", "comma"):
        return with_unit(number_text(value), unit, hand)
    return number_text(value)


def with_unit(number: str, unit: str, hand: str) -> str:
    """The number with its unit, and with a decimal comma in that hand."""
    if hand == "comma":
        return f"{number} {UNITS[unit].symbol}".replace(".", ",")
    return f"{number} {UNITS[unit].symbol}" + (" RMS" if unit == "w" else "")


def inches_text(value_mm: float, hand: str) -> str:
    """A length as a fraction of an inch, to the nearest sixteenth."""
    if value_mm < LEAST_IN_INCHES_MM:
        return f"{number_text(value_mm)} mm"
    inches = Fraction(round(Fraction(value_mm) / MM_PER_INCH * 16), 16)
    whole, part = divmod(inches, 1)
    if not part:
        return f'{whole}"' if hand == "inch_mark" else f"{whole} in"
    if hand == "inch_mark":
        ahead = str(whole or "")
        return f'{ahead}{GLYPHS[part]}"' if part in GLYPHS else f'{ahead}{"-" if ahead else ""}{part}"'
    return f"{whole} {part} in" if whole else f"{part} in"
