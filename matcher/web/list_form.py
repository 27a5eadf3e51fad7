"""The form of a list before it is loaded: under each column the field that it fills, and the unit of its numbers."""

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
    """Answers given about a list on its form."""

    family: str = ""
    supplier: str = ""
    prefix: str = ""
    """Prefix of the supplier's numbers in the catalog; empty if nothing is to be changed."""
    rate: str = ""
    """Exchange rate of its currency to the shop's; empty if it is the shop's or known."""
    columns: Mapping[str, str] = field(default_factory=dict)
    """By header the field, or that it is left out; only what was changed."""
    units: Mapping[str, str] = field(default_factory=dict)
    """By header the unit of bare numbers."""
    kinds: Mapping[str, str] = field(default_factory=dict)
    """By the list's word the family."""

    @property
    def fields(self) -> dict[str, str]:
        """By header the field with its unit, as a load takes it."""
        return {
            header: f"{name} ({self.units[header]})" if header in self.units and name != LEFT_OUT else name
            for header, name in self.columns.items()
        }


def read_list_form(form: FormData) -> ListForm:
    """The form as it was sent."""
    chosen: dict[str, dict[str, str]] = {"column": {}, "unit": {}, "kind": {}}
    for name in form:
        what, mark, about = name.partition(":")
        if mark and what in chosen and (text := single(form, name)):
            chosen[what][about] = text
    family, supplier, prefix, rate = (single(form, name) for name in ("family", "supplier", "prefix", "rate"))
    return ListForm(family, supplier, prefix, rate, chosen["column"], chosen["unit"], chosen["kind"])


def list_fields(table: TableRead) -> list[tuple[str, str]]:
    """The fields that a column of a table may fill, with their labels: those of all its families."""
    families = [family for family in table.families.split(", ") if family in FAMILIES]
    found = {column.name: label(family, column.name) for family in families for column in family_columns(family)}
    return [*found.items()]


def shown_fills(table: TableRead, column: ColumnRead) -> str:
    """The fields that a column fills, by their labels."""
    labels = dict(list_fields(table))
    names = [name.partition(" (")[0] for name in column.fills.split(", ") if name]
    return ", ".join(labels.get(name, name.replace("_", " ")) for name in names)


def list_units() -> list[str]:
    """The units that bare numbers of a list may be in."""
    return list(dict.fromkeys(unit for units in CANDIDATES.values() for unit in units))
