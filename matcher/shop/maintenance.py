"""The store's file: check, index, back up, restore."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from matcher.store.maintenance.backup import Restored
    from matcher.store.maintenance.check import CheckedStore


class ShopMaintenance(ShopPart):
    """The store's file: check, index, back up, restore."""

    def check(self) -> CheckedStore:
        """Check everything in the store against its invariants; nothing is changed.

        Raises
        ------
        InputError
            if there is no store.
        StoreFault
            if the file cannot be opened as a store.
        """
        from matcher.store.maintenance.check import check_store

        return check_store(self.store)

    def write_index(self) -> int:
        """Rebuild the catalog's index, if `check_store` found it at fault; return its number of parts.

        Raises
        ------
        StoreBusy
            if another process holds the store.
        """
        from matcher.store.database.indexing import write_index

        with self.store.changing(own=True) as con:
            write_index(con)
            ((parts,),) = con.execute("select count(*) from part").fetchall()
        return int(parts)

    def back_up(self, target: str | Path, *, force: bool = False) -> Path:
        """Copy the store into a file, as it is at one moment; return its path.

        Parameters
        ----------
        force
            Replace an existing file.

        Raises
        ------
        InputError
            if the file exists already, or cannot be written.
        """
        from matcher.store.maintenance.backup import back_up

        return back_up(self.store, Path(target), force=force)

    def lend(self, target: Path) -> None:
        """Copy the store, as it is at one moment, into a temporary file for a worker process of this one.

        Raises
        ------
        StoreBusy
            if the store is being changed, or another process holds it.
        InputError
            if the copy cannot be written.
        """
        from matcher.store.maintenance.backup import lend

        lend(self.store, target)

    def restore(self, source: str | Path, *, by: str | None = None) -> Restored:
        """Replace the store with a copy that was checked first; the replaced file is kept next to it.

        Raises
        ------
        InputError
            if the file cannot be read.
        StoreFault
            if the copy is at fault; the store is unchanged.
        """
        from matcher.store.maintenance.backup import restore

        return restore(self.store, Path(source), by=by)
