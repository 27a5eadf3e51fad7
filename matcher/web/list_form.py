"""The form of a list before loading: the field and unit of each column."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from starlette.datastructures import FormData

from catalog_schema.columns import family_columns
from catalog_schema.parts import FAMILIES
from matcher.store.importing.report import ColumnRead, TableRead
from matcher.store.mapping.column_units import CANDIDATES
from matcher.store.mapping.proposals import LEFT_OUT, label
from matcher.web.pages import single


@dataclass(frozen=True, slots=True)
class ListForm:
    """Answers about a list from its form."""

    family: str = ""
    supplier: str = ""
    prefix: str = ""
    """Prefix of the supplier's part numbers in the catalog; empty if unchanged."""
    rate: str = ""
    """Exchange rate to the shop's currency; empty if equal or known."""
    columns: Mapping[str, str] = field(default_factory=dict)
    """Fields by header, or that a column is left out; only changes."""
    units: Mapping[str, str] = field(default_factory=dict)
    """Units of bare numbers, by header."""
    kinds: Mapping[str, str] = field(default_factory=dict)
    """Families, by the list's word."""

    @property
    def fields(self) -> dict[str, str]:
        """Fields with units by header, as for a load."""
        return {
            header: f"{name} ({self.units[header]})" if header in self.units and name != LEFT_OUT else name
            for header, name in self.columns.items()
        }


def read_list_form(form: FormData) -> ListForm:
    """Read the form."""
    chosen: dict[str, dict[str, str]] = {"column": {}, "unit": {}, "kind": {}}
    for name in form:
        what, mark, about = name.partition(":")
        if mark and what in chosen and (text := single(form, name)):
            chosen[what][about] = text
    family, supplier, prefix, rate = (single(form, name) for name in ("family", "supplier", "prefix", "rate"))
    return ListForm(family, supplier, prefix, rate, chosen["column"], chosen["unit"], chosen["kind"])


def list_fields(table: TableRead) -> list[tuple[str, str]]:
    """Fields that a column of a table can fill, with labels, for all its families."""
    families = [family for family in table.families.split(", ") if family in FAMILIES]
    found = {column.name: label(family, column.name) for family in families for column in family_columns(family)}
    return [*found.items()]


def shown_fills(table: TableRead, column: ColumnRead) -> str:
    """Labels of the fields that a column fills."""
    labels = dict(list_fields(table))
    names = [name.partition(" (")[0] for name in column.fills.split(", ") if name]
    return ", ".join(labels.get(name, name.replace("_", " ")) for name in names)


def list_units() -> list[str]:
    """Possible units of bare numbers in a list."""
    return list(dict.fromkeys(unit for units in CANDIDATES.values() for unit in units))
