"""Orders of a chosen package's parts from their suppliers."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import Opened, ShopPart, shop_settings

if TYPE_CHECKING:
    from catalog_schema.choices import Choice, OpenPoint, Sheet
    from matcher.shop.choices import ShopChoices
    from matcher.shop.papers import ShopPapers


class ShopOrders(ShopPart):
    """Orders of a chosen package's parts from their suppliers."""

    def __init__(self, opened: Opened, choices: ShopChoices, papers: ShopPapers) -> None:
        super().__init__(opened)
        self.choices = choices
        self.papers = papers

    def note(self, job_id: str, *, by: str | None = None) -> None:
        """Log that the documents of an order were made."""
        from matcher.store.database.provenance import record
        from matcher.store.records.page_keeping import ORDERED

        with self.store.changing() as con:
            record(con, ORDERED, f"job:{job_id}", by=by)

    def order_list(self, choice: Choice) -> Sheet:
        """Return the order for a chosen package by supplier, at today's catalog."""
        from matcher.jobs.order_sheets import order_sheets

        with self.store.reading() as con:
            return order_sheets(con, choice)[0]

    def open_points(self, job_id: str) -> list[OpenPoint]:
        """Return the open points of a job's chosen package before it can be ordered; if empty, `order` goes through.

        Raises
        ------
        InputError
            if the job is not known, or nothing was chosen for it.
        """
        from matcher.jobs.open_points import open_to_order
        from matcher.store.documents.saving import job_on_terms

        choice = self.choices.chosen(job_id)
        with self.store.reading() as con:
            return open_to_order(con, job_on_terms(con, job_id, choice.terms), choice, shop_settings(con))

    def sheets(
        self,
        job_id: str,
        *,
        out: str | Path | None = None,
        folder: str | Path | None = None,
        force: bool = False,
        anyway: bool = False,
        note: str | None = None,
        by: str | None = None,
    ) -> list[Sheet]:
        """Return the order for the chosen package by supplier, at today's catalog, and the totals.

        Parameters
        ----------
        out
            An XLSX or CSV file to write them to.
        folder
            A folder that gets a document for each supplier, as PDF and as XLSX.
        force
            Whether these files may replace existing ones.
        anyway
            Whether to order in spite of open points: they are logged with the note and printed on the papers.
        note
            The reason to order anyway.
        by
            The person who orders anyway; by default BOLTBACK_BY, or the system's user.

        Raises
        ------
        StillOpen
            if something is open and `anyway` is not set.
        InputError
            if the job is not known, nothing was chosen for it, or the file cannot be written.
        """
        from matcher.jobs.open_points import check_open, write_anyway
        from matcher.jobs.order_sheets import open_sheet, order_sheets
        from matcher.store.lists.sheets import check_sheets_target, write_sheets

        if out is not None:
            check_sheets_target(Path(out), force=force)
        choice, points = self.choices.chosen(job_id), self.open_points(job_id)
        check_open("order", job_id, points, anyway=anyway, note=note)
        with self.store.reading() as con:
            sheets = [*order_sheets(con, choice), *([open_sheet(points, note)] if points else [])]
        if points:
            with self.store.changing() as con:
                write_anyway(con, "order", job_id, points, note, by)
        if out is not None:
            write_sheets(sheets, Path(out), force=force)
        if folder is not None:
            self._write_orders(choice, sheets[0], points, Path(folder), force=force)
        return sheets

    def _write_orders(
        self, choice: Choice, order: Sheet, points: list[OpenPoint], folder: Path, *, force: bool
    ) -> None:
        """Write a document for each supplier into a folder, as PDF and as XLSX: all of them or none."""
        from matcher.papers.order import supplier_orders
        from matcher.papers.paper import rendered
        from matcher.papers.words import Words
        from matcher.papers.writer import Writer
        from matcher.store.catalog.supplier_terms import supplier_terms
        from matcher.store.database.durable import check_target, write_file
        from matcher.store.lists.sheets import write_sheets

        with self.store.reading() as con:
            terms = supplier_terms(con)
        dossier = self.papers.choice_dossier(choice)
        rows = [dict(zip(order.heads, cells, strict=True)) for cells in order.cells]
        made = supplier_orders(Writer(dossier, Words(dossier.settings.word("language"))), rows, points, terms)
        folder.mkdir(parents=True, exist_ok=True)
        for one in made:
            for ending in ("pdf", "xlsx"):
                check_target(folder / f"{one.document.name}.{ending}", force=force)
        for one in made:
            write_file(folder / f"{one.document.name}.pdf", rendered(one.document, "pdf").data)
            write_sheets([one.sheet], folder / f"{one.document.name}.xlsx", force=force)
