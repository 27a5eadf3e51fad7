"""Units of the trade: names, spellings, conversions, and if they are in field names and headers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction

from catalog_schema.sources import published

INCH_POUND = published("NIST Special Publication 811: 1 in = 25.4 mm and 1 lb = 0.453 592 37 kg, both exact")
GAUGE = published("ASTM B258-02: No. 36 is 0.0050 in across, No. 0000 is 0.4600 in, 39 equal ratios between")


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its name in fields, how it is written, its kind, and its size in the kind's first unit."""

    name: str
    symbol: str
    kind: str
    size: Fraction


_INCH, _FOOT, _POUND = Fraction("25.4"), Fraction("304.8"), Fraction("0.45359237")

# name, symbol, kind, size in the kind's first unit, other spellings (lower case, divided by |)
_TABLE: tuple[tuple[str, str, str, Fraction | str | int, str], ...] = (
    ("mm", "mm", "length", 1, "millimeter|millimeters|millimetre|millimetres"),
    ("cm", "cm", "length", 10, "centimeter|centimeters|centimetre|centimetres"),
    ("m", "m", "length", 1000, "meter|meters|metre|metres"),
    (
        "in",
        "in",
        "length",
        _INCH,
        "\"|''|inch|inches|zoll|pouce|pouces|pollici|pulgadas|palec|palce|palců|cal|cale|cali",
    ),
    ("ft", "ft", "length", _FOOT, "'|foot|feet"),
    ("mm2", "mm2", "area", 1, "sq mm|sqmm|qmm"),
    ("cm2", "cm2", "area", 100, "sq cm|sqcm|qcm"),
    ("in2", "sq in", "area", _INCH**2, "in2|sqin|square inch|square inches"),
    ("l", "l", "volume", 1, "liter|liters|litre|litres|ltr|dm3"),
    ("cm3", "cm3", "volume", "0.001", "ccm|cc|ml"),
    ("in3", "cu in", "volume", _INCH**3 / 10**6, "in3|cuin|cubic inch|cubic inches"),
    ("ft3", "cu ft", "volume", _FOOT**3 / 10**6, "ft3|cuft|cubic foot|cubic feet"),
    ("m3", "m3", "volume", 1000, ""),
    ("kg", "kg", "mass", 1, "kgs|kilogram|kilograms"),
    ("g", "g", "mass", "0.001", "gram|grams"),
    ("lb", "lb", "mass", _POUND, "lbs|pound|pounds"),
    ("oz", "oz", "mass", _POUND / 16, "ounce|ounces"),
    ("w", "W", "power", 1, "watt|watts"),
    ("kw", "kW", "power", 1000, ""),
    ("mw", "mW", "power", "0.001", ""),
    ("ohm", "ohm", "resistance", 1, "ohms|ω|r|ohmy|ohmů|ohmow|omów"),
    ("mohm", "mohm", "resistance", "0.001", "mω|mohms"),
    ("kohm", "kohm", "resistance", 1000, "kω|kohms"),
    ("v", "V", "voltage", 1, "volt|volts|vdc|v dc"),
    ("mv", "mV", "voltage", "0.001", ""),
    ("a", "A", "current", 1, "amp|amps|ampere|amperes"),
    ("ma", "mA", "current", "0.001", ""),
    ("ah", "Ah", "charge", 1, ""),
    ("hz", "Hz", "frequency", 1, "hertz"),
    ("khz", "kHz", "frequency", 1000, ""),
    ("db", "dB", "level", 1, ""),
    ("h", "h", "time", 1, "hr|hrs|hour|hours"),
    ("min", "min", "time", Fraction(1, 60), "mins|minute|minutes"),
    ("s", "s", "time", Fraction(1, 3600), "sec|secs|second|seconds"),
    ("ms", "ms", "time", Fraction(1, 3_600_000), "msec|millisecond|milliseconds"),
    ("days", "days", "lead time", 1, "d|day|tag|tage|jour|jours|giorno|giorni|día|días|dzień|dni|den|dny|dnů"),
    ("weeks", "weeks", "lead time", 7, "wk|wks|week|woche|wochen|semaine|semaines|tydzień|tyg|tygodnie|týden|týdny"),
    ("pct", "%", "share", 1, "percent"),
    ("n", "", "number", 1, ""),
)

