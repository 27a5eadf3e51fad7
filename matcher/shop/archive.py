"""Vehicles, jobs, parts and openings that were put away, and the things that depend on them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from matcher.store.maintenance.archive import Dependent


class ShopArchive(ShopPart):
    """Vehicles, jobs, parts and openings that were put away, and the things that depend on them."""

    def all(self) -> list[str]:
        """Every subject that is archived, such as ``job:tern-nocut``, by name."""
        from matcher.store.maintenance.archive import archived

        with self.store.reading() as con:
            return archived(con)

    def dependents(self, subject: str) -> list[Dependent]:
        """Everything that depends on a job, vehicle, part or opening, before it is archived or deleted.

        Raises
        ------
        InputError
            if the store does not hold it.
        """
        from matcher.store.maintenance.archive import dependents

        with self.store.reading() as con:
            return dependents(con, subject)

    def put_away(self, subject: str, *, anyway: bool = False, note: str | None = None, by: str | None = None) -> None:
        """Take a job, vehicle, part or opening out of every list, search and ranking that does not name it.

        Parameters
        ----------
        subject
            ``job:ID``, ``vehicle:ID``, ``part:ID`` or ``opening:VEHICLE/OPENING``.
        anyway
            Whether to do so though something depends on it.

        Raises
        ------
        InputError
            if something depends on it and it is not to be archived anyway, it is archived already, or not known.
        """
        from matcher.store.maintenance.archive import archive

        with self.store.changing() as con:
            archive(con, subject, anyway=anyway, note=note, by=by)

    def take_back(self, subject: str, *, by: str | None = None) -> None:
        """Bring an archived subject back.

        Raises
        ------
        NotKnown
            if nothing of that name is archived.
        """
        from matcher.store.maintenance.archive import unarchive

        with self.store.changing() as con:
            unarchive(con, subject, by=by)

    def delete(self, subject: str, *, note: str | None = None, by: str | None = None) -> None:
        """Delete a subject that no job, choice or record needs; the log keeps its document, its readings are voided.

        Raises
        ------
        InputError
            if something depends on it, with all of that, it is not known, or a chain holds it.
        """
        from matcher.store.maintenance.archive import delete

        with self.store.changing() as con:
            delete(con, subject, note=note, by=by)
