"""Archived vehicles, jobs, parts and openings, and the things that depend on them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from matcher.store.maintenance.archive import Dependent


class ShopArchive(ShopPart):
    """Archived vehicles, jobs, parts and openings, and the things that depend on them."""

    def all(self) -> list[str]:
        """Return every archived subject, such as ``job:tern-nocut``, by name."""
        from matcher.store.maintenance.archive import archived

        with self.store.reading() as con:
            return archived(con)

    def dependents(self, subject: str) -> list[Dependent]:
        """Return everything that depends on a job, vehicle, part or opening, before it is archived or deleted.

        Raises
        ------
        InputError
            if the store has no such subject.
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
            Whether to archive it even if something depends on it.

        Raises
        ------
        InputError
            if something depends on it and `anyway` is not set, it is already archived, or it is not known.
        """
        from matcher.store.maintenance.archive import archive

        with self.store.changing() as con:
            archive(con, subject, anyway=anyway, note=note, by=by)

    def take_back(self, subject: str, *, by: str | None = None) -> None:
        """Bring an archived subject back.

        Raises
        ------
        NotKnown
            if no subject of that name is archived.
        """
        from matcher.store.maintenance.archive import unarchive

        with self.store.changing() as con:
            unarchive(con, subject, by=by)

    def delete(self, subject: str, *, note: str | None = None, by: str | None = None) -> None:
        """Delete a subject that no job, choice or record needs; its document stays in the log, its readings are voided.

        Raises
        ------
        InputError
            if something depends on it (each dependent is listed), it is not known, or it belongs to a chain.
        """
        from matcher.store.maintenance.archive import delete

        with self.store.changing() as con:
            delete(con, subject, note=note, by=by)
