"""Faults of valid rows that cannot be loaded because their numbers are taken."""

from __future__ import annotations

import re

from catalog_schema.problems import Problem
from matcher.store.catalog.set_aside import Stranger, Twin
from matcher.store.database.connection import quoted

_TWIN_CURE = "load this row alone if it is the right one, else drop it: boltback catalog problems --drop"
_STRANGER_CURE = "give it a number of its own, or take the other out of its list"
SIX = re.compile(r"^-?\d+\.\d{6}$")
"""A figure as the catalog stores it; an amount keeps its two decimals."""
MOST_FIELDS = 3
"""Most differing fields to name."""


def twin_faults(twin: Twin, place: str) -> list[Problem]:
    """Return the differences between a row and the loaded row with the same number, the price first.

    Parameters
    ----------
    place
        Position of the loaded row.
    """
    differs = sorted(twin.differs, key=lambda one: one[0] != "price")
    return [
        Problem(
            f"{_plain(other) or 'nothing'} as in {place}, which has the same number",
            column=name,
            found=_plain(mine),
            fix=_TWIN_CURE,
        )
        for name, mine, other in differs[:MOST_FIELDS]
    ]


def stranger_fault(one: Stranger, family: str) -> Problem:
    """Fault of a row whose number belongs to a different part of the catalog."""
    holder = one.supplier or "the shop's own lists"
    if one.supplier == one.own_supplier and one.family != family:
        return Problem(
            f"a number of its own: a part of {one.family} has this one",
            column="part_id",
            found=one.part_id,
            fix=_STRANGER_CURE,
        )
    own = one.own_supplier or "NAME"
    if one.supplier == one.own_supplier:
        expected = f"{one.maker}, the maker of this number in the catalog"
        fix = f"is it another supplier's list? --supplier NAME --prefix P; is it of {holder}? --supplier {quoted(own)}"
        return Problem(expected, column="maker", found=one.own_maker, fix=fix)
    expected = f"a number that no other supplier has: {holder} has it for {one.maker} {one.model}"
    fix = f"give the numbers of this supplier a prefix, kept from then on: --supplier {quoted(own)} --prefix P"
    if one.guessed and one.supplier:
        fix += f"; is the list of {holder}? --supplier {quoted(one.supplier)}"
    elif one.supplier:
        fix += f"; are the two one? boltback catalog supplier {quoted(one.supplier)} --rename {quoted(own)}"
    return Problem(expected, column="part_id", found=one.part_id, fix=fix)


def _plain(text: str | None) -> str:
    """Remove the trailing zeros of a figure; other text is unchanged."""
    return re.sub(r"^(-?\d+)(?:\.0{6}|(\.\d*?)0*)$", r"\1\2", text) if text and SIX.search(text) else text or ""
