"""Doubtful figures: outside their usual range, or at odds with another figure of the same row.

A doubtful figure may be correct. In a list its row becomes a problem row; a reading, a document or a form is refused
until somebody confirms the figure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from typing import Any

from catalog_schema.agreements import disagreements
from catalog_schema.documents import inside, item_place
from catalog_schema.fields import Field, field_of
from catalog_schema.figures import Figure
from catalog_schema.parts import FAMILIES, Part
from catalog_schema.problems import Problem

CHECK_UNIT = "check the unit and the decimal mark"
CHECK_BOTH = "check both figures and their columns"


@dataclass(frozen=True, slots=True)
class Doubt:
    """A figure that is probably a mistake: its place, value, usual range, and what to check."""

    problem: Problem
    names: tuple[str, ...]
    """Every figure involved."""


def figure_doubt(model: str | type[Any], name: str, value: object, *, place: str = "") -> Doubt | None:
    """Return the doubt about a single figure; None if its value is usual or unknown, or if it is no figure.

    Parameters
    ----------
    value
        A figure or a number, in the field's unit.

    >>> figure_doubt("Film", "vlt_pct", Decimal(120)).problem.expected
    'a usual visible light transmission, 1 to 97 %'
    """
    field, number = field_of(model, name), number_of(value)
    if field is None or number is None or field.is_usual(number):
        return None
    return Doubt(Problem(_usual(field), column=place or name, found=field.shown(number), fix=CHECK_UNIT), (name,))


def _usual(field: Field) -> str:
    return f"a usual {field.label}, {field.usual()}"


def row_doubts(family: str, row: Mapping[str, object]) -> list[Doubt]:
    """Return the doubts about the figures of one part: by themselves, and against each other.

    Parameters
    ----------
    row
        Field and value: figures and numbers in their fields' units, words, None if unknown. It may include the figures
        of `catalog_schema.agreements.BESIDE`, which lists state and no family stores.

    >>> [one.problem.column for one in row_doubts("speaker", {"cutout_w_mm": 49, "depth_mm": 184})]
    ['depth_mm']
    """
    alone = (figure_doubt(FAMILIES[family], name, value) for name, value in row.items())
    numbers = {name: number for name, value in row.items() if (number := number_of(value)) is not None}
    words = {name: value for name, value in row.items() if isinstance(value, str)}
    found = [doubt for doubt in alone if doubt is not None]
    for one in disagreements(family, numbers, words):
        place = next(name for name in one.names if name in row)
        expected = f"figures that agree: {one.reason}"
        found.append(Doubt(Problem(expected, column=place, found=one.found, fix=CHECK_BOTH), one.names))
    return found


def document_doubts(document: object, place: str = "") -> Iterator[Doubt]:
    """Yield the doubts about every figure of a vehicle, job, opening or part, with its path."""
    if isinstance(document, Part):
        row = {part.name: getattr(document, part.name) for part in fields(document)}
        yield from row_doubts(document.family, row)
        return
    for part in fields(document):  # type: ignore[arg-type]
        value, here = getattr(document, part.name), inside(place, part.name)
        if doubt := figure_doubt(type(document), part.name, value, place=here):
            yield doubt
        elif is_dataclass(value) and not isinstance(value, Figure):
            yield from document_doubts(value, here)
        elif isinstance(value, tuple | list):
            yield from _doubts_of_items(type(document), part.name, value, here)


def _doubts_of_items(model: type[Any], name: str, items: tuple[Any, ...] | list[Any], place: str) -> Iterator[Doubt]:
    for position, item in enumerate(items):
        if is_dataclass(item):
            yield from document_doubts(item, item_place(place, _named(item), position))
        elif doubt := figure_doubt(model, name, item, place=place):
            yield doubt


def _named(item: Any) -> dict[str, Any]:
    return {part.name: getattr(item, part.name) for part in fields(item)}


def number_of(value: object) -> Decimal | None:
    """Return the exact value of a figure or number; None for anything else."""
    if isinstance(value, Figure):
        return value.value
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return None
    return Decimal(str(value)) if isinstance(value, float) else Decimal(value)
