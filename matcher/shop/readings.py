"""The shop's readings: added, voided, listed, compared with claims."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart, shop_settings

if TYPE_CHECKING:
    from matcher.store.readings.claims import ClaimBeside
    from matcher.store.readings.readings import Reading


class ShopReadings(ShopPart):
    """The shop's readings: added, voided, listed, compared with claims."""

    def add_fitted(
        self, part_id: str, opening: str, adapter_id: str | None = None, *, by: str | None = None
    ) -> Reading:
        """Record that a part was fitted into an opening, which is evidence for that model of car.

        Raises
        ------
        InputError
            if part, opening or adapter is not known, or the opening takes another kind of part.
        """
        from matcher.search.catalog.catalog import Catalog
        from matcher.search.fits.fit import question_of
        from matcher.store.readings.readings import add_fitted

        vehicle_id, _, opening_id = opening.partition("/")
        with self.store.changing() as con:
            question_of(Catalog(con, shop_settings(con)), part_id, vehicle_id, opening_id, adapter_id)
            return add_fitted(con, part_id, opening, adapter_id, by=by)

    def add(
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
        """Record a measured value: it counts from now on, and the claim is kept.

        Parameters
        ----------
        subject
            ``part:ID``, ``opening:VEHICLE/OPENING``, ``vehicle:ID`` or ``job:ID``.
        value
            A number in the field's unit, text with a unit, or one of the field's words.
        sure
            Accept an unusual value, which the user has confirmed.

        Raises
        ------
        DoubtfulFigures
            if the value is unusual or contradicts another figure of the part, and `sure` is not set.
        InputError
            if the subject or the field is not known, or the value cannot be read.
        """
        from matcher.store.readings.readings import add_reading

        with self.store.changing() as con:
            return add_reading(con, subject, field, value, tol=tol, basis=basis, by=by, note=note, sure=sure)

    def void(self, number: int, *, note: str | None, by: str | None = None) -> Reading:
        """Mark a reading as wrong: it is kept, and the earlier reading or claim counts again.

        Parameters
        ----------
        number
            The reading's number, as `readings` lists it.
        note
            The reason.

        Raises
        ------
        InputError
            if there is no such reading, it was voided before, no reason is given, or its job was signed off.
        """
        from matcher.store.readings.readings import void_reading

        with self.store.changing() as con:
            return void_reading(con, number, note=note, by=by)

    def load(self, path: str | Path, *, sure: bool = False) -> list[Reading]:
        """Record a list of readings, all of them or none; ``sure`` is as for `add_reading`."""
        from matcher.store.readings.reading_files import load_readings

        return load_readings(self.store, Path(path), sure=sure)

    def all(self, subject: str | None = None) -> list[Reading]:
        """Return the readings of a subject, or all, in the order they were recorded."""
        from matcher.store.readings.readings import list_readings

        with self.store.reading() as con:
            return list_readings(con, subject)

    def beside_claims(self, subject: str) -> list[ClaimBeside]:
        """Return each measured field of a subject with its claim."""
        from matcher.store.readings.claims import claims_beside

        with self.store.reading() as con:
            return claims_beside(con, subject)
