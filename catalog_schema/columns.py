"""The columns of a table, derived from its model."""

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
        """Whether it has a tolerance, in a separate column."""
        return isinstance(self.kind, FigureKind)

    @property
    def is_length(self) -> bool:
        """Whether its basis sets the default tolerance."""
        return self.is_figure and self.name.endswith(LENGTH_SUFFIX)

    @property
    def tol_name(self) -> str:
        return f"{self.name}_tol"

    @property
    def unit(self) -> str:
        return self.kind.unit if isinstance(self.kind, FigureKind) else (unit_of_field(self.name) or "")


def columns_of(model: type[Any]) -> tuple[TableColumn, ...]:
    """Return the columns of a model of parts or openings, in order."""
    return _columns(cast(Hashable, model))


@cache
def _columns(model: Any) -> tuple[TableColumn, ...]:
    hints = get_type_hints(model, include_extras=True)
    found = []
    for field in dataclasses.fields(model):
        kind = kind_in(hints[field.name])
        if kind is None:
            continue  # nested parts of a document have tables of their own
        required = field.default is dataclasses.MISSING
        found.append(TableColumn(field.name.rstrip("_"), kind, required, None if required else field.default))
    return tuple(found)


def family_columns(family: str) -> tuple[TableColumn, ...]:
    """Return the columns of a family's table."""
    return columns_of(FAMILIES[family])
