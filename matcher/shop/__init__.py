"""The shop: the single entry point for commands, pages, papers and tests.

>>> from matcher import Shop
>>> shop = Shop("no-such-folder/shop.duckdb")
>>> shop.fit("00123", "tern-8/dash-top")
Traceback (most recent call last):
...
matcher.errors.InputError: there is no store at no-such-folder/shop.duckdb
fix: `boltback demo` makes one with demo data, `boltback catalog load` makes one from your lists
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.archive import ShopArchive
from matcher.shop.bulk import Bulk
from matcher.shop.catalog import ShopCatalog
from matcher.shop.choices import ShopChoices
from matcher.shop.drawings import ShopDrawings
from matcher.shop.jobs import ShopJobs
from matcher.shop.maintenance import ShopMaintenance
from matcher.shop.orders import ShopOrders
from matcher.shop.page import ShopPage
from matcher.shop.papers import ShopPapers
from matcher.shop.readings import ShopReadings
from matcher.shop.reasons import Reasons
from matcher.shop.sharing import ShopSharing
from matcher.shop.trying import Trying
from matcher.shop.vehicles import ShopVehicles

if TYPE_CHECKING:
    from catalog_schema.choices import ChangeLog


class Shop(Trying, Reasons, Bulk):
    """One store and its settings: questions are its own methods, every other subject is an attribute.

    Parameters
    ----------
    path
        The store's file, created by the first load into it.
    """

    def __init__(self, path: str | Path = "shop.duckdb") -> None:
        super().__init__(path)
        self.catalog = ShopCatalog(self)
        self.vehicles = ShopVehicles(self)
        self.jobs = ShopJobs(self)
        self.readings = ShopReadings(self)
        self.choices = ShopChoices(self)
        self.drawings = ShopDrawings(self, self.jobs)
        self.papers = ShopPapers(self, self.vehicles, self.jobs, self.readings, self.choices, self.drawings)
        self.orders = ShopOrders(self, self.choices, self.papers)
        self.page = ShopPage(self)
        self.maintenance = ShopMaintenance(self)
        self.sharing = ShopSharing(self)
        self.archive = ShopArchive(self)

    def note_event(self, what: str, subject: str, *, by: str | None = None) -> None:
        """Write an entry into the log of changes."""
        from matcher.store.database.provenance import record

        with self.store.changing(own=True) as con:
            record(con, what, subject, by=by)

    def log(self, job_id: str | None = None, *, since: str | None = None) -> ChangeLog:
        """Return the log: each change with its author and time, oldest first.

        Parameters
        ----------
        job_id
            Only changes to this job and its vehicle.
        since
            Only changes from this moment on, such as 2026-03-01 or 2026-03-01 14:30.
        """
        from matcher.store.database.provenance import moment
        from matcher.store.records.change_log import change_log

        with self.store.reading() as con:
            return change_log(con, job_id, None if since is None else moment(since))
