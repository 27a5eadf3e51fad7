"""Named things that an opening or a vehicle lists: their figures are fields such as ``panes.tailgate.vlt_pct``."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from catalog_schema.columns import TableColumn, columns_of
from catalog_schema.vehicles import KeepClear, Pane
from matcher.store.database.connection import Connection


@dataclass(frozen=True, slots=True)
class NamedList:
    """One such list: the prefix of its fields, its table, and the column with a thing's name."""

    stem: str
    table: str
    key: str
    model: type

    @property
    def columns(self) -> tuple[TableColumn, ...]:
        """Measurable fields of a thing."""
        return tuple(column for column in columns_of(self.model) if column.name != self.key)

    def field_sql(self, column: TableColumn) -> str:
        """Return the SQL for the field name of a thing's column."""
        return f"'{self.stem}.' || \"{self.key}\" || '.{column.name}'"

    def fields(self, con: Connection, where: str, values: list[str]) -> tuple[TableColumn, ...]:
        """Return the fields of every thing in some rows of the table."""
        rows = con.execute(f"select distinct {self.key} from {self.table} where {where} order by 1", values).fetchall()
        return tuple(
            replace(column, name=f"{self.stem}.{name}.{column.name}") for (name,) in rows for column in self.columns
        )

    def cells(self, document: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
        """Yield the fields of every thing in a document, with their values."""
        for thing in document.get(self.stem) or ():
            for column in self.columns:
                yield f"{self.stem}.{str(thing[self.key]).strip()}.{column.name}", thing.get(column.name)


KEEP_CLEAR = NamedList("keep_clear", "keep_clear", "name", KeepClear)
"""Things that must stay reachable around a dash opening."""
PANES = NamedList("panes", "pane", "pane", Pane)
"""A vehicle's glass."""
