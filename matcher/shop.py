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

from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalog_schema.ladder import DEFAULT_STEP, LADDER
from matcher.errors import InputError
from matcher.settings import DEFAULTS, Settings
from matcher.store.connection import Connection, Store

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from catalog_schema.answers import Fit, Listing, Options
    from matcher.store.claims import ClaimBeside, PartSheet
    from matcher.store.history import Holding, PartDiff, Version
    from matcher.store.map_proposals import Proposal
    from matcher.store.problems import KeptProblem
    from matcher.store.readings import Reading
    from matcher.store.report import LoadReport


class Shop:
    """One store and its settings.

    Parameters
    ----------
    path
        The store's file. It is made by the first thing that is loaded into it.
    """

    def __init__(self, path: str | Path = "shop.duckdb") -> None:
        self.store = Store(Path(path))

    def fit(self, part_id: str, opening: str, *, adapter: str | None = None, alteration: str = DEFAULT_STEP) -> Fit:
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
        from matcher.explain.wording import claim_says, fit_with_words
        from matcher.search.fit import fit_part

        vehicle_id, opening_id = split_place(opening)
        check_step(alteration)
        with self.store.reading() as con:
            settings = shop_settings(con)
            fit = fit_part(con, part_id, vehicle_id, opening_id, adapter, alteration, settings)
            readings = [claim_says(claim) for claim in _claims(con, fit)]
        return fit_with_words(replace(fit, readings=readings))

    def options(self, job_id: str, *, top: int = 5, version: int | None = None) -> Options:
        """The best packages for a job, exactly ranked, and the best at each of its budgets.

        Parameters
        ----------
        job_id
            A job of the store.
        top
            How many packages to list.
        version
            An earlier version of the catalog to ask on. Without it the catalog of now is asked, and
            the job remembers its version.

        Raises
        ------
        InputError
            where the job or the version is not known.
        """
        from matcher.explain.options import answer_options
        from matcher.store.documents import answered_on, remember_answer, stored_job
        from matcher.store.history import looking_back
        from matcher.store.versions import catalog_version

        with self.store.reading() as con:
            job, now = stored_job(con, job_id), catalog_version(con)
            then = nullcontext() if version in (None, now) else looking_back(con, version or now)
            with then:
                answer = answer_options(con, job, top, now if version is None else version, shop_settings(con))
            is_news = version is None and answered_on(con, job_id) != now
        if is_news:
            with self.store.changing() as con:
                remember_answer(con, job_id, now)
        return answer

    def load_vehicle(self, path: str | Path) -> str:
        """Take in a vehicle's file; the vehicle's name."""
        from matcher.store.documents import read_document, save_vehicle
        from matcher.store.overlay import lay_over_openings

        text = read_document(Path(path), "vehicle")
        with self.store.changing() as con:
            vehicle_id = save_vehicle(con, text, str(path))
            lay_over_openings(con, vehicle_id)
            return vehicle_id

    def load_job(self, path: str | Path) -> str:
        """Take in a job's file; the job's name."""
        from matcher.store.documents import read_document, save_job

        text = read_document(Path(path), "job")
        with self.store.changing() as con:
            return save_job(con, text, str(path))

    def load_lists(
        self,
        *paths: str | Path,
        family: str | None = None,
        map: str | Path | None = None,
        supplier: str | None = None,
        complete: bool = False,
        dry_run: bool = False,
        by: str | None = None,
        tell: Callable[[str], None] = lambda _: None,
    ) -> LoadReport:
        """Load suppliers' lists: every row comes in, or is kept with its reasons.

        Parameters
        ----------
        family
            What the lists hold; left out where a map, or a column ``family``, tells it.
        map
            A map's file, or the name of one in the store; a file's map is kept by its name.
        supplier
            Whose lists they are; the map's where there is one.
        complete
            Whether they hold all that the supplier has: its other parts are withdrawn.
        dry_run
            Report what would happen, change nothing.

        Raises
        ------
        FileRefused
            where a list or the map cannot be taken; then nothing of any list is.
        """
        from matcher.store.loading import load_lists
        from matcher.store.map_store import choose_map

        chosen, keep = choose_map(self.store, map)
        lists = [Path(path) for path in paths]
        return load_lists(
            self.store,
            lists,
            family,
            map_=chosen,
            keep_map=keep,
            supplier=supplier,
            complete=complete,
            dry_run=dry_run,
            by=by,
            tell=tell,
        )

    def load_families(self, lists: Mapping[str, Sequence[str | Path]]) -> LoadReport:
        """Load canonical lists of several families as one version of the catalog."""
        from matcher.store.headers import check_family
        from matcher.store.intake import Order
        from matcher.store.loading import load_orders

        orders = [Order(Path(path), check_family(family)) for family, paths in lists.items() for path in paths]
        return load_orders(self.store, orders)

    def propose_map(self, path: str | Path, family: str | None = None) -> Proposal:
        """A map for a list as the tool understands it, with what it is sure of and what it is not."""
        from matcher.store.map_proposals import propose_map

        return propose_map(Path(path), family)

    def catalog(self) -> list[Holding]:
        """What the catalog holds, family by family."""
        from matcher.store.history import holdings

        with self.store.reading() as con:
            return holdings(con)

    def part(self, part_id: str) -> PartSheet:
        """A part: its figures as they count, and the claims that readings were laid over."""
        from matcher.store.claims import part_sheet

        with self.store.reading() as con:
            return part_sheet(con, part_id)

    def problems(self, family: str | None = None) -> list[KeptProblem]:
        """The rows that could not be loaded, with their reasons."""
        from matcher.store.problems import list_problems

        with self.store.reading() as con:
            return list_problems(con, family)

    def write_problems(self, target: str | Path, family: str | None = None) -> int:
        """Write the problem rows to a CSV or XLSX file to mend and load again; how many."""
        from matcher.store.mending import write_problems

        found = self.problems(family)
        write_problems(found, Path(target))
        return len(found)

    def drop_problems(self, *numbers: int) -> None:
        """Clear problem rows that nobody wants to mend."""
        from matcher.store.problems import drop_problems

        with self.store.changing() as con:
            drop_problems(con, numbers)

    def history(self) -> list[Version]:
        """Every version of the catalog, the first first."""
        from matcher.store.history import history

        with self.store.reading() as con:
            return history(con)

    def diff(self, before: int, after: int) -> list[PartDiff]:
        """What happened to each part from one version of the catalog to another."""
        from matcher.store.history import diff

        with self.store.reading() as con:
            return diff(con, before, after)

    def restore(self, version: int, *, by: str | None = None) -> Version:
        """Bring the catalog back to an earlier version, as a new one."""
        from matcher.store.history import restore

        with self.store.changing() as con:
            return restore(con, version, by)

    def add_reading(
        self,
        subject: str,
        field: str,
        value: object,
        *,
        tol: object = None,
        basis: str | None = None,
        by: str | None = None,
        note: str | None = None,
    ) -> Reading:
        """Write down what was measured: it counts from now on, the claim stays beside it.

        Parameters
        ----------
        subject
            ``part:ID``, ``opening:VEHICLE/OPENING``, ``vehicle:ID`` or ``job:ID``.
        value
            A number in the field's unit, text with a unit, or the field's word.

        Raises
        ------
        InputError
            where the subject or the field is not known, or the value cannot be read.
        """
        from matcher.store.readings import add_reading

        with self.store.changing() as con:
            return add_reading(con, subject, field, value, tol=tol, basis=basis, by=by, note=note)

    def load_readings(self, path: str | Path) -> list[Reading]:
        """Write down a list of readings, all of them or none."""
        from matcher.store.reading_files import load_readings

        return load_readings(self.store, Path(path))

    def readings(self, subject: str | None = None) -> list[Reading]:
        """The readings of a subject, or all, in the order they were written down."""
        from matcher.store.readings import list_readings

        with self.store.reading() as con:
            return list_readings(con, subject)

    def claims_beside(self, subject: str) -> list[ClaimBeside]:
        """Each measured field of a subject with what was claimed of it."""
        from matcher.store.claims import claims_beside

        with self.store.reading() as con:
            return claims_beside(con, subject)

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


def _claims(con: Connection, fit: Fit) -> list[ClaimBeside]:
    """What was measured in a fit; a store without readings is not asked further."""
    if con.execute("select 1 from reading limit 1").fetchone() is None:
        return []
    from matcher.store.claims import claims_of_fit

    return claims_of_fit(con, fit)


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
