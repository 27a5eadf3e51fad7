"""The unit of a column's bare numbers: from its header or its map, else from cells with a unit.

If a column mixes units, the user is asked, unless its bare numbers are usual in only one of them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction

from catalog_schema.fields import Field, field_of
from catalog_schema.figures import read_number, split_header
from catalog_schema.parts import FAMILIES
from catalog_schema.problems import FieldError
from catalog_schema.units import TYPOGRAPHY, known_units, unit_spelled
from matcher.errors import Problem

_WORDS_TOO = frozenset({"in", "m", "a", "d", "h", "s", "g", "v", "'", '"'})
"""Spellings that also are other words or letters, unless they are in brackets."""
_WITHIN = frozenset({"mm", "cm", "inch", "inches", "zoll", "kg", "hz", "db"})
"""Spellings that are units anywhere."""
_NUMBER = re.compile(r"(?:\d+[ -])?\d+ ?[/⁄] ?\d+|\d+(?:[.,]\d+)*")


def header_unit(header: str) -> str | None:
    """Return the unit that a header names, in brackets, as its last word, or as an unambiguous word.

    >>> header_unit("Depth (in.)"), header_unit("Hole mm"), header_unit("Built in"), header_unit("Outside mm W")
    ('in', 'mm', None, 'mm')
    """
    unit = split_header(header)[1]
    words = header.replace("_", " ").casefold().split()
    within = {unit_spelled(word) for word in words if word in _WITHIN}
    if unit or len(within) == 1:
        return unit or within.pop()
    last = words[-1] if words else ""
    return last if last == "awg" else None if last in _WORDS_TOO else unit_spelled(last)


CANDIDATES = {
    "mm": ("mm", "cm", "in"),
    "in": ("in", "cm", "mm"),
    "m": ("m", "ft"),
    "l": ("l", "ft3"),
    "kg": ("kg", "lb", "g"),
    "cm2": ("cm2", "in2"),
    "mm2": ("mm2", "awg"),
    "v": ("v", "mv"),
    "hz": ("hz", "khz"),
    "ma": ("ma", "a"),
}
"""Possible units of a field's bare numbers; any other field's are in its own."""
MOSTLY = Fraction(4, 5)
"""Bare numbers may be in a unit if this share of them is usual in it: the rest are errors, asked about later."""


def bare_units(family: str, name: str, texts: Mapping[str, int]) -> list[str]:
    """Return the possible units of a column's bare numbers, by usual values; empty if no number is bare.

    Parameters
    ----------
    texts
        The column's texts with their counts.
    """
    field = field_of(FAMILIES[family], name)
    bare, units = _bare_and_units(field, texts) if field else ({}, Counter())
    if field is None or not field.unit or not bare:
        return []
    tried = dict.fromkeys([*units, *CANDIDATES.get(field.unit, (field.unit or "n",))])
    if any(re.search(r"\d ?[/⁄] ?\d", text.translate(TYPOGRAPHY)) for text in bare):
        tried = {unit: None for unit in tried if unit in ("in", "ft", "ft3", "lb", "in2")}
    count = sum(bare.values())
    usual = [unit for unit in tried if sum(n for t, n in bare.items() if _is_usual(field, t, unit)) >= MOSTLY * count]
    most = units.most_common(1)[0] if units else ("", 0)
    return [most[0]] if len(units) == 1 and most[1] >= count and most[0] in usual else usual


def bare_unit(header: str, family: str, name: str, texts: Mapping[str, int]) -> str | Problem | None:
    """Return the unit of a column's bare numbers by its cells; None for the field's own, a problem if it is open."""
    field = field_of(FAMILIES[family], name)
    if field is None or not field.unit:
        return None
    bare, units = _bare_and_units(field, texts)
    if not bare or not units or set(units) == {field.unit}:
        return None
    found = bare_units(family, name, texts)
    return found[0] if len(found) == 1 else _question(header, field, next(iter(bare)), [*units])


def _bare_and_units(field: Field, texts: Mapping[str, int]) -> tuple[dict[str, int], Counter[str]]:
    """Return the cells with a bare number, and the units of the others, with their counts."""
    units: Counter[str] = Counter()
    bare: dict[str, int] = {}
    for text, count in texts.items():
        unit = _unit_in(text, field.unit) if field.unit else None
        if unit:
            units[unit] += count
        elif _NUMBER.search(text):
            bare[text] = count
    return bare, units


def _unit_in(text: str, unit: str) -> str | None:
    found = re.sub(r"^.*\d\s*", "", text.translate(TYPOGRAPHY).strip().rstrip(")"), flags=re.DOTALL)
    spelled = unit_spelled(found)
    return spelled if spelled in known_units(unit) else None


def _is_usual(field: Field, text: str, unit: str) -> bool:
    values = [number for found in _NUMBER.findall(text.translate(TYPOGRAPHY)) for number in _read(found, field, unit)]
    return not values or field.is_usual(max(values))


def _read(text: str, field: Field, unit: str) -> Iterable[Decimal]:
    try:
        number = read_number(f"{text} {unit}", field.unit)
    except FieldError:
        return []
    return [] if number is None else [number]


def _question(header: str, field: Field, bare: str, units: list[str]) -> Problem:
    stem = field.name.removesuffix(f"_{field.unit}")
    ways = " or ".join(f'"{stem} ({unit})"' for unit in dict.fromkeys([field.unit, *units]))
    return Problem(
        f"one unit for the bare numbers of the column: other cells are in {', '.join(units)}",
        column=header,
        found=bare,
        fix=f"say it in the map: {ways}",
    )
