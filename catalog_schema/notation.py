"""Numbers as people write them: the only place that reads the digits of a text.

`62.5`, `62,5`, `1,234.5`, `1.234,5`, `1 234,5`, `1'234.5`. One mark before exactly three digits (`1.500`, `1,500`) has
two readings: the notation of the shop or of the list decides, and if it does not, nothing is read.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal

from catalog_schema.units import TYPOGRAPHY

DecimalMark = Literal["point", "comma", "either"]


@dataclass(frozen=True, slots=True)
class Notation:
    """Format of numbers and amounts of money of a shop, a list or a document."""

    mark: DecimalMark = "either"
    """The decimal mark; the other of point and comma groups thousands. ``either``: what has two readings is refused."""
    currency: str | None = ""
    """The currency of every amount. Empty: not set, so an amount may name none. None: any, as in kept documents."""
    kept: bool = False
    """Whether it was taken in before: then a fraction without a unit is of the field's own, and a name is as it is."""


EITHER = Notation()
"""Nothing known of who wrote it."""
KEPT = Notation("point", None, kept=True)
"""Format of the store itself: its content was checked when it was taken in, and older versions took in more."""

MARKS = {"point": ".", "comma": ","}
_TWO_READINGS = r"[1-9]\d{0,2}[.,]\d{3}"
_DECIMAL = re.compile(r"\d*[.,]?\d+", re.ASCII)
_GROUPED = re.compile(r"[1-9]\d{0,2}(?P<gap>[.,' ])\d{3}(?:(?P=gap)\d{3})*(?:(?!(?P=gap))[.,]\d+)?", re.ASCII)
TWO_READINGS = re.compile(rf"[+-]?{_TWO_READINGS}", re.ASCII)
"""A number with one mark before exactly three digits."""
_IN_TEXT = re.compile(rf"(?<![\d.,'])(?:{_TWO_READINGS})(?![\d.,'])(?!\s?\d{{3}}\b)(?![eE]\d)", re.ASCII)


class NotANumberError(ValueError):
    """Digits and marks that make no number."""


class TwoReadingsError(ValueError):
    """Digits that are two numbers, by who wrote them; ``readings`` are both, each written so that it is one."""

    def __init__(self, digits: str) -> None:
        self.digits = digits
        self.readings = tuple(write_number(_value(digits, mark)) for mark in MARKS.values())
        super().__init__(digits)


def read_digits(digits: str, mark: DecimalMark = "either") -> Fraction:
    """The number that digits and marks, without a sign, stand for.

    >>> read_digits("1.500", "comma"), read_digits("1.500", "point"), read_digits("1.234,5")
    (Fraction(1500, 1), Fraction(3, 2), Fraction(2469, 2))

    Raises
    ------
    TwoReadingsError
        if it is one of two, and the mark does not tell which.
    NotANumberError
        if it is none.
    """
    if TWO_READINGS.fullmatch(digits):
        if mark == "either":
            raise TwoReadingsError(digits)
        return _value(digits, MARKS[mark])
    if _DECIMAL.fullmatch(digits):
        return Fraction(Decimal(digits.replace(",", ".")))
    grouped = _GROUPED.fullmatch(digits)
    if grouped is None:
        raise NotANumberError(digits)
    return Fraction(Decimal(digits.replace(grouped["gap"], "").replace(",", ".")))


def _value(digits: str, decimal_mark: str) -> Fraction:
    """Digits with one mark: a decimal mark, or else one that groups."""
    return Fraction(
        Decimal(digits.replace(decimal_mark, ".") if decimal_mark in digits else re.sub("[.,]", "", digits))
    )


def write_number(number: Fraction | Decimal) -> str:
    """A number of at most six decimals so that it has one reading: never exactly three decimals.

    >>> write_number(Fraction(3, 2)), write_number(Decimal("12.125")), write_number(Decimal("-0.125"))
    ('1.5', '12.1250', '-0.125')
    """
    exact = number if isinstance(number, Decimal) else Decimal(round(number * 10**6)).scaleb(-6)
    text = f"{exact:f}"
    return one_reading(text.rstrip("0").rstrip(".") if "." in text else text)


def one_reading(plain: str) -> str:
    """A number with a decimal point, written so that the point cannot group thousands.

    >>> one_reading("12.125"), one_reading("0.125")
    ('12.1250', '0.125')
    """
    return f"{plain}0" if TWO_READINGS.fullmatch(plain) else plain


def settle_numbers(text: str, mark: DecimalMark) -> str:
    """A text whose numbers of two readings are written as the mark reads them: so it can be kept.

    >>> settle_numbers("1,500 ±0.5 mm", "point"), settle_numbers("1,500", "either")
    ('1500 ±0.5 mm', '1,500')
    """
    if mark == "either":
        return text
    return _IN_TEXT.sub(lambda match: write_number(_value(match[0], MARKS[mark])), text)


def settled_cell(text: str, notation: Notation = EITHER) -> Any:
    """Typed value as a document keeps it: a number, or a text that reads the same for everyone.

    >>> settled_cell("61 ± 0.5"), settled_cell("61"), settled_cell("1.500", Notation("comma")), settled_cell("")
    ('61 ± 0.5', 61, 1500, None)
    """
    settled = settle_numbers(text.strip(), notation.mark)
    if not PLAIN_NUMBER.fullmatch(settled):
        return settled or None
    return float(settled) if "." in settled else int(settled)


PLAIN_NUMBER = re.compile(r"-?\d{1,9}(?:\.(?:\d{1,2}|\d{4,6}))?", re.ASCII)
"""A number that is the same in a document: one with three decimals may be thousands, and stays a text."""


# What a list shows of how it is written


def _shows(mark: str, other: str) -> str:
    one = rf"\d*{mark}\d{{1,2}}|\d*{mark}\d{{4,}}|0+{mark}\d{{3}}|\d{{4,}}{mark}\d{{3}}"
    grouped = rf"\d{{1,3}}(?:{other}\d{{3}})+{mark}\d+|\d{{1,3}}(?:{other}\d{{3}}){{2,}}"
    return rf"(?:^|[^\d.,'])(?:{one}|{grouped})(?:[^\d.,']|$)"


SHOWS_POINT, SHOWS_COMMA = _shows(r"\.", ","), _shows(",", r"\.")
"""Regular expressions, also for the database, for text in which only a point, or a comma, can be the decimal mark."""


# Several amounts in one box


def split_amounts(text: str) -> list[str]:
    """The amounts in a text: parted by semicolons, line breaks, or commas with a space behind.

    >>> split_amounts("700, 1.000, 1.500"), split_amounts("700; 1000,50")
    (['700', '1.000', '1.500'], ['700', '1000,50'])
    """
    pieces = re.split(r"[;\n]" if re.search(r"[;\n]", text) else r",\s+", text.translate(TYPOGRAPHY))
    return [piece.strip().rstrip(",").strip() for piece in pieces if piece.strip(" ,")]
