"""A catalog shared with other shops, and one database for several counters."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from matcher.store.chain.join import Joined, Left
    from matcher.store.importing.report import LoadReport
    from matcher.store.sharing.attach import Attached
    from matcher.store.sharing.snapshots import Snapshot


class ShopSharing(ShopPart):
    """A catalog shared with other shops, and one database for several counters."""

    def attach_vehicles(self, folder: str | Path, *, by: str | None = None) -> dict[str, int]:
        """Import the measured vehicles of a published folder, or, for those imported before, later measurements only.

        Returns
        -------
        The number of lengths to check of each, by its name.

        Raises
        ------
        FileRefused
            if the folder has no complete publication; nothing is imported.
        """
        from matcher.store.sharing.attach_vehicles import attach_vehicles

        with self.store.changing() as con:
            return attach_vehicles(con, Path(folder), by)

    def join(self, address: str, *, by: str | None = None) -> Joined:
        """Bring the store into a chain: from now on its vehicles, jobs, choices and readings are the chain's.

        What the store holds goes into the chain, all of it or nothing, and all that the chain holds is seen here. A
        database that holds no chain becomes one; a store that is in this chain already takes all of it anew.

        Parameters
        ----------
        address
            The chain's PostgreSQL, as ``postgresql://USER@HOST/DATABASE``.

        Raises
        ------
        InputError
            if the address is none, the store is part of another chain, or the database refuses.
        FileRefused
            if the store says otherwise than the chain, with everything in which it does.
        ChainGone
            if the database does not answer.
        """
        from matcher.store.chain.join import join

        return join(self.store, address, by=by)

    def leave(self, *, by: str | None = None) -> Left:
        """Let the store stand by itself, with all that its chain holds; where that does not answer, with what it knew.

        Raises
        ------
        InputError
            if it is part of no chain.
        """
        from matcher.store.chain.join import leave

        return leave(self.store, by=by)

    def publish(self, folder: str | Path, *, by: str | None = None, keep: int = 10) -> Snapshot:
        """Publish the catalog and the vehicles as the next version in a folder; readers never see part of a version.

        Parameters
        ----------
        keep
            Number of versions that stay in the folder, at least two.

        Raises
        ------
        InputError
            if the folder cannot be written, or another process publishes into it.
        """
        from matcher.store.sharing.publish import publish

        return publish(self.store, Path(folder), by=by, kept=keep)

    def attach(self, folder: str | Path, supplier: str | None = None, *, by: str | None = None) -> LoadReport:
        """Attach a folder of published catalogs as a supplier: its current version is that supplier's whole list.

        Own parts, prices and readings override it.

        Parameters
        ----------
        supplier
            What it is called here; the folder's name where none is given.

        Raises
        ------
        FileRefused
            if nothing whole was published there; nothing of it was taken.
        InputError
            if lists of that supplier were loaded here.
        """
        from matcher.store.sharing.attach import attach

        return attach(self.store, Path(folder), supplier, by=by)

    def attached(self) -> list[Attached]:
        """Return the attached suppliers, each with its folder and the published version in the store."""
        from matcher.store.sharing.attach import attached

        with self.store.reading() as con:
            return attached(con)

    def refresh(self, supplier: str | None = None, *, by: str | None = None) -> dict[str, LoadReport]:
        """Update one attached supplier, or all, to the version that is published now.

        Raises
        ------
        NotKnown
            if no such supplier is attached.
        FileRefused
            if the publication cannot be read; the store is unchanged.
        """
        from matcher.store.sharing.attach import refresh

        return refresh(self.store, supplier, by=by)

    def detach(self, supplier: str, *, by: str | None = None) -> LoadReport:
        """Detach a supplier: its parts leave the catalog.

        Raises
        ------
        NotKnown
            if no such supplier is attached.
        """
        from matcher.store.sharing.attach import detach

        return detach(self.store, supplier, by=by)
