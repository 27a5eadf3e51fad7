"""Numbers on paper: the decimal mark of the language and the currency of the shop."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from matcher.lengths import length_text, on_the_safe_side, shown_unit
from matcher.words import Messages

CENT = ENOUGH = Decimal("0.01")
"""Finest step of any printed figure."""
TENTH, WHOLE = Decimal("0.1"), Decimal(1)
FINEST = {
    **dict.fromkeys(("m", "mm2", "A", "mA", "W", "l", "kg", "°", "%", "ms"), TENTH),
    **dict.fromkeys(("Hz", "min"), WHOLE),
    "dB": Decimal("0.5"),
}
"""Finest printed step by unit, if not hundredths; lengths are rounded by `lengths`."""
GLUE = "\u00a0"
"""Non-breaking space between a number and its unit."""
TIMES = f"{GLUE}×{GLUE}"
GROUPED = 10_000
"""Smallest number with separated thousands."""

Known = Decimal | int | float


@dataclass(frozen=True, slots=True)
class Numbers:
    """Number format of one shop.

    >>> [Numbers(language, "EUR").money(Decimal("1458.4")).split() for language in ("en", "de")]
    [['1,458.40', 'EUR'], ['1.458,40', 'EUR']]
    >>> Numbers("en").amount(61, "mm").split(), Numbers("de").amount(Decimal("0.5"), "mm").split()
    (['61', 'mm'], ['0,5', 'mm'])
    """

    language: str
    currency: str = ""

    def number(self, number: Known, unit: str = "") -> str:
        """Format a number with the precision usual for its unit: lengths in steps of 0.5 mm, whole frequencies."""
        if unit == "mm":
            return self._marked(length_text(number))
        exact = rounded(Decimal(str(number)), unit).normalize()
        exact = exact or Decimal(0)  # zero has no sign
        return self._marked(f"{exact:,f}" if abs(exact) >= GROUPED else f"{exact:f}")

    def amount(self, number: Known, unit: str = "") -> str:
        """A number with its unit."""
        shown = self.number(number, unit)
        return f"{shown}{GLUE}{SIGNS.get(unit, shown_unit(unit))}" if unit else shown

    def bound(self, number: Decimal, unit: str, rounding: str) -> str:
        """Format a bound with its unit, rounded so that it still holds: a minimum up, a maximum down."""
        return self.amount(rounded(number, unit, rounding), unit)

    def sizes(self, *mm: Known) -> str:
        """Format lengths that belong together, such as width and height."""
        return f"{TIMES.join(self.number(one, 'mm') for one in mm)}{GLUE}{shown_unit('mm')}"

    def money(self, number: Known, *, signed: bool = False) -> str:
        """Format an amount of money to the cent."""
        exact = Decimal(str(number)).quantize(CENT, ROUND_HALF_UP)
        shown = self._marked(f"{exact:+,f}" if signed else f"{exact:,f}")
        return f"{shown}{GLUE}{self.currency}" if self.currency else shown

    def _marked(self, number: str) -> str:
        return Messages(self.language).marked(number)


def rounded(number: Decimal, unit: str, rounding: str = ROUND_HALF_UP) -> Decimal:
    """Round a number to the precision usual for its unit."""
    if unit == "mm":
        return on_the_safe_side(number, rounding)
    step = FINEST.get(unit, ENOUGH)
    return (number / step).quantize(WHOLE, rounding) * step


SIGNS = {"mm2": "mm²", "m2": "m²", "ohm": "Ω", "cm2": "cm²"}
"""Symbols of units on paper."""
