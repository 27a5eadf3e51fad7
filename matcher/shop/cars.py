"""Vehicles and jobs, and what was measured."""

from __future__ import annotations

from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from matcher.shop.base import Opened

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalog_schema.answers import StoredDocument
    from catalog_schema.jobs import Job
    from catalog_schema.terms import Terms
    from matcher.store.database.kept_documents import KeptDocument
    from matcher.store.readings.claims import ClaimBeside
    from matcher.store.readings.readings import Reading


class Cars(Opened):
    """Vehicles and jobs, and what was measured."""

    def load_vehicle(self, path: str | Path, *, by: str | None = None, sure: bool = False) -> str:
        """Take in a vehicle's file; the vehicle's name."""
        return self.load_vehicles(path, by=by, sure=sure)[0]

    def load_vehicles(self, *paths: str | Path, by: str | None = None, sure: bool = False) -> list[str]:
        """Take in vehicles' files, all of them or none; the vehicles' names.

        Parameters
        ----------
        sure
            Whether their figures are right, however unusual.

        Raises
        ------
        DoubtfulFigures
            if they are unusual, and nobody is sure of them.
        """
        from matcher.store.catalog.overlay import lay_over_openings
        from matcher.store.documents.saving import save_vehicle
        from matcher.store.lists.files import read_document

        texts = [(read_document(Path(path), "vehicle"), str(path)) for path in paths]
        with self.store.changing() as con:
            names = [save_vehicle(con, text, path, by, sure=sure) for text, path in texts]
            for name in names:
                lay_over_openings(con, name)
            return names

    def load_job(self, path: str | Path, *, by: str | None = None, sure: bool = False) -> str:
        """Take in a job's file; the job's name."""
        return self.load_jobs(path, by=by, sure=sure)[0]

    def load_jobs(self, *paths: str | Path, by: str | None = None, sure: bool = False) -> list[str]:
        """Take in jobs' files, all of them or none; the jobs' names. ``sure`` is as for `load_vehicles`."""
        from matcher.store.documents.saving import save_job
        from matcher.store.lists.files import read_document

        texts = [(read_document(Path(path), "job"), str(path)) for path in paths]
        with self.store.changing() as con:
            return [save_job(con, text, path, by, sure=sure) for text, path in texts]

    def vehicle_document(self, vehicle_id: str) -> KeptDocument:
        """A vehicle's document, with the mark that a change of it has to name."""
        from matcher.store.database.kept_documents import kept_document

        with self.store.reading() as con:
            return kept_document(con, "vehicle", vehicle_id)

    def job_document(self, job_id: str) -> KeptDocument:
        """A job's document, with the mark that a change of it has to name."""
        from matcher.store.database.kept_documents import kept_document

        with self.store.reading() as con:
            return kept_document(con, "job", job_id)

    def save_vehicle(
        self, document: Mapping[str, Any], mark: str | None = None, *, by: str | None = None, sure: bool = False
    ) -> KeptDocument:
        """Keep a vehicle in place of the document that had ``mark``, or as a new one.

        Parameters
        ----------
        sure
            Whether its figures are right, however unusual.

        Raises
        ------
        DoubtfulFigures
            with every unusual figure that it did not have before, if nobody is sure of them.
        ChangedMeanwhile
            if it is no longer the document that had the mark.
        FileRefused
            with every fault of the document.
        """
        from matcher.store.catalog.overlay import lay_over_openings
        from matcher.store.documents.saving import change_document

        with self.store.changing() as con:
            kept = change_document(con, "vehicle", document, mark, by, sure=sure)
            lay_over_openings(con, kept.name)
            return kept

    def save_job(
        self, document: Mapping[str, Any], mark: str | None = None, *, by: str | None = None, sure: bool = False
    ) -> KeptDocument:
        """Keep a job in place of the document that had ``mark``, or as a new one; raises as `save_vehicle` does."""
        from matcher.store.documents.saving import change_document

        with self.store.changing() as con:
            return change_document(con, "job", document, mark, by, sure=sure)

    def new_vehicle(
        self,
        vehicle_id: str,
        *,
        like: str | None = None,
        openings: Mapping[str, str] = MappingProxyType({}),
        fields: Mapping[str, Any] = MappingProxyType({}),
        by: str | None = None,
    ) -> int:
        """Begin a vehicle: with some openings that nobody has measured yet, or like one that was measured before.

        Parameters
        ----------
        like
            A vehicle of the same model: its figures are taken over with a wider tolerance, until they are checked.
        openings
            The kind of each opening that is added, by its name.
        fields
            ``label``, ``year``, ``body``.

        Returns
        -------
        How many lengths were taken over.

        Raises
        ------
        InputError
            if the name is taken, there is no vehicle to begin with, or a field cannot be read.
        """
        from matcher.store.documents.like_vehicle import measured_vehicle, take_over
        from matcher.store.documents.saving import change_document

        added = [{"opening_id": name, "kind": kind} for name, kind in openings.items()]
        with self.store.changing() as con:
            if like is not None:
                return take_over(con, measured_vehicle(con, like), vehicle_id, fields, added, by)
            change_document(con, "vehicle", {"vehicle_id": vehicle_id, **fields, "openings": added}, None, by)
            return 0

    def export_vehicle(self, vehicle_id: str) -> dict[str, Any]:
        """A vehicle with the readings that count, who took them and when, as one document for another shop.

        Raises
        ------
        NotKnown
            if the store holds no such vehicle.
        """
        from matcher.store.documents.vehicle_export import vehicle_document

        with self.store.reading() as con:
            return vehicle_document(con, vehicle_id)

    def import_vehicle(self, path: str | Path, name: str | None = None, *, by: str | None = None) -> tuple[str, int]:
        """Take over a vehicle that another shop measured: its lengths with a wider tolerance, until they are checked.

        Parameters
        ----------
        name
            What it is called here; as there if left out.

        Returns
        -------
        Its name here, and how many lengths are to be checked.

        Raises
        ------
        FileRefused
            if the file is no measured vehicle.
        InputError
            if there is a vehicle of that name.
        """
        from matcher.store.documents.vehicle_export import import_vehicle

        with self.store.changing() as con:
            return import_vehicle(con, Path(path), name, by=by)

    def attach_vehicles(self, folder: str | Path, *, by: str | None = None) -> dict[str, int]:
        """Take over the measured vehicles of a published folder that are not here yet, as `import_vehicle` does.

        Returns
        -------
        How many lengths of each are to be checked, by its name.

        Raises
        ------
        FileRefused
            if nothing whole was published there; nothing of it is taken.
        """
        from matcher.store.sharing.attach_vehicles import attach_vehicles

        with self.store.changing() as con:
            return attach_vehicles(con, Path(folder), by)

    def new_job(self, job_id: str, vehicle_id: str, terms: Terms, *, by: str | None = None, sure: bool = False) -> Job:
        """Begin a job on a vehicle, on some terms by the names in `catalog_schema.terms.TERMS`.

        Raises
        ------
        InputError
            if there is such a job already, the vehicle is not known, or a term cannot be taken.
        """
        from catalog_schema.terms import with_terms
        from matcher.store.documents.saving import by_terms, typed_terms

        with self.store.reading() as con:
            begun = with_terms({"job_id": job_id, "vehicle_id": vehicle_id}, typed_terms(con, terms))
        with by_terms(job_id):
            self.save_job(begun, by=by, sure=sure)
        return self._stored_job(job_id)

    def edit_job(self, job_id: str, terms: Terms, *, by: str | None = None, sure: bool = False) -> Job:
        """Change some terms of a job; the others stay.

        Raises
        ------
        InputError
            if the job is not known or was signed off, nothing is given, or a term cannot be taken.
        DoubtfulFigures
            if a figure is unusual, and nobody is ``sure`` of it.
        """
        from matcher.errors import InputError
        from matcher.store.database.kept_documents import kept_document
        from matcher.store.documents.saving import by_terms, change_document, terms_document, typed_terms

        if not terms:
            raise InputError(
                f"nothing is to be changed in the job {job_id}", cure="boltback job edit --help lists terms"
            )
        with self.store.changing() as con, by_terms(job_id):
            mark = kept_document(con, "job", job_id).mark
            change_document(con, "job", terms_document(con, job_id, typed_terms(con, terms)), mark, by, sure=sure)
        return self._stored_job(job_id)

    def _stored_job(self, job_id: str) -> Job:
        from matcher.store.database.kept_documents import stored_job

        with self.store.reading() as con:
            return stored_job(con, job_id)

    def vehicles(self, *, archived: bool | None = False) -> StoredDocument:
        """Every vehicle of the store: those in use or those archived, or both where that is None."""
        from matcher.explain.holdings import vehicle_list

        with self.store.reading() as con:
            return vehicle_list(con, archived)

    def vehicle(self, vehicle_id: str) -> StoredDocument:
        """A vehicle's openings, with every figure as it counts now."""
        from matcher.explain.holdings import vehicle_figures

        with self.store.reading() as con:
            return vehicle_figures(con, vehicle_id)

    def jobs(self, *, archived: bool | None = False) -> StoredDocument:
        """Every job of the store: those in use or those archived, or both where that is None."""
        from matcher.explain.holdings import job_list

        with self.store.reading() as con:
            return job_list(con, archived)

    def job(self, job_id: str) -> StoredDocument:
        """A job's limits and wishes."""
        from matcher.explain.holdings import job_terms

        with self.store.reading() as con:
            return job_terms(con, job_id)

    def add_fitted(
        self, part_id: str, opening: str, adapter_id: str | None = None, *, by: str | None = None
    ) -> Reading:
        """Write down that a part was fitted into an opening, which is evidence for that model of car.

        Raises
        ------
        InputError
            if part, opening or adapter is not known, or no part of its kind goes there.
        """
        from matcher.search.catalog.catalog import Catalog
        from matcher.search.fits.fit import question_of
        from matcher.shop.base import shop_settings
        from matcher.store.readings.readings import add_fitted

        vehicle_id, _, opening_id = opening.partition("/")
        with self.store.changing() as con:
            question_of(Catalog(con, shop_settings(con)), part_id, vehicle_id, opening_id, adapter_id)
            return add_fitted(con, part_id, opening, adapter_id, by=by)

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
        sure: bool = False,
    ) -> Reading:
        """Write down what was measured: it counts from now on, the claim stays beside it.

        Parameters
        ----------
        subject
            ``part:ID``, ``opening:VEHICLE/OPENING``, ``vehicle:ID`` or ``job:ID``.
        value
            A number in the field's unit, text with a unit, or the field's word.
        sure
            Whether it is right, however unusual.

        Raises
        ------
        DoubtfulFigures
            if the value is unusual, or does not agree with another figure of the part, and nobody is sure of it.
        InputError
            if the subject or the field is not known, or the value cannot be read.
        """
        from matcher.store.readings.readings import add_reading

        with self.store.changing() as con:
            return add_reading(con, subject, field, value, tol=tol, basis=basis, by=by, note=note, sure=sure)

    def void_reading(self, number: int, *, note: str | None, by: str | None = None) -> Reading:
        """Mark a reading as wrong: it is kept, and the reading or the claim before it counts again.

        Parameters
        ----------
        number
            The reading's number, as `readings` lists it.
        note
            What was wrong with it.

        Raises
        ------
        InputError
            if there is no such reading, it was voided before, no reason is given, or its job was signed off.
        """
        from matcher.store.readings.readings import void_reading

        with self.store.changing() as con:
            return void_reading(con, number, note=note, by=by)

    def load_readings(self, path: str | Path, *, sure: bool = False) -> list[Reading]:
        """Write down a list of readings, all of them or none; ``sure`` is as for `add_reading`."""
        from matcher.store.readings.reading_files import load_readings

        return load_readings(self.store, Path(path), sure=sure)

    def readings(self, subject: str | None = None) -> list[Reading]:
        """The readings of a subject, or all, in the order they were written down."""
        from matcher.store.readings.readings import list_readings

        with self.store.reading() as con:
            return list_readings(con, subject)

    def claims_beside(self, subject: str) -> list[ClaimBeside]:
        """Each measured field of a subject with what was claimed of it."""
        from matcher.store.readings.claims import claims_beside

        with self.store.reading() as con:
            return claims_beside(con, subject)
