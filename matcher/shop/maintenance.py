"""The store's file: checked, indexed, backed up, taken back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from matcher.store.maintenance.backup import Restored
    from matcher.store.maintenance.check import CheckedStore


class ShopMaintenance(ShopPart):
    """The store's file: checked, indexed, backed up, taken back."""

    def check(self) -> CheckedStore:
        """Read everything in the store and hold it against what it must be; nothing of it is changed.

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
        """Write the catalog's index anew, where `check_store` found it at fault; how many parts there are in it.

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
        """Copy the store into a file, as of one moment; its path.

        Parameters
        ----------
        force
            Put it in place of a file that is there.

        Raises
        ------
        InputError
            if the file is there already, or cannot be written.
        """
        from matcher.store.maintenance.backup import back_up

        return back_up(self.store, Path(target), force=force)

    def lend(self, target: Path) -> None:
        """Copy the store, as of one moment, for another process of this one's to ask; the copy is not kept.

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
        """Put a copy in the place of the store, once it was found sound; what stood there is kept beside it.

        Raises
        ------
        InputError
            if the file cannot be taken.
        StoreFault
            if the copy is at fault; the store is as it was.
        """
        from matcher.store.maintenance.backup import restore

        return restore(self.store, Path(source), by=by)