# What a cell of each field unit should have held, for the message when it did not.
EXPECTED = {
    "mm": "a length such as 62.5 mm, 62,5 mm or 2 1/2 in",
    "in": "a length such as 6.5 in, 6 1/2 in or 165 mm",
    "m": "a length such as 4.5 m, 4,5 m or 15 ft",
    "cm2": "an area such as 137 cm2 or 21 sq in",
    "mm2": "a conductor's area such as 16 mm2 or 4 AWG",
    "l": "a volume such as 28.5 l, 28,5 l or 1 cu ft",
    "kg": "a mass such as 4.2 kg, 4200 g or 9 1/4 lb",
    "w": "a continuous power such as 75 W or 75 W RMS",
    "ohm": "a resistance such as 4 ohm",
    "v": "a voltage such as 4 V or 4000 mV",
    "a": "a current such as 30 A",
    "ma": "a current such as 5 mA or 0.005 A",
    "ah": "a charge such as 60 Ah",
    "hz": "a frequency such as 65 Hz or 20 kHz",
    "db": "a level such as 90.5 dB",
    "h": "a time such as 1.5 h or 90 min",
    "ms": "a delay such as 2.4 ms",
    "days": "a number of days such as 3, or 2 weeks",
    "pct": "a share such as 35 %",
    "n": "a number without a unit, such as 2 or 0.45",
}

UNITS = {name: Unit(name, symbol, kind, Fraction(size)) for name, symbol, kind, size, _ in _TABLE}
_SPELLINGS = {
    spelling: name
    for name, symbol, _, _, others in _TABLE
    for spelling in (name, symbol.lower(), *others.split("|"))
    if spelling and name != "n"
}
_PREFIX_M = {"mw", "mohm", "mohms", "mω"}
_UNIT_MARKS = str.maketrans({"²": "2", "³": "3", "^": None, ".": " "})
_NOT_MEASURES = {"high_level_in"}  # an input, not inches
_POWER_INTO = re.compile(r".*_w_\d+ohm", re.DOTALL)
LONGEST_TEXT = 100


def half_mm(mm: Decimal, rounding: str = ROUND_HALF_UP) -> Decimal:
    """Return a length as people write it: in steps of 0.5 mm, under 1 mm in tenths.

    >>> [str(half_mm(Decimal(mm))) for mm in ("47.62", "1.8875", "0.24")]
    ['47.5', '2', '0.2']
    """
    steps = 2 if abs(mm) >= 1 else 10
    return ((mm * steps).quantize(Decimal(1), rounding) / steps).normalize()


def unit_spelled(text: str) -> str | None:
    """The name of the unit that a spelling stands for, as `in` for `Inches` or `"`; None if there is none.

    >>> unit_spelled("cu. ft."), unit_spelled("Zoll"), unit_spelled("furlong")
    ('ft3', 'in', None)
    """
    spelling = " ".join(text.translate(_UNIT_MARKS).casefold().split())
    if text[:1] == "M" and spelling in _PREFIX_M:
        return None  # mega, not milli
    return _SPELLINGS.get(spelling)


def known_units(kind_unit: str) -> list[str]:
    """The units whose figures convert into `kind_unit`, by name, itself among them.

    >>> known_units("mm")
    ['mm', 'cm', 'm', 'in', 'ft']
    """
    kind = UNITS[kind_unit].kind
    names = [unit.name for unit in UNITS.values() if unit.kind == kind]
    return [*names, "awg"] if kind_unit == "mm2" else names


def unit_of_field(field: str) -> str | None:
    """The unit in a field's name: `mm` for `depth_mm`, `w` for `full_w_4ohm`; None if there is none."""
    stem, _, last = field.rpartition("_")
    if not stem or field in _NOT_MEASURES:
        return None
    if _POWER_INTO.fullmatch(field):
        return "w"
    return last if last in EXPECTED and last != "n" else None


