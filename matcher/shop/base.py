"""Base of every part of the shop: its store and settings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalog_schema.ladder import LADDER
from matcher.errors import InputError, Problem
from matcher.settings import DEFAULTS, WORD_DEFAULTS, Settings
from matcher.store.database.opening import Store
from matcher.store.database.shop_settings import shop_notation
from matcher.store.database.shop_settings import shop_settings as shop_settings

if TYPE_CHECKING:
    from catalog_schema.jobs import Job
    from catalog_schema.notation import Notation
    from matcher.search.catalog.catalog import Catalog

LONGEST_WORD = 200
"""Maximum length of a text setting."""


class Opened:
    """One store and its settings.

    Parameters
    ----------
    path
        The store's file, created by the first load into it.
    """

    def __init__(self, path: str | Path = "shop.duckdb") -> None:
        self.store = Store(Path(path))

    @contextmanager
    def catalog_for(self, job_id: str) -> Iterator[tuple[Catalog, Job]]:
        """Yield a job and its catalog, cached in this process from earlier questions.

        Raises
        ------
        NotKnown
            if the store holds no such job.
        """
        from catalog_schema.jobs import with_budgets_taxed
        from matcher.search.catalog.catalog import Catalog
        from matcher.search.catalog.kept import catalog_of
        from matcher.store.database.kept_documents import stored_job

        with self.store.reading() as con:
            settings = shop_settings(con)
            job = with_budgets_taxed(stored_job(con, job_id), settings["tax_pct"])
            is_file = self.store.exists()
            catalog = catalog_of(con, self.store.file, job.vehicle_id, settings) if is_file else Catalog(con, settings)
            yield catalog, job

    def settings(self) -> Settings:
        """Return the shop's settings: its own values over the defaults."""
        with self.store.reading() as con:
            return shop_settings(con)

    def set(self, name: str, value: Any, *, by: str | None = None) -> None:
        """Set one of the shop's settings.

        Raises
        ------
        InputError
            if there is no such setting, or its value is not a number or not one of its words.
        """
        self.set_all({name: value}, by=by)

    def set_all(self, values: Mapping[str, Any], *, by: str | None = None) -> None:
        """Set several of the shop's settings, or reset them to the default with None: all of them or none.

        Raises
        ------
        InputError
            if there is no such setting, or a value is not a number or not one of its words.
        """
        from matcher.store.database.provenance import record

        with self.store.changing() as con:
            for name, value in _read_settings(values, shop_notation(con)).items():
                table = "word_setting" if name in WORD_DEFAULTS else "setting"
                before = con.execute(f"select * from {table} where name = ?", [name]).fetchone()
                if value is None:
                    con.execute(f"delete from {table} where name = ?", [name])
                else:
                    con.execute(f"insert or replace into {table} values (?, ?)", [name, value])
                change = f"{'default' if value is None else value}{f', before {_shown(before[1])}' if before else ''}"
                record(con, "setting", f"setting:{name}", change, by=by)


class ShopPart:
    """One subject of a shop, on the shop's store; it is given the other subjects it needs."""

    def __init__(self, opened: Opened) -> None:
        self.opened = opened

    @property
    def store(self) -> Store:
        return self.opened.store


def check_setting(name: str) -> None:
    """Refuse an unknown setting."""
    known = [*DEFAULTS, *WORD_DEFAULTS]
    if name not in known:
        from matcher.errors import NotKnown

        raise NotKnown("setting", name, known, fix="`boltback settings` lists them")


def _shown(value: Decimal | str) -> str:
    return value if isinstance(value, str) else f"{value.normalize():f}"


def _read_settings(values: Mapping[str, Any], notation: Notation) -> dict[str, Decimal | str | None]:
    """Read the values of some settings; an error names each of them that cannot be read."""
    read: dict[str, Decimal | str | None] = {}
    problems: list[Problem] = []
    for name, value in values.items():
        check_setting(name)
        read_one = partial(_read_word, name) if name in WORD_DEFAULTS else partial(_read_number, name, notation)
        found = None if value is None else read_one(value)
        if isinstance(found, Problem):
            problems.append(found)
        else:
            read[name] = found
    if problems:
        raise InputError("the settings cannot be taken", problems=problems)
    return read


def _read_number(name: str, notation: Notation, value: Any) -> Decimal | Problem:
    from catalog_schema.figures import read_number
    from catalog_schema.problems import FieldError

    try:
        number = read_number(value, "n", notation)
    except FieldError as error:
        return Problem("a number", "", None, name, error.found, error.fix if error.alternatives else "")
    return Problem("a number", column=name) if number is None else number


def _read_word(name: str, value: Any) -> str | Problem:
    word, choices = str(value).strip(), WORD_DEFAULTS[name].choices
    if choices and word not in choices:
        return Problem(f"one of {', '.join(choices)}", column=name, found=word)
    if len(word) > LONGEST_WORD or not word.isprintable():
        return Problem(f"one line of at most {LONGEST_WORD} characters", column=name, found=word)
    return word


def split_place(opening: str) -> tuple[str, str]:
    """Split ``vehicle/opening`` into its two names."""
    vehicle_id, slash, opening_id = opening.partition("/")
    if not (slash and vehicle_id and opening_id):
        raise InputError(f"{opening!r} names no opening", fix="write VEHICLE/OPENING, such as tern-8/dash-top")
    return vehicle_id, opening_id


def check_step(step: str) -> None:
    """Refuse a word that is not a step of the alteration ladder."""
    if step not in LADDER:
        raise InputError(f"{step!r} is no step of the alteration ladder", fix=f"one of {', '.join(LADDER)}")
