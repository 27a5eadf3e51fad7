"""Keeping the store: held against what it must be, copied, taken back; its catalog published for other shops."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import Opened

if TYPE_CHECKING:
    from matcher.store.backup import Restored
    from matcher.store.check import CheckedStore
    from matcher.store.snapshots import Snapshot


class Keeping(Opened):
    """Keeping the store: held against what it must be, copied, taken back; its catalog published for other shops."""

    def check_store(self) -> CheckedStore:
        """Read everything in the store and hold it against what it must be; nothing of it is changed.

        Raises
        ------
        InputError
            where there is no store.
        StoreFault
            where the file cannot be opened as a store.
        """
        from matcher.store.check import check_store

        return check_store(self.store)

    def back_up(self, target: str | Path, *, force: bool = False) -> Path:
        """Copy the store into a file, as it stands at one moment; its path.

        Parameters
        ----------
        force
            Put it in place of a file that is there.

        Raises
        ------
        InputError
            where the file is there already, or cannot be written.
        """
        from matcher.store.backup import back_up

        return back_up(self.store, Path(target), force=force)

    def restore_store(self, source: str | Path, *, by: str | None = None) -> Restored:
        """Put a copy in the place of the store, once it was found sound; what stood there is kept beside it.

        Raises
        ------
        InputError
            where the file cannot be taken.
        StoreFault
            where the copy is at fault; the store is as it was.
        """
        from matcher.store.backup import restore

        return restore(self.store, Path(source), by=by)

    def publish(self, folder: str | Path, *, by: str | None = None, keep: int = 10) -> Snapshot:
        """Publish the catalog and the vehicles as the next version in a folder; readers never see half of one.

        Parameters
        ----------
        keep
            How many versions stay in the folder, two at least.

        Raises
        ------
        InputError
            where the folder cannot be written, or another process publishes into it.
        """
        from matcher.store.publish import publish

        return publish(self.store, Path(folder), by=by, kept=keep)
