"""What every part of the shop stands on: its store and its settings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from catalog_schema.ladder import LADDER
from matcher.errors import InputError
from matcher.settings import DEFAULTS, Settings
from matcher.store.connection import Connection, Store


class Opened:
    """One store and its settings.

    Parameters
    ----------
    path
        The store's file. It is made by the first thing that is loaded into it.
    """

    def __init__(self, path: str | Path = "shop.duckdb") -> None:
        self.store = Store(Path(path))

    def settings(self) -> Settings:
        """The shop's values over the defaults."""
        with self.store.reading() as con:
            return shop_settings(con)

    def set(self, name: str, value: Any, *, by: str | None = None) -> None:
        """Give one of the shop's defaults a value of its own.

        Raises
        ------
        InputError
            where there is no such setting, or the value is no number.
        """
        from catalog_schema.figures import FigureError, read_number
        from matcher.store.provenance import record

        check_setting(name)
        try:
            number = read_number(value, "n")
        except FigureError as error:
            raise InputError(f"{name}: found {error.found!r}, expected a number") from None
        with self.store.changing() as con:
            before = con.execute("select value from setting where name = ?", [name]).fetchone()
            con.execute("insert or replace into setting values (?, ?)", [name, number])
            change = f"{number}" if before is None else f"{number}, before {before[0].normalize():f}"
            record(con, "setting", f"setting:{name}", change, by=by)


def shop_settings(con: Connection) -> Settings:
    """The defaults with the shop's own values over them."""
    return Settings(dict(con.execute("select name, value from setting").fetchall()))


def check_setting(name: str) -> None:
    """Refuse a name that no setting has."""
    if name not in DEFAULTS:
        from matcher.errors import NotKnown

        raise NotKnown("setting", name, list(DEFAULTS), cure="`boltback settings` lists them")


def split_place(opening: str) -> tuple[str, str]:
    """``vehicle/opening`` as its two names."""
    vehicle_id, slash, opening_id = opening.partition("/")
    if not (slash and vehicle_id and opening_id):
        raise InputError(f"{opening!r} names no opening", cure="write VEHICLE/OPENING, such as tern-8/dash-top")
    return vehicle_id, opening_id


def check_step(step: str) -> None:
    """Refuse a word that is no step of the ladder."""
    if step not in LADDER:
        raise InputError(f"{step!r} is no step of the alteration ladder", cure=f"one of {', '.join(LADDER)}")
