"""Current rows of many parts at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from catalog_schema.figures import Figure
from matcher.errors import NotKnown
from matcher.store.catalog.owned import owned_rows
from matcher.store.database.connection import Connection, records


def part_rows(con: Connection, part_ids: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Return the known figures of parts, readings applied, with ``family``; by name, in order.

    Raises
    ------
    NotKnown
        if one of them is not in the catalog.
    """
    among = "where part_id in (select unnest($1::varchar[]))"
    families = [family for (family,) in con.execute(f"select distinct family from part {among}", [part_ids]).fetchall()]
    found = {
        row["part_id"]: {name: cell for name, cell in row.items() if cell is not None} | {"family": family}
        for family in families
        for row in records(con, f"select * from {family} {among}", list(part_ids))
    }
    if len(found) < len(set(part_ids)):
        typed = owned_rows(con, set(part_ids) - found.keys())
        found |= {name: {key: _value(cell) for key, cell in row.items()} for name, row in typed.items()}
    missing = next((name for name in part_ids if name not in found), None)
    if missing is not None:
        raise NotKnown("part", missing, [], fix="it was withdrawn: boltback catalog history")
    return {name: found[name] for name in part_ids}


def _value(cell: Any) -> Any:
    """Return a cell of a typed part as the tables hold one: a figure by its number."""
    return cell.value if isinstance(cell, Figure) else cell
