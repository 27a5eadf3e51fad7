"""The columns of a table, read off its model: one fact, one place."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable
from dataclasses import dataclass
from functools import cache
from typing import Any, cast, get_type_hints

from catalog_schema.figures import unit_of_field
from catalog_schema.kinds import FigureKind, Kind, kind_in
from catalog_schema.parts import FAMILIES

LENGTH_SUFFIX = "_mm"


@dataclass(frozen=True, slots=True)
class TableColumn:
    """One column of a family's or an opening's table."""

    name: str
    kind: Kind
    required: bool
    default: Any

    @property
    def is_figure(self) -> bool:
        """Whether it carries a tolerance, in a column of its own beside it."""
        return isinstance(self.kind, FigureKind)

    @property
    def is_length(self) -> bool:
        """Whether its basis sets a tolerance where none is given."""
        return self.is_figure and self.name.endswith(LENGTH_SUFFIX)

    @property
    def tol_name(self) -> str:
        return f"{self.name}_tol"

    @property
    def unit(self) -> str:
        return self.kind.unit if isinstance(self.kind, FigureKind) else (unit_of_field(self.name) or "")


def columns_of(model: type[Any]) -> tuple[TableColumn, ...]:
    """The columns of a model of parts or openings, in their order."""
    return _columns(cast(Hashable, model))


@cache
def _columns(model: Any) -> tuple[TableColumn, ...]:
    hints = get_type_hints(model, include_extras=True)
    found = []
    for field in dataclasses.fields(model):
        kind = kind_in(hints[field.name])
        if kind is None:
            continue  # a nested part of a document: it has a table of its own
        required = field.default is dataclasses.MISSING
        found.append(TableColumn(field.name.rstrip("_"), kind, required, None if required else field.default))
    return tuple(found)


def family_columns(family: str) -> tuple[TableColumn, ...]:
    """The columns of a family's table."""
    return columns_of(FAMILIES[family])
