"""Text to figure: a cell becomes an exact number in its field's unit, or an error that states the expected form.

Numbers may be written as described in `catalog_schema.notation`, and as `2 3/8 in`, `2-3/8"`, `6½"`, `1e3`. A fraction
is of an inch, a foot or a pound; one without a unit in a metric field is refused with its possible meanings. A power of
ten has at most two digits, and follows only a plain decimal number. A figure is below 10^12 and keeps six decimals
(half to even) after any conversion.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from catalog_schema.figure_fixes import BLANK_FIX, likely_fix, number_alone, shown_cell, single_number
from catalog_schema.notation import (
    EITHER,
    KEPT,
    DecimalMark,
    NotANumberError,
    Notation,
    TwoReadingsError,
    read_digits,
    write_number,
)
from catalog_schema.problems import FieldError
from catalog_schema.units import (
    EXPECTED,
    LONGEST_TEXT,
    TYPOGRAPHY,
    UNITS,
    gauge_area_mm2,
    gauge_number,
    known_units,
    split_header,
    unit_of_field,
    unit_spelled,
    without_rms,
)

__all__ = [
    "DEFAULT_TOL_MM",
    "Basis",
    "Figure",
    "known_units",
    "read_figure",
    "read_number",
    "split_header",
    "unit_of_field",
    "write_figure",
]

Basis = Literal["measured", "caliper", "maker", "estimate", "taken_over"]

DEFAULT_TOL_MM: dict[Basis, Decimal] = {
    "measured": Decimal(1),
    "caliper": Decimal("0.2"),
    "maker": Decimal("0.5"),
    "estimate": Decimal(5),
    "taken_over": Decimal(3),
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A number in its field's unit, with its tolerance and basis if known."""

    value: Decimal
    tol: Decimal | None = None  # None: the basis' default applies (lengths), or none at all
    basis: Basis | None = None  # None: the row's basis applies


class _UnclearError(Exception):
    """Text that is no figure, with the fix if it is known where parsing failed."""


class _AmbiguousError(Exception):
    """Text with several possible figures, with an unambiguous form of each."""

    def __init__(self, *alternatives: str) -> None:
        self.alternatives = alternatives


_ZERO, _STEP = Decimal(0), Decimal("0.000001")
_DIGITS = 12  # with six decimals 18 digits in all, the limit of an exact 64-bit column
_EXACT = Context(prec=60)
_PLAIN = re.compile(r"[+-]?\d{1,12}(?:\.(?:\d{1,2}|\d{4,6}))?", re.ASCII)


def read_figure(cell: object, unit: str, *, given_in: str | None = None, notation: Notation = EITHER) -> Figure | None:
    """Return the figure in a cell, in `unit`; None for a blank cell.

    Accepts a number, text with or without a unit, or a mapping of `value`, `tol` and `basis`. Text may contain a
    tolerance and a basis (`61 ±1 mm (caliper)`). A bare number is in `given_in`, the unit of the column's header, by
    default in `unit`. Units convert exactly, see `INCH_POUND` and `GAUGE` in `catalog_schema.units`. `notation` is the
    number format of the text. Raises FieldError for everything else, with `alternatives` if the text is ambiguous.
    Negative numbers are accepted: the field's schema restricts the range.

    >>> read_figure("6 3/4 in", "mm")
    Figure(value=Decimal('171.45'), tol=None, basis=None)
    """
    if unit not in EXPECTED or (given_in not in UNITS and given_in not in (None, "awg")):
        raise ValueError(f"no such unit: {unit}, {given_in}")
    if type(cell) is str and given_in is None and _PLAIN.fullmatch(cell):
        return Figure(Decimal(cell) or _ZERO)
    if isinstance(cell, str):
        return _from_text(cell.strip(), unit, given_in, notation)
    if isinstance(cell, int | float | Decimal) and not isinstance(cell, bool):
        number = _from_number(cell, unit)
        return Figure(number) if given_in is None else _from_text(write_number(number), unit, given_in, KEPT)
    if isinstance(cell, Mapping):
        return _from_mapping(cell, unit, given_in, notation)
    if cell is None:
        return None
    raise _refusal(cell, unit, f"give a number; {BLANK_FIX}")


