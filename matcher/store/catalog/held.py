"""Another catalog laid over the store's for a while: of a few parts, or of an earlier version.

It is held in ``held_<family>``, temporary tables that anyone who asks has filled.
"""

from __future__ import annotations

from catalog_schema.parts import FAMILIES
from matcher.store.database.connection import Connection
from matcher.store.database.format import PART_INDEX
from matcher.store.database.migrate import lay_again
from matcher.store.database.tables import part_view


def lay_held(con: Connection) -> None:
    """From now on ``<family>`` and ``part`` give what is held."""
    for family in FAMILIES:
        con.execute(f"create or replace temp view {family} as select * from temp.held_{family}")
    con.execute(f"create or replace temp {part_view()}")
    con.execute(PART_INDEX.replace("create ", "create or replace temp "))


def take_off(con: Connection) -> None:
    """The store's own catalog again."""
    con.execute("drop view temp.part; drop table temp.part_index")
    for family in FAMILIES:
        con.execute(f"drop view temp.{family}; drop table temp.held_{family}")
    lay_again(con)
