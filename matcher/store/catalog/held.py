"""Another catalog in place of the store's for a while: a few parts, or an earlier version.

Its rows are in ``held_<family>``, temporary tables that the caller has filled.
"""

from __future__ import annotations

from catalog_schema.parts import FAMILIES
from matcher.store.database.connection import Connection
from matcher.store.database.format import PART_INDEX
from matcher.store.database.migrate import lay_again
from matcher.store.database.tables import part_view


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
