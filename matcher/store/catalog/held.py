"""Another catalog in place of the store's for a while: a few parts, or an earlier version.

Its rows are in ``held_<family>``, temporary tables that the caller has filled.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from catalog_schema.parts import FAMILIES
from matcher.store.database.connection import Connection
from matcher.store.database.format import PART_INDEX
from matcher.store.database.migrate import lay_again
from matcher.store.database.tables import part_columns, part_view


def lay_held(con: Connection) -> None:
    """Let ``<family>`` and ``part`` show the held rows."""
    for family in FAMILIES:
        con.execute(f"create or replace temp view {family} as select * from temp.held_{family}")
    con.execute(f"create or replace temp {part_view()}")
    con.execute(PART_INDEX.replace("create ", "create or replace temp "))


def take_off(con: Connection) -> None:
    """Return to the store's own catalog."""
    con.execute("drop view temp.part; drop table temp.part_index")
    for family in FAMILIES:
        con.execute(f"drop view temp.{family}; drop table temp.held_{family}")
    lay_again(con)


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
