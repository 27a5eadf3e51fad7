"""Things that an opening or a vehicle lists by name: their figures are fields such as ``panes.tailgate.vlt_pct``."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from catalog_schema.columns import TableColumn, columns_of
from catalog_schema.vehicles import KeepClear, Pane
from matcher.store.database.connection import Connection


@dataclass(frozen=True, slots=True)
class NamedList:
    """One such list: how its fields begin, its table, and the column that holds the name of a thing."""

    stem: str
    table: str
    key: str
    model: type

    @property
    def columns(self) -> tuple[TableColumn, ...]:
        """Fields of a thing that can be measured."""
        return tuple(column for column in columns_of(self.model) if column.name != self.key)

    def field_sql(self, column: TableColumn) -> str:
        """SQL of the field that a column of a thing is."""
        return f"'{self.stem}.' || \"{self.key}\" || '.{column.name}'"

    def fields(self, con: Connection, where: str, values: list[str]) -> tuple[TableColumn, ...]:
        """The fields of every thing that some rows of the table list."""
        rows = con.execute(f"select distinct {self.key} from {self.table} where {where} order by 1", values).fetchall()
        return tuple(
            replace(column, name=f"{self.stem}.{name}.{column.name}") for (name,) in rows for column in self.columns
        )

    def cells(self, document: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
        """The fields of every thing that a document lists, with what it says of them."""
        for thing in document.get(self.stem) or ():
            for column in self.columns:
                yield f"{self.stem}.{str(thing[self.key]).strip()}.{column.name}", thing.get(column.name)


KEEP_CLEAR = NamedList("keep_clear", "keep_clear", "name", KeepClear)
"""Things that must stay reachable around a dash opening."""
PANES = NamedList("panes", "pane", "pane", Pane)
"""A vehicle's glass."""
