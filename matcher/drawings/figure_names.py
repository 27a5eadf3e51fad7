"""Label of a missing figure on a drawing, in the drawing's language."""

from __future__ import annotations

from functools import cache

from catalog_schema.fields import called
from catalog_schema.nested import ORIGINALS, Cut
from catalog_schema.parts import FAMILIES
from catalog_schema.schemas import read_schema
from catalog_schema.vehicles import OPENINGS, KeepClear
from matcher.drawings.words import DrawingWords


def figure_name(name: str, words: DrawingWords) -> str:
    """Return the label of a figure such as ``opening:tern/door.depth_mm`` or ``part.magnet_mm``."""
    owner, _, field = name.rpartition(".")
    return words.again(_called(field, is_opening=owner.startswith("opening")))


@cache
def _called(field: str, *, is_opening: bool) -> str:
    """Return the label of a field, or its name in plain words if no schema has it."""
    models = read_schema("vehicle")["$defs"]
    nested: dict[str, tuple[type, ...]] = {"cut_": (Cut,), "original_": tuple(ORIGINALS.values())}
    prefix = next((one for one in nested if is_opening and field.startswith(one)), "")
    openings = nested.get(prefix, (*OPENINGS.values(), KeepClear))
    found = [models[model.__name__] for model in openings] if is_opening else map(read_schema, FAMILIES)
    name = field.removeprefix(prefix)
    return called(next((one["properties"][name] for one in found if name in one["properties"]), {}), field)