def read_number(cell: object, unit: str, notation: Notation = EITHER) -> Decimal | None:
    """Return only the value of the figure in a cell, in `unit`; None for a blank cell. Raises as `read_figure` does.

    >>> read_number("14,5 kg", "kg")
    Decimal('14.5')
    """
    figure = read_figure(cell, unit, notation=notation)
    return None if figure is None else figure.value


def write_figure(figure: Figure, unit: str) -> str:
    """Format a figure so that `read_figure` returns the same one, to six decimals.

    >>> write_figure(Figure(Decimal(61), Decimal("0.5"), "caliper"), "mm")
    '61 ±0.5 mm (caliper)'
    """
    parts = [write_number(_six_decimals(figure.value))]
    if figure.tol is not None:
        parts.append(f"±{write_number(_six_decimals(figure.tol))}")
    if symbol := UNITS[unit].symbol:
        parts.append(symbol)
    if figure.basis is not None:
        parts.append(f"({figure.basis})")
    return " ".join(parts)


def _from_number(cell: int | float | Decimal, unit: str) -> Decimal:
    if isinstance(cell, int):
        number = Decimal(cell) if abs(cell) < 10**_DIGITS else Decimal("inf")
    else:
        number = Decimal(float.__repr__(cell)) if isinstance(cell, float) else cell
    if not number.is_finite() or number.adjusted() >= _DIGITS:
        raise _refusal(cell, unit, f"give a number under 10^{_DIGITS}; {BLANK_FIX}")
    return _six_decimals(number)


def _six_decimals(number: Decimal) -> Decimal:
    rounded = _EXACT.normalize(_EXACT.quantize(number, _STEP))
    return Decimal(f"{rounded:f}") or _ZERO


def _decimal(number: Fraction) -> Decimal:
    if abs(number) >= 10**_DIGITS:
        raise _UnclearError(f"give a number under 10^{_DIGITS}")
    return _six_decimals(Decimal(round(number * 10**6)).scaleb(-6, _EXACT))


def _from_mapping(cell: Mapping[object, object], unit: str, given_in: str | None, notation: Notation) -> Figure | None:
    keys = [key for key in cell if key not in ("value", "tol", "basis")]
    if keys or "value" not in cell:
        raise FieldError(shown_cell(keys[0] if keys else "{}"), "value, tol and basis", "name the number value")
    value, tol, basis = cell["value"], _blank_to_none(cell.get("tol")), _blank_to_none(cell.get("basis"))
    if isinstance(value, Mapping) or isinstance(tol, Mapping):
        raise _refusal(cell, unit, "give value and tol as numbers or text")
    read = read_figure(value, unit, given_in=given_in, notation=notation)
    band = _tolerance(tol, unit, given_in, notation)
    known = _basis(basis)
    if read is None:
        return None
    if (read.tol is not None and band is not None) or (read.basis is not None and known is not None):
        raise _refusal(value, unit, "give the tolerance and the basis once, beside the number or in it")
    return Figure(read.value, read.tol if band is None else band, known or read.basis)


def _blank_to_none(cell: object) -> object:
    return None if isinstance(cell, str) and not cell.strip() else cell


def _tolerance(cell: object, unit: str, given_in: str | None, notation: Notation) -> Decimal | None:
    read = read_figure(cell, unit, given_in=given_in, notation=notation)
    if read is None:
        return None
    if read.value < 0 or read.tol is not None or read.basis is not None:
        raise FieldError(shown_cell(cell), "a tolerance of 0 or more", "give how far off it may be, either way")
    return read.value


def _basis(cell: object) -> Basis | None:
    for basis in DEFAULT_TOL_MM:
        if isinstance(cell, str) and cell.strip().casefold() == basis:
            return basis
    if cell is None:
        return None
    raise FieldError(shown_cell(cell), "measured, caliper, maker or estimate", "say how the figure is known")


