"""A job on its way out of the shop: its tables, its file, its signature; and the log of every change."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from matcher.shop.base import shop_settings
from matcher.shop.papers import Papers

if TYPE_CHECKING:
    from catalog_schema.choices import ChangeLog, Choice, OpenPoint, Sheet
    from matcher.store.documents.job_import import Imported


class Records(Papers):
    """A job on its way out of the shop: its tables, its file, its signature; and the log of every change."""

    def open_to_order(self, job_id: str) -> list[OpenPoint]:
        """Return the open points of a job's chosen package before it can be ordered; if empty, `order` goes through.

        Raises
        ------
        InputError
            if the job is not known, or nothing was chosen for it.
        """
        from matcher.explain.open_points import open_to_order
        from matcher.store.documents.saving import job_on_terms

        choice = self.chosen(job_id)
        with self.store.reading() as con:
            return open_to_order(con, job_on_terms(con, job_id, choice.terms), choice, shop_settings(con))

    def order(
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
        """Return the order for the chosen package, supplier by supplier, at today's catalog, and the sums.

        Parameters
        ----------
        out
            A file to write them to, XLSX or CSV.
        folder
            A folder that gets a document for each supplier, as PDF and as XLSX.
        force
            Whether these files may replace what is there.
        anyway
            Whether to order though something is open: what is open is logged with the note, and stands on the papers.
        note
            The reason to order anyway.
        by
            Who orders anyway; left out: BOLTBACK_BY, or the system's user.

        Raises
        ------
        StillOpen
            if something is open and it is not to be ordered anyway.
        InputError
            if the job is not known, nothing was chosen for it, or the file cannot be written.
        """
        from matcher.explain.open_points import check_open, write_anyway
        from matcher.explain.sheets import open_sheet, order_sheets
        from matcher.store.lists.sheets import check_sheets_target, write_sheets

        if out is not None:
            check_sheets_target(Path(out), force=force)
        choice, points = self.chosen(job_id), self.open_to_order(job_id)
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
        """A document for each supplier into a folder, as PDF and as XLSX: all of them or none."""
        from matcher.papers.order import supplier_orders
        from matcher.papers.paper import rendered
        from matcher.papers.words import Words
        from matcher.papers.writer import Writer
        from matcher.store.catalog.supplier_terms import supplier_terms
        from matcher.store.database.durable import check_target, write_file
        from matcher.store.lists.sheets import write_sheets

        with self.store.reading() as con:
            terms = supplier_terms(con)
        dossier = self.choice_dossier(choice)
        rows = [dict(zip(order.heads, cells, strict=True)) for cells in order.cells]
        made = supplier_orders(Writer(dossier, Words(dossier.settings.word("language"))), rows, points, terms)
        folder.mkdir(parents=True, exist_ok=True)
        for one in made:
            for ending in ("pdf", "xlsx"):
                check_target(folder / f"{one.document.name}.{ending}", force=force)
        for one in made:
            write_file(folder / f"{one.document.name}.pdf", rendered(one.document, "pdf").data)
            write_sheets([one.sheet], folder / f"{one.document.name}.xlsx", force=force)

    def compare(self, job_id: str, *, top: int = 5, out: str | Path | None = None, force: bool = False) -> list[Sheet]:
        """A job's best packages side by side, and its tiers.

        Parameters
        ----------
        top
            How many packages.
        out
            A file to write them to, XLSX or CSV.
        force
            Whether that file may replace one that is there.

        Raises
        ------
        InputError
            if the job is not known, has no package, or the file cannot be written.
        """
        from matcher.errors import InputError
        from matcher.explain.options import answer_options
        from matcher.explain.sheets import compare_sheets
        from matcher.store.database.stamps import catalog_version
        from matcher.store.lists.sheets import check_sheets_target, write_sheets

        if out is not None:
            check_sheets_target(Path(out), force=force)
        with self.asked(job_id) as (catalog, job):
            answer = answer_options(catalog, job, top, catalog_version(catalog.con))
        if not answer.packages:
            raise InputError(f"no package fits the job {job_id}", cure=f"boltback options {job_id} tells why")
        sheets = compare_sheets(answer)
        if out is not None:
            write_sheets(sheets, Path(out), force=force)
        return sheets

    def export_job(self, job_id: str) -> dict[str, Any]:
        """A job with everything that it stands on, as one plain document that another store takes in.

        It holds the vehicle, the job's terms, its choices and set-ups, the readings of all of them, and the parts that
        were chosen. The shop's settings stay behind: what was chosen keeps its prices.

        Raises
        ------
        NotKnown
            if the store holds no such job.
        """
        from matcher.store.documents.job_export import job_document

        with self.store.reading() as con:
            return job_document(con, job_id)

    def import_job(self, path: str | Path, *, keep_parts: bool = False, by: str | None = None) -> Imported:
        """Take in a whole job of another store: all of it or nothing.

        Parameters
        ----------
        keep_parts
            Whether a part that says otherwise here stays as it is here, where it else is a conflict.

        Raises
        ------
        FileRefused
            if the file is no whole job, or says otherwise than this store: each conflict is named.
        """
        from matcher.store.documents.job_import import import_job

        with self.store.changing() as con:
            return import_job(con, Path(path), keep_parts=keep_parts, by=by)

    def open_to_sign(self, job_id: str) -> list[OpenPoint]:
        """Return the open points of a job before it can be signed off; if empty, `sign` goes through.

        Raises
        ------
        NotKnown
            if the store holds no such job.
        """
        from matcher.explain.open_points import open_to_sign

        with self.store.reading() as con:
            return open_to_sign(con, job_id, shop_settings(con))

    def sign(self, job_id: str, *, by: str | None, note: str | None = None, anyway: bool = False) -> None:
        """Sign a job off: its terms, choice, set-up and readings stay as they are from now on.

        Its head unit and loudspeakers count as fitted before, for every car of the model.

        Parameters
        ----------
        by
            Who signs: a person, told by name or by BOLTBACK_BY.
        note
            What was handed over, or the reason to sign anyway.
        anyway
            Whether to sign though something is open: what is open is logged with the note, and stands on the papers.

        Raises
        ------
        StillOpen
            if something is open and it is not to be signed anyway.
        InputError
            if the job is not known or signed already, or nobody is named.
        """
        from matcher.explain.open_points import check_open, open_to_sign, write_anyway
        from matcher.store.database.kept_documents import stored_job
        from matcher.store.database.provenance import check_unsigned, sign, signer
        from matcher.store.readings.readings import add_fitted
        from matcher.store.records.choices import latest_choice

        with self.store.changing() as con:
            points, name = open_to_sign(con, job_id, shop_settings(con)), signer(by)
            check_unsigned(con, job_id)
            check_open("sign", job_id, points, anyway=anyway, note=note)
            if points:
                write_anyway(con, "sign", job_id, points, note, name)
            choice = latest_choice(con, job_id)
            for line in choice.package.lines if choice is not None else ():
                if line.slot in ("head_unit", "speaker") and line.part_id is not None:
                    opening = f"{stored_job(con, job_id).vehicle_id}/{line.opening_id}"
                    add_fitted(con, line.part_id, opening, line.adapter_id, by=name)
            sign(con, job_id, name, note)

    def supersede(self, job_id: str, new_id: str, *, by: str | None = None) -> str:
        """Make a new job that takes the place of another: with its terms and its choice, free to be altered; its name.

        Raises
        ------
        InputError
            if the job is not known, or the new name is taken.
        """
        from matcher.store.documents.job_export import supersede

        with self.store.changing() as con:
            return supersede(con, job_id, new_id, by)

    def note_event(self, what: str, subject: str, *, by: str | None = None) -> None:
        """Write a line into the log of changes."""
        from matcher.store.database.provenance import record

        with self.store.changing(own=True) as con:
            record(con, what, subject, by=by)

    def log(self, job_id: str | None = None, *, since: str | None = None) -> ChangeLog:
        """Return the log: each change with its author and time, oldest first.

        Parameters
        ----------
        job_id
            What was done to one job and its vehicle.
        since
            From this moment on, such as 2026-03-01 or 2026-03-01 14:30.
        """
        from matcher.store.database.provenance import moment
        from matcher.store.records.change_log import change_log

        with self.store.reading() as con:
            return change_log(con, job_id, None if since is None else moment(since))
