"""The shop: the one way in, for commands, pages, papers and tests.

>>> from matcher import Shop
>>> shop = Shop("no-such-folder/shop.duckdb")
>>> shop.fit("00123", "tern-8/dash-top")
Traceback (most recent call last):
...
matcher.errors.InputError: there is no store at no-such-folder/shop.duckdb
cure: `boltback demo` makes one with demo data, `boltback catalog load` makes one from your lists
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalog_schema.jobs import DEFAULT_STEP, LADDER
from matcher.errors import InputError
from matcher.settings import DEFAULTS, Settings
from matcher.store.connection import Connection, Store

if TYPE_CHECKING:
    from catalog_schema.answers import Fit, Listing, Options


class Shop:
    """One store and its settings.

    Parameters
    ----------
    path
        The store's file. It is made by the first thing that is loaded into it.
    """

    def __init__(self, path: str | Path = "shop.duckdb") -> None:
        self.store = Store(Path(path))

    def fit(
        self, part_id: str, opening: str, *, adapter: str | None = None, alteration: str = DEFAULT_STEP
    ) -> Fit:
        """Whether a part goes into an opening, by how much, and what that would alter.

        Parameters
        ----------
        part_id
            A part of the catalog.
        opening
            ``vehicle/opening``.
        adapter
            An adapter between them, by its part_id.
        alteration
            The step of the alteration ladder at which the verdict is given.

        Raises
        ------
        InputError
            where a name is not known, or the part is of another kind than the opening.
        """
        from matcher.explain.wording import fit_with_words
        from matcher.search.fit import fit_part

        vehicle_id, opening_id = split_place(opening)
        check_step(alteration)
        with self.store.reading() as con:
            settings = shop_settings(con)
            fit = fit_part(con, part_id, vehicle_id, opening_id, adapter, alteration, settings)
        return fit_with_words(fit)

    def options(self, job_id: str, *, top: int = 5) -> Options:
        """The best packages for a job, exactly ranked, and the best at each of its budgets.

        Raises
        ------
        InputError
            where the job is not known.
        """
        from matcher.search.options import rank_options

        with self.store.reading() as con:
            return rank_options(con, job_id, top, shop_settings(con))

    def load_vehicle(self, path: str | Path) -> str:
        """Take in a vehicle's file; the vehicle's name."""
        from matcher.store.documents import read_document, save_vehicle

        text = read_document(Path(path), "vehicle")
        with self.store.changing() as con:
            return save_vehicle(con, text, str(path))

    def load_job(self, path: str | Path) -> str:
        """Take in a job's file; the job's name."""
        from matcher.store.documents import read_document, save_job

        text = read_document(Path(path), "job")
        with self.store.changing() as con:
            return save_job(con, text, str(path))

    def settings(self) -> Settings:
        """The shop's values over the defaults."""
        with self.store.reading() as con:
            return shop_settings(con)

    def vehicles(self) -> Listing:
        """Every vehicle of the store."""
        from matcher.explain.holdings import vehicle_list

        with self.store.reading() as con:
            return vehicle_list(con)

    def vehicle(self, vehicle_id: str) -> Listing:
        """A vehicle's openings, with every figure as it counts now."""
        from matcher.explain.holdings import vehicle_figures

        with self.store.reading() as con:
            return vehicle_figures(con, vehicle_id)

    def jobs(self) -> Listing:
        """Every job of the store."""
        from matcher.explain.holdings import job_list

        with self.store.reading() as con:
            return job_list(con)

    def job(self, job_id: str) -> Listing:
        """A job's limits and wishes."""
        from matcher.explain.holdings import job_terms

        with self.store.reading() as con:
            return job_terms(con, job_id)

    def set(self, name: str, value: Any) -> None:
        """Give one of the shop's defaults a value of its own.

        Raises
        ------
        InputError
            where there is no such setting, or the value is no number.
        """
        from catalog_schema.figures import FigureError, read_number

        check_setting(name)
        try:
            number = read_number(value, "n")
        except FigureError as error:
            raise InputError(f"{name}: found {error.found!r}, expected a number") from None
        with self.store.changing() as con:
            con.execute("insert or replace into setting values (?, ?)", [name, number])


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
        raise InputError(
            f"{opening!r} names no opening", cure="write VEHICLE/OPENING, such as tern-8/dash-top"
        )
    return vehicle_id, opening_id


def check_step(step: str) -> None:
    """Refuse a word that is no step of the ladder."""
    if step not in LADDER:
        raise InputError(f"{step!r} is no step of the alteration ladder", cure=f"one of {', '.join(LADDER)}")