# Text

_BASIS = re.compile(r"(?P<rest>.*?)\s*\((?P<basis>measured|caliper|maker|estimate|taken_over)\)", re.IGNORECASE)
_TWICE = re.compile(r"([^()]*[\d⁄][^()]*[^\d\s()][^()]*?)\s*\(([^()]*\d\s*[^\d\s()]+)\)")
_TOLERANCE = re.compile(r"\s*(?:±|\+/-|\+-)\s*")
_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s?
    (?: (?P<fraction> (?: (?P<whole>\d+) (?:\s+|\s?-\s?) )? (?P<top>\d+) \s?(?P<stroke>[/⁄])\s? (?P<bottom>\d+) )
      | (?P<digits>\d+(?:[.,' ]\d+)* | [.,]\d+) (?:[eE](?P<power>[+-]?\d{1,2})(?!\d))? )
    \s* (?P<unit>.*)""",
    re.VERBOSE | re.ASCII,
)


@dataclass(frozen=True, slots=True)
class _Measure:
    """A number in a text, with its unit if stated."""

    number: Fraction
    unit: str | None
    """None for a bare number."""
    fraction: str = ""
    """The fraction as written."""


def _from_text(text: str, unit: str, given_in: str | None, notation: Notation) -> Figure | None:
    if not text:
        return None
    if len(text) > LONGEST_TEXT:
        raise _refusal(text, unit, "give the figure alone")
    return _parsed(text, unit, given_in, notation)


@lru_cache(maxsize=1 << 14)
def _parsed(text: str, unit: str, given_in: str | None, notation: Notation) -> Figure:
    plain = text if text.isascii() else text.translate(TYPOGRAPHY).strip()
    try:
        return _with_tolerance(plain, unit, given_in, notation)
    except _UnclearError as unclear:
        raise _refusal(text, unit, str(unclear) or likely_fix(plain, unit)) from None
    except TwoReadingsError as two:
        texts = tuple(plain.replace(two.digits, reading, 1) for reading in two.readings)
        raise _ambiguous(text, unit, texts) from None
    except _AmbiguousError as ambiguous:
        raise _ambiguous(text, unit, ambiguous.alternatives) from None


def _ambiguous(text: str, unit: str, alternatives: tuple[str, ...]) -> FieldError:
    return FieldError(shown_cell(text), single_number(unit), f"write {' or '.join(alternatives)}", alternatives)


def _with_tolerance(text: str, unit: str, given_in: str | None, notation: Notation) -> Figure:
    named = _BASIS.fullmatch(text)
    if (twice := _TWICE.fullmatch(text)) and not named:
        return _stated_twice(twice, unit, given_in, notation)
    value_text, *tol_text = _TOLERANCE.split(named["rest"] if named else text)
    basis = _basis(named["basis"]) if named else None
    value = _measure(value_text, unit, given_in, notation)
    bare = given_in or unit
    if not tol_text:
        return Figure(_in_unit(value, value.unit or bare, unit, notation), None, basis)
    tol = _measure(tol_text[0], unit, given_in, notation)
    if len(tol_text) > 1 or tol_text[0][0] in "+-":
        raise _UnclearError
    value_unit, tol_unit = value.unit or tol.unit or bare, tol.unit or value.unit or bare
    return Figure(_in_unit(value, value_unit, unit, notation), _in_unit(tol, tol_unit, unit, notation), basis)


def _stated_twice(twice: re.Match[str], unit: str, given_in: str | None, notation: Notation) -> Figure:
    """Return the first of two figures for one length in two units, as in ``3-1/16" (78 mm)``, if they agree."""
    first, second = (_with_tolerance(text, unit, given_in, notation) for text in twice.groups())
    slack = max(abs(first.value) / 100, Decimal("0.8") / Decimal(float(UNITS[unit].size)))
    if abs(first.value - second.value) > slack:
        raise _AmbiguousError(*twice.groups())
    return first


def _measure(text: str, unit: str, given_in: str | None, notation: Notation) -> _Measure:
    """Return the number in a text and the unit after it."""
    if unit == "mm2" and (given_in == "awg" or not text.isdigit()):
        gauge = gauge_number(text)
        if gauge is not None and (given_in == "awg" or re.search("[a-zA-Z]", text)):
            return _Measure(gauge_area_mm2(gauge), "mm2")
    kind = UNITS[unit].kind
    match = _NUMBER.fullmatch(text.strip("Øø⌀ ") if kind == "length" else text)
    if match is None:
        raise _UnclearError
    spelled = without_rms(match["unit"]) if kind in ("power", "voltage") else match["unit"]
    name = unit_spelled(spelled)
    if spelled and name is None:
        raise _UnclearError
    if spelled == "M" and unit in ("mm", "in") and match["digits"]:
        shown = write_number(_decimal_number(match, notation.mark))
        raise _AmbiguousError(f"{shown} mm", f"{shown} m")
    number = _fraction(match, name or given_in or unit) if match["top"] else _decimal_number(match, notation.mark)
    return _Measure(-number if match["sign"] == "-" else number, name, match["fraction"] or "")


def _in_unit(measure: _Measure, own: str, unit: str, notation: Notation) -> Decimal:
    if own == "awg" or UNITS[own].kind != UNITS[unit].kind:
        what = "a conductor's gauge" if own == "awg" else f"a unit of {UNITS[own].kind}"
        raise _UnclearError(f"{own} is {what}: use {number_alone(unit)}")
    if measure.fraction and not notation.kept:
        _check_fraction(measure, own)
    number = measure.number
    return _decimal(number if own == unit else number * UNITS[own].size / UNITS[unit].size)


# Units with fractions; a fraction of a metric unit probably meant the adjacent unit.
_FRACTION_OF = {"mm": "in", "cm": "in", "m": "ft", "l": "ft3", "kg": "lb", "cm2": "in2"}


def _check_fraction(measure: _Measure, own: str) -> None:
    """Refuse a fraction of an implied metric unit, and any fraction of a millimeter or centimeter."""
    if own not in _FRACTION_OF or (measure.unit is not None and own not in ("mm", "cm")):
        return
    sign = "-" if measure.number < 0 else ""
    plain = sign + " ".join(measure.fraction.replace("⁄", "/").split())
    raise _AmbiguousError(
        f"{plain} {UNITS[_FRACTION_OF[own]].symbol}", f"{write_number(measure.number)} {UNITS[own].symbol}"
    )


# Units in which a single `n/d` is a fraction. In others, as in 4/2 ohm or 50/60 Hz, a slash separates two numbers.
_HALVED = {"in", "ft", "in2", "in3", "ft3", "lb", "oz", "h", *_FRACTION_OF}


def _fraction(match: re.Match[str], unit: str) -> Fraction:
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if top >= bottom:
        raise _UnclearError
    single = match["whole"] is None and match["stroke"] == "/"
    # 1/2 and 3/8 are fractions of an inch; 4/6, 5/7 and 6/9 are more likely sizes.
    if single and (unit not in _HALVED or top % 2 == 0 or bottom & (bottom - 1)):
        raise _UnclearError
    return whole + Fraction(top, bottom)


def _decimal_number(match: re.Match[str], mark: DecimalMark) -> Fraction:
    digits, power = match["digits"], match["power"]
    try:
        if power is None:
            return read_digits(digits, mark)
        if not _ONE_MARK.fullmatch(digits):
            raise _UnclearError
        return Fraction(Decimal(digits.replace(",", "."))) * Fraction(10) ** int(power)
    except NotANumberError:
        raise _UnclearError from None


_ONE_MARK = re.compile(r"\d*[.,]?\d+", re.ASCII)


def _refusal(cell: object, unit: str, fix: str) -> FieldError:
    return FieldError(shown_cell(cell), EXPECTED[unit], fix)
