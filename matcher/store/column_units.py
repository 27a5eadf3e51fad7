"""The unit of the bare numbers of a column: told by its header or its map, else by the cells that have one.

A column that mixes units is asked, unless its bare numbers are usual in one of them only.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from decimal import Decimal

from catalog_schema.fields import Field, field_of
from catalog_schema.figures import FigureError, read_number, split_header
from catalog_schema.parts import FAMILIES
from catalog_schema.units import TYPOGRAPHY, known_units, unit_spelled
from matcher.errors import Problem

_WORDS_TOO = frozenset({"in", "m", "a", "d", "h", "s", "g", "v", "'", '"'})
"""Spellings that are words or letters of other meaning too, unless they stand in brackets."""
_NUMBER = re.compile(r"(?:\d+[ -])?\d+ ?[/⁄] ?\d+|\d+(?:[.,]\d+)*")


def header_unit(header: str) -> str | None:
    """The unit that a header names, in brackets or as its last word.

    >>> header_unit("Depth (in.)"), header_unit("Hole mm"), header_unit("Built in")
    ('in', 'mm', None)
    """
    unit = split_header(header)[1]
    last = header.split()[-1:] if unit is None else []
    word = last[0].casefold() if last else ""
    return unit or (unit_spelled(word) if word and word not in _WORDS_TOO else None)


def bare_unit(header: str, family: str, name: str, texts: Mapping[str, int]) -> str | Problem | None:
    """The unit of a column's bare numbers as its cells tell it; None for the field's own, a problem to be asked.

    Parameters
    ----------
    texts
        What stands in the column, and how often.
    """
    field = field_of(FAMILIES[family], name)
    if field is None or not field.unit:
        return None
    units: Counter[str] = Counter()
    bare: dict[str, int] = {}
    for text, count in texts.items():
        unit = _unit_in(text, field.unit)
        if unit:
            units[unit] += count
        elif _NUMBER.search(text):
            bare[text] = count
    if not bare or not units or set(units) == {field.unit}:
        return None
    usual = [unit for unit in dict.fromkeys([*units, field.unit]) if all(_is_usual(field, text, unit) for text in bare)]
    if len(usual) == 1:
        return usual[0]
    most, count = units.most_common(1)[0]
    if len(units) == 1 and count >= sum(bare.values()) and most in usual:
        return most
    return _question(header, field, next(iter(bare)), [*units])


def _unit_in(text: str, unit: str) -> str | None:
    found = re.sub(r"^.*\d\s*", "", text.translate(TYPOGRAPHY).strip(), flags=re.DOTALL)
    spelled = unit_spelled(found)
    return spelled if spelled in known_units(unit) else None


def _is_usual(field: Field, text: str, unit: str) -> bool:
    values = [number for found in _NUMBER.findall(text.translate(TYPOGRAPHY)) for number in _read(found, field, unit)]
    return not values or field.is_usual(max(values))


def _read(text: str, field: Field, unit: str) -> Iterable[Decimal]:
    try:
        number = read_number(f"{text} {unit}", field.unit)
    except FigureError:
        return []
    return [] if number is None else [number]


def _question(header: str, field: Field, bare: str, units: list[str]) -> Problem:
    stem = field.name.removesuffix(f"_{field.unit}")
    ways = " or ".join(f'"{stem} ({unit})"' for unit in dict.fromkeys([field.unit, *units]))
    return Problem(
        f"one unit for the bare numbers of the column: other cells are in {', '.join(units)}",
        column=header,
        found=bare,
        cure=f"say it in the map: {ways}",
    )
