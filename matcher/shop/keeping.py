"""Keeping the store: held against what it must be, copied, taken back; its catalog published for other shops."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import Opened

if TYPE_CHECKING:
    from matcher.store.chain.join import Joined, Left
    from matcher.store.importing.report import LoadReport
    from matcher.store.maintenance.archive import Hanging
    from matcher.store.maintenance.backup import Restored
    from matcher.store.maintenance.check import CheckedStore
    from matcher.store.sharing.attach import Attached
    from matcher.store.sharing.snapshots import Snapshot


class Keeping(Opened):
    """Keeping the store: held against what it must be, copied, taken back; its catalog published for other shops."""

    def check_store(self) -> CheckedStore:
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
        """Copy the store into a file, as it stands at one moment; its path.

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
        """Copy the store, as it stands at one moment, for another process of this one's to ask; the copy is not kept.

        Raises
        ------
        StoreBusy
            if the store is being changed, or another process holds it.
        InputError
            if the copy cannot be written.
        """
        from matcher.store.maintenance.backup import lend

        lend(self.store, target)

    def restore_store(self, source: str | Path, *, by: str | None = None) -> Restored:
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

    def join(self, address: str, *, by: str | None = None) -> Joined:
        """Bring the store into a chain: from now on its vehicles, jobs, choices and readings are the chain's.

        What the store holds goes into the chain, all of it or nothing, and all that the chain holds is seen here. A
        database that holds no chain becomes one; a store that stands in this chain already takes all of it anew.

        Parameters
        ----------
        address
            The chain's PostgreSQL, as ``postgresql://USER@HOST/DATABASE``.

        Raises
        ------
        InputError
            if the address is none, the store stands in another chain, or the database refuses.
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
            if it stands in no chain.
        """
        from matcher.store.chain.join import leave

        return leave(self.store, by=by)

    def publish(self, folder: str | Path, *, by: str | None = None, keep: int = 10) -> Snapshot:
        """Publish the catalog and the vehicles as the next version in a folder; readers never see half of one.

        Parameters
        ----------
        keep
            How many versions stay in the folder, two at least.

        Raises
        ------
        InputError
            if the folder cannot be written, or another process publishes into it.
        """
        from matcher.store.sharing.publish import publish

        return publish(self.store, Path(folder), by=by, kept=keep)

    def archived(self) -> list[str]:
        """Every subject that is archived, such as ``job:tern-nocut``, by name."""
        from matcher.store.maintenance.archive import archived

        with self.store.reading() as con:
            return archived(con)

    def hanging(self, subject: str) -> list[Hanging]:
        """Everything that depends on a job, vehicle, part or opening, before it is archived or deleted.

        Raises
        ------
        InputError
            if the store does not hold it.
        """
        from matcher.store.maintenance.archive import hanging

        with self.store.reading() as con:
            return hanging(con, subject)

    def archive(self, subject: str, *, anyway: bool = False, note: str | None = None, by: str | None = None) -> None:
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

    def unarchive(self, subject: str, *, by: str | None = None) -> None:
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

    def attach(self, folder: str | Path, supplier: str | None = None, *, by: str | None = None) -> LoadReport:
        """Attach a folder of published catalogs as a supplier: its current version is that supplier's whole list.

        Own parts, prices and readings stand over it.

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
        """The suppliers that are attached, each with its folder and the published version that the store holds."""
        from matcher.store.sharing.attach import attached

        with self.store.reading() as con:
            return attached(con)

    def refresh(self, supplier: str | None = None, *, by: str | None = None) -> dict[str, LoadReport]:
        """Bring a supplier that is attached, or each of them, up to the version that is published now.

        Raises
        ------
        NotKnown
            if no such supplier is attached.
        FileRefused
            if what was published cannot be taken; the store is as it was.
        """
        from matcher.store.sharing.attach import refresh

        return refresh(self.store, supplier, by=by)

    def detach(self, supplier: str, *, by: str | None = None) -> LoadReport:
        """Let go of a supplier that is attached: its parts go out of the catalog.

        Raises
        ------
        NotKnown
            if no such supplier is attached.
        """
        from matcher.store.sharing.attach import detach

        return detach(self.store, supplier, by=by)
