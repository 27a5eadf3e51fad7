"""Keeping the store: its catalog published for other shops."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import Opened

if TYPE_CHECKING:
    from matcher.store.snapshots import Snapshot


class Keeping(Opened):
    """Keeping the store: its catalog published for other shops."""

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
