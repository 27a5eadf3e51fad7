"""A column as recipes see it, and a recipe's entry in a map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from catalog_schema.units import TYPOGRAPHY
from matcher.store.lists.list_words import SALE_UNITS, VALUE_WORDS
from matcher.store.mapping.cell_maps import mapped_columns
from matcher.store.mapping.templates import make_template, template_words

MOST = 0.3
"""A recipe for the whole column requires its form in this share of the cells."""

Entry = dict[str, Any]
"""A map's entry for one column."""
Written = str | tuple[str, dict[str, str]]
"""A template, or one with constants for other fields."""


@dataclass(frozen=True, slots=True)
class ListColumn:
    """A column to propose fields for."""

    header: str
    role: str
    family: str
    values: Sequence[str]
    """Its cells, without blanks and words for unknown."""
    unknown: Sequence[str] = ()

    def share(self, *templates: Written) -> float:
        """Return the share of values that one of the templates matches completely."""
        return len(self.matched(*templates)) / len(self.values) if self.values else 0.0

    def matched(self, *templates: Written) -> list[str]:
        """Return the values that one of the templates matches completely."""
        made = [self.template(one) for one in templates]
        return [value for value in self.values if any(one.matches(plain_cell(value)) for one in made)]

    def finds(self, template: Written) -> bool:
        """Whether a template is found in any of the values."""
        made = self.template(template)
        return any(made.find(plain_cell(value)) for value in self.values)

    def template(self, one: Written) -> Any:
        """Compile a template for the fields of this column's family."""
        text = one if isinstance(one, str) else one[0]
        words = {"": list(self.unknown), "pack_of": list(SALE_UNITS)}
        for name in template_words(text) & VALUE_WORDS.keys():
            words |= {name: list(own) for name, own in choice_words(self.family, name).items()}
        return make_template(text, mapped_columns(self.family), words)


def choice_words(family: str, field: str) -> dict[str, dict[str, str]]:
    """Return the suppliers' words for the choices of a family's field, under its name."""
    choices = getattr(mapped_columns(family)[field].kind, "choices", ())
    return {field: {word: own for word, own in VALUE_WORDS[field].items() if own in choices}}


def plain_cell(value: str) -> str:
    """Normalize a cell's symbols and spaces."""
    return " ".join(value.translate(TYPOGRAPHY).split())


@dataclass(frozen=True, slots=True)
class RecipeResult:
    """A recipe's result: the entry, and remarks to check."""

    entry: Entry
    look_at: str = ""
    words: dict[str, dict[str, str]] = field(default_factory=dict)
    """Suppliers' words and ours, by field, for the templates."""


def as_templates(*written: Written) -> Entry:
    """Return an entry whose templates match whole cells."""
    return {"templates": each_template(written)}


def each_template(written: Sequence[Written]) -> list[Entry]:
    """Return templates in a map's form."""
    pairs = [(one, None) if isinstance(one, str) else one for one in written]
    return [{"template": text} | ({"set": set_} if set_ else {}) for text, set_ in pairs]
