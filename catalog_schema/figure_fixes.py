"""Fixes for a text that is no figure, and its display in messages."""

from __future__ import annotations

import re
from decimal import Decimal

from catalog_schema.units import EXPECTED, UNITS, known_units

BLANK_FIX = "leave the cell empty if the figure is not known"

_ESTIMATE = re.compile(r"(?:ca\b|circa|~|≈|approx|about|etwa).*")
_PLACEHOLDER = re.compile(r"n\.?/?a\.?|tb[adc]|nan|none|null|unknown|[-?.]+")
_TWO_NUMBERS = re.compile(r"\d+(?:[.,]\d+)?\s*(?:-|/|\.\.+|…|to|bis|or|oder)\s*\d.*")
_PEAK = re.compile(r"max|peak|pmpo|musi[ck]|spitze")
_SIZE = re.compile(r"""\d['"]?\s*[a-z]{0,2}\s*[x×*]\s*\d""")


def likely_fix(text: str, unit: str) -> str:
    """Return the fix for a text that is no figure in a unit, judging by its form."""
    low, kind = text.casefold(), UNITS[unit].kind
    if kind == "power" and _PEAK.search(low):
        return f"a maximum is not a continuous power: give the RMS figure; {BLANK_FIX}"
    if _SIZE.search(low):
        if kind == "length":
            return "this names a size, never a measure: give width and height in columns of their own"
        return "give one number, for one channel or one coil"
    if _ESTIMATE.fullmatch(low):
        return "write the number alone and (estimate) behind it"
    if _TWO_NUMBERS.fullmatch(low):
        return "give one number" + (", or its middle with a tolerance such as ±1" if kind == "length" else "")
    return BLANK_FIX if _PLACEHOLDER.fullmatch(low) else f"use {number_alone(unit)}; {BLANK_FIX}"


def number_alone(unit: str) -> str:
    """Describe valid forms of a figure: a number alone, or with a unit that converts to this one."""
    symbols = ["AWG" if name == "awg" else UNITS[name].symbol for name in known_units(unit)]
    return f"a number alone or with {', '.join(symbols)}" if unit != "n" else "a number alone"


def shown_cell(cell: object) -> str:
    """Return a cell in at most 60 printable characters."""
    if isinstance(cell, float | Decimal | bool) or (isinstance(cell, int) and abs(cell) < 10**60):
        cell = str(cell)
    if not isinstance(cell, str):
        return "a number of over 60 digits" if isinstance(cell, int) else f"a value of type {type(cell).__name__}"[:60]
    short = cell if len(cell) <= 60 else cell[:59] + "…"
    return "".join(c if c.isprintable() else " " if c.isspace() else "\ufffd" for c in short)


def single_number(unit: str) -> str:
    """Describe unambiguous forms of an ambiguous text."""
    return f"{EXPECTED[unit]} that can be read in one way"
