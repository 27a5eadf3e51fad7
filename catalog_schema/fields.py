"""Fields of the catalog, of vehicles, jobs and computations: label, unit, hint, usual range, tolerance, source.

One table (`catalog_schema.field_table`) is behind all plausibility checks, the published schemas and the page of
fields; forms, papers and messages take their labels from here.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from catalog_schema.field_table import FIELD_TABLE
from catalog_schema.sources import COMMON_PRACTICE, Source
from catalog_schema.units import EXPECTED, UNITS, unit_of_field

OTHER_SYMBOLS = {"insulation_c": "C", "reserve_min": "min", "level_dba": "dBA", "density": "kg/m3"}
"""Symbols of units that only calculators use."""


@dataclass(frozen=True, slots=True)
class Field:
    """One figure of a model: its label and usual range."""

    model: str
    """Name of its class."""
    name: str
    label: str
    unit: str
    """Name of its unit, empty for a number without one."""
    low: Decimal
    """Lower end of the usual range, in the unit."""
    high: Decimal
    """Upper end of the usual range, in the unit."""
    source: Source = COMMON_PRACTICE
    """Source of the usual range."""

    def is_usual(self, value: Decimal) -> bool:
        """Return whether a value in this unit is within the usual range, ends included."""
        return self.low <= value <= self.high

    def shown(self, value: Decimal) -> str:
        """Format a value with its unit.

        >>> field_of("Film", "vlt_pct").shown(Decimal("120.0"))
        '120 %'
        """
        return f"{_plain(value)} {self.symbol}".rstrip()

    def usual(self) -> str:
        """Return the usual range in words: `5 to 250 mm`."""
        return f"{_plain(self.low)} to {self.shown(self.high)}"

    @property
    def symbol(self) -> str:
        """Symbol of the unit."""
        return UNITS[self.unit].symbol if self.unit else OTHER_SYMBOLS.get(self.name, "")


def field_of(model: str | type[Any], name: str) -> Field | None:
    """Return a model's field, by class or class name; None if it is no figure.

    >>> field_of("Speaker", "depth_mm").usual(), field_of("Speaker", "maker")
    ('5 to 250 mm', None)
    """
    return fields_of(model).get(name)


def fields_of(model: str | type[Any]) -> dict[str, Field]:
    """Return every figure of a model by name, those of its base classes first."""
    return _fields_of(*([model] if isinstance(model, str) else [base.__name__ for base in reversed(model.__mro__)]))


@cache
def _fields_of(*models: str) -> dict[str, Field]:
    return {row[0]: _field(one, *row) for one in models for row in FIELD_TABLE.get(one, ())}


def _field(model: str, name: str, label: str, low: int | str, high: int | str) -> Field:
    unit = unit_of_field(name) or (name if name in EXPECTED else "")
    return Field(model, name, label, unit, Decimal(low), Decimal(high))


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
