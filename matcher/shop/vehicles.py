"""The vehicles of a shop, each a document with its openings."""

from __future__ import annotations

from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from matcher.shop.base import ShopPart

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalog_schema.answers import StoredDocument
    from matcher.store.database.kept_documents import KeptDocument


class ShopVehicles(ShopPart):
    """The vehicles of a shop, each a document with its openings."""

    def load(self, path: str | Path, *, by: str | None = None, sure: bool = False) -> str:
        """Load a vehicle's file; return the vehicle's name."""
        return self.load_all(path, by=by, sure=sure)[0]

    def load_all(self, *paths: str | Path, by: str | None = None, sure: bool = False) -> list[str]:
        """Load vehicles' files, all of them or none; return the vehicles' names.

        Parameters
        ----------
        sure
            Accept unusual figures, which the user has confirmed.

        Raises
        ------
        DoubtfulFigures
            if figures are unusual and `sure` is not set.
        """
        from matcher.store.catalog.overlay import lay_over_openings
        from matcher.store.documents.saving import save_vehicle
        from matcher.store.lists.files import read_document

        texts = [(read_document(Path(path), "vehicle"), str(path)) for path in paths]
        with self.store.changing() as con:
            names = [save_vehicle(con, text, path, by, sure=sure) for text, path in texts]
            for name in names:
                lay_over_openings(con, name)
            return names

    def document(self, vehicle_id: str) -> KeptDocument:
        """Return a vehicle's document, with the mark required to change it."""
        from matcher.store.database.kept_documents import kept_document

        with self.store.reading() as con:
            return kept_document(con, "vehicle", vehicle_id)

    def save(
        self, document: Mapping[str, Any], mark: str | None = None, *, by: str | None = None, sure: bool = False
    ) -> KeptDocument:
        """Save a vehicle in place of the document with ``mark``, or as a new one.

        Parameters
        ----------
        sure
            Accept unusual figures, which the user has confirmed.

        Raises
        ------
        DoubtfulFigures
            with every unusual figure that is new in the document, if `sure` is not set.
        ChangedMeanwhile
            if the document no longer has that mark.
        FileRefused
            with every fault of the document.
        """
        from matcher.store.catalog.overlay import lay_over_openings
        from matcher.store.documents.saving import change_document

        with self.store.changing() as con:
            kept = change_document(con, "vehicle", document, mark, by, sure=sure)
            lay_over_openings(con, kept.name)
            return kept

    def new(
        self,
        vehicle_id: str,
        *,
        like: str | None = None,
        openings: Mapping[str, str] = MappingProxyType({}),
        fields: Mapping[str, Any] = MappingProxyType({}),
        by: str | None = None,
    ) -> int:
        """Begin a vehicle, with openings still to be measured or from one that was measured before.

        Parameters
        ----------
        like
            A vehicle of the same model: its figures are copied with a wider tolerance, until they are checked.
        openings
            The kind of each added opening, by its name.
        fields
            ``label``, ``year``, ``body``.

        Returns
        -------
        The number of copied lengths.

        Raises
        ------
        InputError
            if the name is taken, the vehicle ``like`` is not known, or a field cannot be read.
        """
        from matcher.store.documents.like_vehicle import measured_vehicle, take_over
        from matcher.store.documents.saving import change_document

        added = [{"opening_id": name, "kind": kind} for name, kind in openings.items()]
        with self.store.changing() as con:
            if like is not None:
                return take_over(con, measured_vehicle(con, like), vehicle_id, fields, added, by)
            change_document(con, "vehicle", {"vehicle_id": vehicle_id, **fields, "openings": added}, None, by)
            return 0

    def export(self, vehicle_id: str) -> dict[str, Any]:
        """Export a vehicle with its current readings, their authors and times, as one document for another shop.

        Raises
        ------
        NotKnown
            if the store holds no such vehicle.
        """
        from matcher.store.documents.vehicle_export import vehicle_document

        with self.store.reading() as con:
            return vehicle_document(con, vehicle_id)

    def import_file(self, path: str | Path, name: str | None = None, *, by: str | None = None) -> tuple[str, int]:
        """Import a vehicle that another shop measured: its lengths have a wider tolerance, until they are checked.

        Parameters
        ----------
        name
            Its name here; by default unchanged.

        Returns
        -------
        Its name here, and the number of lengths to check.

        Raises
        ------
        FileRefused
            if the file is not a measured vehicle.
        InputError
            if the name is taken.
        """
        from matcher.store.documents.vehicle_export import import_vehicle

        with self.store.changing() as con:
            return import_vehicle(con, Path(path), name, by=by)

    def all(self, *, archived: bool | None = False) -> StoredDocument:
        """Return every vehicle of the store: those in use, those archived, or both if ``archived`` is None."""
        from matcher.answers.holdings import vehicle_list

        with self.store.reading() as con:
            return vehicle_list(con, archived)

    def get(self, vehicle_id: str) -> StoredDocument:
        """Return a vehicle's openings with their current figures."""
        from matcher.answers.holdings import vehicle_figures

        with self.store.reading() as con:
            return vehicle_figures(con, vehicle_id)

    def keep_opening(
        self,
        family: str,
        opening: Mapping[str, str],
        vehicle: Mapping[str, str],
        place: Mapping[str, str],
        *,
        sure: bool = False,
        by: str | None = None,
    ) -> None:
        """Add a typed-in opening to a vehicle; the vehicle is created if it is new.

        Parameters
        ----------
        family
            The family of parts for the opening.
        opening
            Its figures, as for the quick check.
        vehicle, place
            The vehicle's ``vehicle_id`` and the opening's ``opening_id``, each with its ``label``.

        Raises
        ------
        DoubtfulFigures
            if figures are unusual and ``sure`` is not set.
        InputError
            if the vehicle has an opening of that name, or a figure cannot be read.
        """
        from matcher.answers.quick import KINDS, typed_figures, typed_opening
        from matcher.store.catalog.overlay import lay_over_openings
        from matcher.store.database.kept_documents import kept_document
        from matcher.store.database.shop_settings import shop_notation
        from matcher.store.documents.saving import change_document

        name, figures = vehicle["vehicle_id"], typed_figures(family, {}, opening)[1]
        with self.store.changing() as con:
            is_held = con.execute("select 1 from vehicle where vehicle_id = $1", [name]).fetchone()
            held = kept_document(con, "vehicle", name) if is_held else None
            document = held.document if held else dict(vehicle)
            made = typed_opening({**place, "kind": KINDS[family]}, figures, shop_notation(con))
            openings = [*document.get("openings", ()), made]
            change_document(
                con, "vehicle", {**document, "openings": openings}, held.mark if held else None, by, sure=sure
            )
            lay_over_openings(con, name)
