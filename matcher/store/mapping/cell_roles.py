"""Evidence from a column's cells: whether they can be read as a field, and the role they suggest."""

from __future__ import annotations

import re
from collections.abc import Sequence

from catalog_schema.columns import TableColumn as Field
from catalog_schema.kinds import ChoiceKind, FigureKind, FlagKind
from catalog_schema.notation import Notation
from catalog_schema.problems import FieldError
from catalog_schema.units import known_units
from matcher.store.lists.list_words import SALE_UNITS, ours, plain_words, without_accents
from matcher.store.mapping.cell_maps import BARE

ANY_CURRENCY = Notation(currency=None)


def pieces_in_header(header: str) -> str | None:
    """Return the number of pieces that a price is for, by its header.

    >>> pieces_in_header("Dealer ($/pr)"), pieces_in_header("Preis je Paar"), pieces_in_header("Unit price")
    ('2', '2', None)
    """
    found = re.search(r"(?:/ ?|\b(?:per|je|pro|par|za|la) )([a-z]+)\b", without_accents(header))
    return SALE_UNITS.get(found[1]) if found else None


def reads_as(column: Field, text: str, unit: str | None) -> bool:
    """Whether a cell can be read as a field, or as one of its two figures."""
    kind = column.kind
    if isinstance(kind, FigureKind) and unit in known_units(kind.unit) and BARE.fullmatch(text):
        text = f"{text} {unit}"
    if isinstance(kind, ChoiceKind | FlagKind) and ours(column.name, [text]):
        return True
    if column.name == "pack_of" and plain_words(text) in SALE_UNITS:
        return True
    try:
        kind.read(text, ANY_CURRENCY)
    except FieldError as error:
        return bool(error.alternatives)
    return True


_CELLS: tuple[tuple[str, str], ...] = (
    ("impedance", r"(\d ?x ?)?\d+([.,]\d+)? ?(ohms?|Ω|ω)"),
    ("sens", r"\d{2,3}([.,]\d+)? ?dB.*"),
    ("range", r"\d+([.,]\d+)?k? ?(Hz|kHz)? ?(-|–|to|bis|…|\.\.) ?\d+([.,]\d+)? ?k?(Hz)?"),
    ("rms", r".*\d+ ?W? ?(rms|RMS).*"),
    ("price", r"([€$£]|EUR|USD|GBP|CZK|PLN) ?\d.*|\d[\d., ']*([.,]-+)? ?([€$£]|EUR|Kč|zł|PLN|CZK|GBP)"),
)
"""Roles, and the form of their cells."""


def role_by_cells(values: Sequence[str]) -> str | None:
    """Return the role of a column by its cells only, if all have the role's form.

    >>> role_by_cells(["4 Ohm", "2x4 Ω"]), role_by_cells(["pair", "each"]), role_by_cells(["55 mm"])
    ('impedance', 'pack_of', None)
    """
    most = 0.8 * len(values)
    for role, form in _CELLS:
        if sum(bool(re.fullmatch(form, value, re.IGNORECASE)) for value in values) >= most:
            return role
    if sum(plain_words(value) in SALE_UNITS and not value.isdigit() for value in values) >= most:
        return "pack_of"
    return "shape" if values and all(ours("shape", [value]) for value in values) else None


def are_numbers(values: Sequence[str]) -> bool:
    """Whether values are part numbers: all different, each one word with a digit."""
    return len(set(values)) == len(values) > 0 and all(re.fullmatch(r"\S*\d\S*", value) for value in values)


def are_words(values: Sequence[str]) -> bool:
    """Whether most values have words."""
    return sum(bool(re.search(r"[^\W\d]{3}", value)) for value in values) >= 0.8 * len(values)
