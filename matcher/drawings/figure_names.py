"""What a missing figure is called on a drawing: as its schema describes it, in the drawing's language."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from catalog_schema.parts import FAMILIES
from catalog_schema.schemas import read_schema
from catalog_schema.vehicles import OPENINGS
from matcher.drawings.words import Words


def figure_name(name: str, words: Words) -> str:
    """A figure as a check names it, such as ``opening:tern/door.depth_mm`` or ``part.magnet_mm``, in words."""
    owner, _, field = name.rpartition(".")
    return words.again(_described(field, is_opening=owner.startswith("opening")))


@cache
def _described(field: str, *, is_opening: bool) -> str:
    """The description of a field; its name in plain words where no schema has it."""
    found = _openings(field) if is_opening else _parts(field)
    return next(found, field.replace("_", " ")).rstrip(".")


def _openings(field: str) -> Iterator[str]:
    models = read_schema("vehicle")["$defs"]
    for opening in (*(model.__name__ for model in OPENINGS.values()), "KeepClear", "Cut"):
        found = models.get(opening, {}).get("properties", {}).get(field, {}).get("description")
        if found:
            yield found


def _parts(field: str) -> Iterator[str]:
    for family in FAMILIES:
        found = read_schema(family)["properties"].get(field, {}).get("description")
        if found:
            yield found
