"""Figures of many parts that papers print, at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from catalog_schema.figures import Figure
from matcher.errors import NotKnown
from matcher.store.catalog.owned import owned_rows
from matcher.store.database.connection import Connection, records


def printed_parts(con: Connection, part_ids: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Return maker, model, ``family``, stock, lead time, range and fuse of parts, readings applied; by name, in order.

    Raises
    ------
    NotKnown
        if one of them is not in the catalog.
    """
    found = {row["part_id"]: row for row in records(con, PRINTED, list(part_ids))}
    if len(found) < len(set(part_ids)):
        typed = owned_rows(con, set(part_ids) - found.keys())
        found |= {name: {key: _value(cell) for key, cell in row.items()} for name, row in typed.items()}
    missing = next((name for name in part_ids if name not in found), None)
    if missing is not None:
        raise NotKnown("part", missing, [], fix="it was withdrawn: boltback catalog history")
    return {name: found[name] for name in part_ids}


PRINTED = """
select part.*, speaker.high_hz, amplifier.fuse_a
from part left join speaker using (part_id) left join amplifier using (part_id)
where part_id in (select unnest($1::varchar[]))
"""


def _value(cell: Any) -> Any:
    """Return a cell of a typed part as the tables hold one: a figure by its number."""
    return cell.value if isinstance(cell, Figure) else cell
