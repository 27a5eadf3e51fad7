"""Words of the page: texts, labels, figures and amounts as it shows them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from urllib.parse import urlencode

from catalog_schema.answers import Price
from catalog_schema.figure_labels import figure_label
from catalog_schema.ladder import LADDER
from catalog_schema.units import UNITS, unit_of_field
from matcher.answers.messages import amount, paid_in
from matcher.drawings.words import WORDS as DRAWN
from matcher.lengths import on_the_safe_side, shown_unit
from matcher.papers.numbers import GLUE, SIGNS, Numbers
from matcher.papers.words import Words
from matcher.web.texts import TEXTS

WORDS = Words()


def text(key: str, **facts: object) -> str:
    """Return a text of the page with its placeholders filled in."""
    return TEXTS(key, **facts)


def word(kind: str, name: str) -> str:
    """Return a word of the program as the page shows it, or the word itself."""
    plain = name.replace("_", " ")
    if kind == "rule":
        return DRAWN(f"rule_{name}") if f"rule_{name}" in DRAWN else plain
    if kind == "feature":
        return WORDS(f"feature.{name}") if f"feature.{name}" in WORDS else plain
    return TEXTS(f"{kind}.{name}") if f"{kind}.{name}" in TEXTS else plain


def link(path: str, **query: object) -> str:
    """Return an address with a query; parameters of None are left out."""
    asked = {name: value for name, value in query.items() if value is not None}
    return f"{path}?{urlencode(asked, doseq=True)}" if asked else path


def price_in(price: Price) -> str:
    """Return the currency of a price, and whether it includes tax."""
    return paid_in(price.currency, price.tax_pct)


INTERNAL = re.compile(r" \([a-z]+\.[a-z_]+\)|\b([a-z]+(?:_[a-z0-9]+)+)\b")
"""A rule's name in brackets, or several words joined by underscores."""


def in_words(says: str, places: Mapping[str, str] = MappingProxyType({})) -> str:
    """Return a sentence of an answer without internal names: steps and features in words, no rules in brackets.

    >>> in_words("2 parts: too deep (dash.depth); needs bolt_on, wireless_mirroring")
    '2 parts: too deep; needs bolt on, wireless mirroring'
    >>> in_words("polarity at dash-top", {"dash-top": "Dash top"})
    'polarity at Dash top'
    """
    for name, label in places.items():
        says = re.sub(rf"\bat {re.escape(name)}(?![\w-])", f"at {label}", says)
    for step in LADDER:
        says = says.replace(step, word("step", step).lower())
    return INTERNAL.sub(lambda found: found[1].replace("_", " ") if found[1] else "", says)


def box_label(figure: str, *, unit: bool = False) -> str:
    """Return the label of a figure such as ``speaker.depth_mm`` as that of a box, with its unit if asked for.

    >>> box_label("speaker.depth_mm", unit=True), box_label("opening:tern-8/dash.depth_mm")
    ('Mounting depth (mm)', 'Depth behind the panel')
    """
    label = figure_label(figure, shown_unit=sign if unit else None)
    return f"{label[:1].upper()}{label[1:]}"


def figure(value: object, field: str = "") -> str:
    """Return a figure with the unit of its field; lengths in the shop's unit, a word in words.

    >>> figure(Decimal("4.0"), "impedance_ohm"), figure(True), figure("twin_shaft")
    ('4 Ω', 'yes', 'twin shaft')
    """
    if isinstance(value, bool):
        return text("yes" if value else "no")
    if not isinstance(value, Decimal | int | float):
        return str(value).replace("_", " ")
    unit = UNITS[unit_of_field(field) or "n"].symbol
    return amount(value, unit) if unit == "mm" else f"{amount(value)} {sign(unit)}".strip()


def as_printed(value: Decimal | int | float | None, unit: str = "") -> str:
    """Return an amount as precise as its unit is on paper; lengths in the shop's unit.

    >>> as_printed(Decimal("13.021"), "A"), as_printed(Decimal("142.9"), "mm"), as_printed(4, "ohm"), as_printed(None)
    ('13 A', '143 mm', '4 Ω', 'not known')
    """
    return text("box.unknown") if value is None else Numbers("en").amount(value, unit).replace(GLUE, " ")


def sign(unit: str) -> str:
    """Return the sign of a unit in a box; that of lengths is the shop's."""
    return SIGNS.get(unit, shown_unit(unit))


def spare(margin: Decimal, unit: str) -> str:
    """Return a margin without sign, rounded down: lengths in half steps.

    >>> spare(Decimal("14.375"), "mm"), spare(Decimal("-0.3"), "mm"), spare(Decimal(2), "bolts")
    ('14 mm', '0.3 mm', '2 bolts')
    """
    return amount(abs(on_the_safe_side(margin) if unit == "mm" else margin), unit)


def short_name(label: str) -> str:
    """Return a short name from words; empty if there is no letter in them.

    >>> short_name("Dotterel van, 1998")
    'dotterel-van-1998'
    """
    return re.sub(r"[^\w]+", "-", label.casefold()).strip("-")[:60]
