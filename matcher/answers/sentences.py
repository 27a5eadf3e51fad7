"""Sentences that keep their template and facts, so that a paper can render them in another language.

The template is its own key; without a translation it stays in English.

>>> caution = Sentence("within {length} of the {thing}", length=Amount(450, "mm"), thing="battery")
>>> caution
'within 450 mm of the battery'
>>> caution.template, caution.facts["length"].number
('within {length} of the {thing}', Decimal('450'))
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from matcher.lengths import length_text, shown_unit

Fact = str | Sequence[str]


class Sentence(str):
    """A sentence with its template and its facts; a fact of several words is joined by commas.

    >>> Sentence("{count} part", "{count} parts", count="1"), Sentence("{count} part", "{count} parts", count="2")
    ('1 part', '2 parts')
    """

    __slots__ = ("facts", "many", "template")
    template: str
    many: str
    """The template for any ``count`` except 1; empty if there is no count."""
    facts: dict[str, Fact]

    def __new__(cls, template: str, many: str = "", /, **facts: Fact) -> Sentence:
        form = many if many and facts["count"] != "1" else template
        made = super().__new__(cls, form.format(**{name: listed(fact) for name, fact in facts.items()}))
        made.template, made.many, made.facts = template, many, facts
        return made

    def __getnewargs_ex__(self) -> tuple[tuple[str, str], dict[str, Fact]]:
        return (self.template, self.many), self.facts


class Amount(str):
    """A number with its unit, as a person writes it."""

    __slots__ = ("number", "unit")
    number: Decimal | None
    unit: str

    def __new__(cls, number: Decimal | int | float | None, unit: str = "", shown: str = "") -> Amount:
        exact = None if number is None else Decimal(str(number))
        text = "not known" if exact is None else length_text(exact, to_tenths=True) if unit == "mm" else _legible(exact)
        made = super().__new__(cls, shown or (f"{text} {shown_unit(unit)}" if unit and exact is not None else text))
        made.number, made.unit = exact, unit
        return made

    def __getnewargs__(self) -> tuple[Decimal | None, str, str]:  # type: ignore[override]
        return self.number, self.unit, str(self)


def _legible(exact: Decimal) -> str:
    """Round to a thousandth: roots and converted volumes have endless decimals.

    >>> _legible(Decimal("52.2125")), _legible(Decimal("0.00004"))
    ('52.212', '0.00004')
    """
    exponent = exact.as_tuple().exponent
    if isinstance(exponent, int) and exponent < -3:
        exact = round(exact, 3) or exact
    return f"{exact.normalize():f}"


def listed(fact: Fact) -> str:
    """Return one word as it is, and several joined by commas."""
    return fact if isinstance(fact, str) else ", ".join(fact)
