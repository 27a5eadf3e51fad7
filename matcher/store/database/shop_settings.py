"""The shop's settings in its store."""

from __future__ import annotations

from catalog_schema.notation import Notation
from matcher.settings import Settings
from matcher.store.database.connection import Connection


def shop_settings(con: Connection) -> Settings:
    """Return the shop's settings: its own values over the defaults."""
    numbers, words = (con.execute(f"select * from {table}").fetchall() for table in ("setting", "word_setting"))
    return Settings(dict(numbers), dict(words))


def shop_notation(con: Connection) -> Notation:
    """Return the shop's format of numbers and amounts of money."""
    return shop_settings(con).notation()
