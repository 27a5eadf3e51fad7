"""The jobs of a shop: a customer's car and wishes, each a document."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalog_schema.answers import StoredDocument
    from catalog_schema.choices import Sheet
    from catalog_schema.jobs import Job
    from catalog_schema.terms import Terms
    from matcher.store.database.kept_documents import KeptDocument
    from matcher.store.documents.job_import import Imported
    from matcher.store.records.page_keeping import JobState


class ShopJobs(ShopPart):
    """The jobs of a shop: a customer's car and wishes, each a document."""

    def load(self, path: str | Path, *, by: str | None = None, sure: bool = False) -> str:
        """Load a job's file; return the job's name."""
        return self.load_all(path, by=by, sure=sure)[0]

    def load_all(self, *paths: str | Path, by: str | None = None, sure: bool = False) -> list[str]:
        """Load jobs' files, all of them or none; return the jobs' names. ``sure`` is as for `load_vehicles`."""
        from matcher.store.documents.saving import save_job
        from matcher.store.lists.files import read_document

        texts = [(read_document(Path(path), "job"), str(path)) for path in paths]
        with self.store.changing() as con:
            return [save_job(con, text, path, by, sure=sure) for text, path in texts]

    def document(self, job_id: str) -> KeptDocument:
        """Return a job's document, with the mark required to change it."""
        from matcher.store.database.kept_documents import kept_document

        with self.store.reading() as con:
            return kept_document(con, "job", job_id)

    def save(
        self, document: Mapping[str, Any], mark: str | None = None, *, by: str | None = None, sure: bool = False
    ) -> KeptDocument:
        """Save a job in place of the document with ``mark``, or as a new one; errors as for `save_vehicle`."""
        from matcher.store.documents.saving import change_document

        with self.store.changing() as con:
            return change_document(con, "job", document, mark, by, sure=sure)

    def new(self, job_id: str, vehicle_id: str, terms: Terms, *, by: str | None = None, sure: bool = False) -> Job:
        """Begin a job on a vehicle, with terms by the names in `catalog_schema.terms.TERMS`.

        Raises
        ------
        InputError
            if the job already exists, the vehicle is not known, or a term cannot be read.
        """
        from catalog_schema.terms import with_terms
        from matcher.store.documents.saving import by_terms, typed_terms

        with self.store.reading() as con:
            begun = with_terms({"job_id": job_id, "vehicle_id": vehicle_id}, typed_terms(con, terms))
        with by_terms(job_id):
            self.save(begun, by=by, sure=sure)
        return self._stored(job_id)

    def edit(self, job_id: str, terms: Terms, *, by: str | None = None, sure: bool = False) -> Job:
        """Change some terms of a job; the others stay.

        Raises
        ------
        InputError
            if the job is not known or was signed off, no term is given, or a term cannot be read.
        DoubtfulFigures
            if a figure is unusual and ``sure`` is not set.
        """
        from matcher.errors import InputError
        from matcher.store.database.kept_documents import kept_document
        from matcher.store.documents.saving import by_terms, change_document, terms_document, typed_terms

        if not terms:
            raise InputError(
                f"nothing is to be changed in the job {job_id}", fix="boltback job edit --help lists terms"
            )
        with self.store.changing() as con, by_terms(job_id):
            mark = kept_document(con, "job", job_id).mark
            change_document(con, "job", terms_document(con, job_id, typed_terms(con, terms)), mark, by, sure=sure)
        return self._stored(job_id)

    def _stored(self, job_id: str) -> Job:
        from matcher.store.database.kept_documents import stored_job

        with self.store.reading() as con:
            return stored_job(con, job_id)

    def all(self, *, archived: bool | None = False) -> StoredDocument:
        """Return every job of the store: those in use, those archived, or both if ``archived`` is None."""
        from matcher.answers.holdings import job_list

        with self.store.reading() as con:
            return job_list(con, archived)

    def get(self, job_id: str) -> StoredDocument:
        """Return a job's limits and wishes."""
        from matcher.answers.holdings import job_terms

        with self.store.reading() as con:
            return job_terms(con, job_id)

    def states(self) -> list[JobState]:
        """Return every job with its progress: asked, chosen, set up, signed off."""
        from matcher.store.records.page_keeping import job_states

        with self.store.reading() as con:
            return job_states(con)

    def state(self, job_id: str) -> JobState:
        """Return the progress of a job.

        Raises
        ------
        NotKnown
            if the store holds no such job.
        """
        from matcher.store.database.kept_documents import stored_job
        from matcher.store.records.page_keeping import job_states

        with self.store.reading() as con:
            stored_job(con, job_id)
            return job_states(con, job_id)[0]

    def remember_answer(self, job_id: str, version: int) -> None:
        """Record the version of the catalog that a job was answered on, if it is new."""
        from matcher.store.database.kept_documents import answered_on, remember_answer

        with self.store.reading() as con:
            is_news = answered_on(con, job_id) != version
        if is_news:
            with self.store.changing() as con:
                remember_answer(con, job_id, version)

    def compare(self, job_id: str, *, top: int = 5, out: str | Path | None = None, force: bool = False) -> list[Sheet]:
        """Return a job's best packages side by side, and its tiers.

        Parameters
        ----------
        top
            Number of packages.
        out
            An XLSX or CSV file to write them to.
        force
            Whether the file may replace an existing one.

        Raises
        ------
        InputError
            if the job is not known, has no package, or the file cannot be written.
        """
        from matcher.answers.options import answer_options
        from matcher.errors import InputError
        from matcher.jobs.order_sheets import compare_sheets
        from matcher.store.database.stamps import catalog_version
        from matcher.store.lists.sheets import check_sheets_target, write_sheets

        if out is not None:
            check_sheets_target(Path(out), force=force)
        with self.opened.catalog_for(job_id) as (catalog, job):
            answer = answer_options(catalog, job, top, catalog_version(catalog.con))
        if not answer.packages:
            raise InputError(f"no package fits the job {job_id}", fix=f"boltback options {job_id} tells why")
        sheets = compare_sheets(answer)
        if out is not None:
            write_sheets(sheets, Path(out), force=force)
        return sheets

    def export(self, job_id: str) -> dict[str, Any]:
        """Export a job with everything it depends on, as one plain document that another store can import.

        The document has the vehicle, the job's terms, its choices and set-ups, their readings, and the chosen parts.
        The
        shop's settings are not included: a choice keeps its prices.

        Raises
        ------
        NotKnown
            if the store holds no such job.
        """
        from matcher.store.documents.job_export import job_document

        with self.store.reading() as con:
            return job_document(con, job_id)

    def import_file(self, path: str | Path, *, keep_parts: bool = False, by: str | None = None) -> Imported:
        """Import a whole job of another store: all of it or nothing.

        Parameters
        ----------
        keep_parts
            Whether a part that differs here stays as it is instead of being a conflict.

        Raises
        ------
        FileRefused
            if the file is not a whole job, or conflicts with this store: each conflict is named.
        """
        from matcher.store.documents.job_import import import_job

        with self.store.changing() as con:
            return import_job(con, Path(path), keep_parts=keep_parts, by=by)

    def supersede(self, job_id: str, new_id: str, *, by: str | None = None) -> str:
        """Make a new, editable job with another job's terms and choice, which replaces it; return its name.

        Raises
        ------
        InputError
            if the job is not known, or the new name is taken.
        """
        from matcher.store.documents.job_export import supersede

        with self.store.changing() as con:
            return supersede(con, job_id, new_id, by)
