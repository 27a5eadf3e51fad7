"""Readings of the shop: added, voided, listed, compared with the claims of makers."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart, shop_settings

if TYPE_CHECKING:
    from matcher.store.readings.claims import ClaimBeside
    from matcher.store.readings.readings import Reading


class ShopReadings(ShopPart):
    """Readings of the shop: added, voided, listed, compared with the claims of makers."""

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

    def void(self, number: int, *, note: str | None, by: str | None = None) -> Reading:
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

    def load(self, path: str | Path, *, sure: bool = False) -> list[Reading]:
        """Write down a list of readings, all of them or none; ``sure`` is as for `add_reading`."""
        from matcher.store.readings.reading_files import load_readings

        return load_readings(self.store, Path(path), sure=sure)

    def all(self, subject: str | None = None) -> list[Reading]:
        """The readings of a subject, or all, in the order they were written down."""
        from matcher.store.readings.readings import list_readings

        with self.store.reading() as con:
            return list_readings(con, subject)

    def beside_claims(self, subject: str) -> list[ClaimBeside]:
        """Each measured field of a subject with what was claimed of it."""
        from matcher.store.readings.claims import claims_beside

        with self.store.reading() as con:
            return claims_beside(con, subject)