def split_header(header: str) -> tuple[str, str | None]:
    """A column's header as a snake_case name and the unit in brackets at its end, if it is a known one.

    Brackets that hold no unit stay in the name, so that `Power (peak)` is never taken for `Power`.

    >>> split_header("Mounting depth (in)"), split_header("Power (peak)"), split_header("Box [cu ft]")
    (('mounting_depth', 'in'), ('power_peak', None), ('box', 'ft3'))
    """
    text = header.strip()
    if text[-1:] in (")", "]"):
        start = max(text.rfind("("), text.rfind("["))
        inside = text[start + 1 : -1].strip()
        stem = _snake(text[: max(start, 0)])
        if stem and len(inside) <= LONGEST_TEXT and (unit := _unit_in_header(inside)):
            return stem, unit
    return _snake(text), None


def _unit_in_header(text: str) -> str | None:
    plain = text.translate(TYPOGRAPHY)
    return "awg" if plain.casefold() == "awg" else unit_spelled(without_rms(plain))


def _snake(text: str) -> str:
    return re.sub(r"[\W_]+", "_", text.casefold()).strip("_")


def without_rms(text: str) -> str:
    """A unit's spelling without the word that says continuous power or voltage: `W` for `W (RMS)`."""
    return re.sub(r"(?i)[\s(]*(?:rms|continuous)[\s).]*$", "", text)


# One spelling for the marks that typists, spreadsheets and printers have several of. Vulgar fractions keep
# a stroke of their own (U+2044): they are fractions for certain, where 2/4 may be two numbers.
TYPOGRAPHY = str.maketrans(
    {
        **dict.fromkeys("\u00a0\u2007\u2009\u202f", " "),
        **dict.fromkeys("\u2019\u2032", "'"),
        **dict.fromkeys("\u2033\u201c\u201d", '"'),
        **dict.fromkeys("\u2010\u2011\u2013\u2212", "-"),
        "×": "x",
        **{"½": " 1⁄2 ", "⅓": " 1⁄3 ", "⅔": " 2⁄3 ", "¼": " 1⁄4 ", "¾": " 3⁄4 ", "⅛": " 1⁄8 ", "⅜": " 3⁄8 "},
        **{"⅝": " 5⁄8 ", "⅞": " 7⁄8 ", "⅕": " 1⁄5 ", "⅖": " 2⁄5 ", "⅗": " 3⁄5 ", "⅘": " 4⁄5 ", "⅙": " 1⁄6 "},
        **{"⅚": " 5⁄6 ", "⅐": " 1⁄7 ", "⅑": " 1⁄9 ", "⅒": " 1⁄10 "},
    }
)

_GAUGE_TEXT = re.compile(r"(?:AWG\s*)?(?P<turn>[1-4])/0(?:\s*(?:AWG|ga|gauge))?", re.IGNORECASE)
_GAUGE_NUMBER = re.compile(r"(?:AWG\s*)?(?P<digits>\d{1,4})(?:\s*(?:AWG|ga|gauge))?", re.IGNORECASE | re.ASCII)
_PRECISE = Context(prec=40)
_PI = Decimal("3.141592653589793238462643383279502884197")


def gauge_number(text: str) -> int | None:
    """The AWG number of a conductor, 4/0 counted as -3; None if the text is no gauge from 4/0 to 40.

    >>> gauge_number("4 AWG"), gauge_number("1/0 awg"), gauge_number("0000"), gauge_number("99 AWG")
    (4, 0, -3, None)
    """
    if turns := _GAUGE_TEXT.fullmatch(text):
        return 1 - int(turns["turn"])
    if not (number := _GAUGE_NUMBER.fullmatch(text)):
        return None
    digits = number["digits"]
    gauge = 1 - len(digits) if not digits.strip("0") else int(digits)
    return gauge if gauge <= 40 else None


def gauge_area_mm2(gauge: int) -> Fraction:
    """The copper area in mm2 of a solid conductor of an AWG number from 4/0 (-3) to 40, see `GAUGE`.

    >>> float(gauge_area_mm2(-3))
    107.219
    """
    steps = _PRECISE.divide(Decimal(36 - gauge), Decimal(39))
    across_mm = _PRECISE.multiply(Decimal("0.127"), _PRECISE.power(Decimal(92), steps))
    square = _PRECISE.multiply(across_mm, across_mm)
    return Fraction(_PRECISE.divide(_PRECISE.multiply(_PI, square), Decimal(4)))
