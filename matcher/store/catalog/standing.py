"""A few parts as the whole catalog."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from catalog_schema.parts import FAMILIES
from matcher.store.catalog.held import lay_held, take_off
from matcher.store.database.connection import Connection
from matcher.store.database.tables import part_columns


@contextmanager
def holding_only(con: Connection, part_ids: Iterable[str]) -> Iterator[None]:
    """Restrict ``<family>`` and ``part`` to these parts, with their current figures.

    A withdrawn part keeps its last claims: it may still be in the workshop.
    """
    names = sorted(part_ids)
    for family in FAMILIES:
        columns = ", ".join(f'"{name}"' for name, _ in part_columns(family))
        con.execute(
            f"create temp table held_{family} as select {columns} from {family} where part_id in (select unnest($1)) "
            f"union all (select {columns} from {family}_rows where part_id in (select unnest($1)) "
            f"and part_id not in (select part_id from {family}) "
            "qualify row_number() over (partition by part_id order by since desc) = 1)",
            [names],
        )
    lay_held(con)
    try:
        yield
    finally:
        take_off(con)
