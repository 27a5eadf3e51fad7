"""Sentences that remember how they were made, so that a paper can say them again in another language.

The template is its own key: what no other language holds stays as it is.

>>> told = Said("within {length} of the {thing}", length=Amount(450, "mm"), thing="battery")
>>> told
'within 450 mm of the battery'
>>> told.template, told.facts["length"].number
('within {length} of the {thing}', Decimal('450'))
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

Fact = str | Sequence[str]


class Said(str):
    """A sentence with its template and its facts; a fact of several words is told with commas."""

    __slots__ = ("facts", "template")
    template: str
    facts: dict[str, Fact]

    def __new__(cls, template: str, **facts: Fact) -> Said:
        made = super().__new__(cls, template.format(**{name: listed(fact) for name, fact in facts.items()}))
        made.template, made.facts = template, facts
        return made

    def __getnewargs_ex__(self) -> tuple[tuple[str], dict[str, Fact]]:
        return (self.template,), self.facts


class Amount(str):
    """A number with its unit, as a person writes it."""

    __slots__ = ("number", "unit")
    number: Decimal | None
    unit: str

    def __new__(cls, number: Decimal | int | float | None, unit: str = "") -> Amount:
        exact = None if number is None else Decimal(str(number))
        text = "not known" if exact is None else f"{_legible(exact, unit).normalize():f}"
        made = super().__new__(cls, f"{text} {unit}" if unit and exact is not None else text)
        made.number, made.unit = exact, unit
        return made

    def __getnewargs__(self) -> tuple[Decimal | None, str]:  # type: ignore[override]
        return self.number, self.unit


def _legible(exact: Decimal, unit: str) -> Decimal:
    """To a tenth of a millimeter, and a thousandth of anything else: roots and inches have no end.

    >>> _legible(Decimal("2.191342"), "mm"), _legible(Decimal("0.04"), "mm"), _legible(Decimal("52.2125"), "l")
    (Decimal('2.2'), Decimal('0.04'), Decimal('52.212'))
    """
    places = 1 if unit == "mm" else 3
    exponent = exact.as_tuple().exponent
    if not isinstance(exponent, int) or exponent >= -places:
        return exact
    return round(exact, places) or round(exact, 3) or exact


def listed(fact: Fact) -> str:
    """One word as it is, several with commas between."""
    return fact if isinstance(fact, str) else ", ".join(fact)
