"""Parts and openings that were typed in for a quick check, kept."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from matcher.shop.base import Opened

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matcher.store.importing.report import LoadReport


class Typed(Opened):
    """Parts and openings that were typed in for a quick check, kept."""

    def keep_part(
        self,
        family: str,
        part: Mapping[str, str],
        further: Mapping[str, str],
        *,
        sure: bool = False,
        by: str | None = None,
    ) -> str:
        """Keep a part that was typed in as one of the shop's own; its number.

        Parameters
        ----------
        part
            Its figures, as for the quick check.
        further
            Its other cells by the fields of its family: ``part_id``, ``maker``, ``model``, ``price``.
        sure
            Whether its figures are right, however unusual.

        Raises
        ------
        DoubtfulFigures
            if figures are unusual, and nobody is sure of them.
        InputError
            if a field is missing or cannot be read, or there is such a part already: nothing is kept.
        """
        from catalog_schema.columns import family_columns
        from matcher.errors import DoubtfulFigures, InputError, Problem
        from matcher.explain.quick import typed_figures

        needed = dict.fromkeys((one.name for one in family_columns(family) if one.required), "")
        figures = needed | typed_figures(family, part, {})[0] | dict(further)
        with tempfile.TemporaryDirectory(prefix="boltback-") as folder:
            path = Path(folder) / "typed.json"
            path.write_text(json.dumps([figures], ensure_ascii=False), encoding="utf-8")
            tried = self._load_typed(path, family, sure=sure, dry_run=True, by=by)
            problems = [
                Problem(fault.expected, column=fault.field, found=fault.found, cure=fault.cure)
                for row in (*tried.problems, *tried.noted)
                for fault in row.faults
            ]
            if problems and not sure and not self._load_typed(path, family, sure=True, dry_run=True, by=by).problems:
                raise DoubtfulFigures("the part has doubtful figures; it was not kept", problems)
            if problems:
                raise InputError("the part cannot be kept", problems=problems)
            if not tried.new:
                taken = Problem("a number that no part has", column="part_id", found=figures["part_id"])
                raise InputError(f"there is a part {figures['part_id']} already", problems=[taken])
            self._load_typed(path, family, sure=sure, dry_run=False, by=by)
        return figures["part_id"]

    def _load_typed(self, path: Path, family: str, *, sure: bool, dry_run: bool, by: str | None) -> LoadReport:
        from matcher.store.importing.intake import Order
        from matcher.store.importing.loading import load_orders
        from matcher.store.lists.headers import check_family

        order = Order(path, check_family(family), sure=sure, supplier="")
        return load_orders(self.store, [order], dry_run=dry_run, by=by)

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
        """Add an opening that was typed in to a vehicle, which is begun with it if there is none of that name.

        Parameters
        ----------
        family
            The family of parts that goes into it.
        opening
            Its figures, as for the quick check.
        vehicle, place
            The vehicle's ``vehicle_id`` and the opening's ``opening_id``, each with its ``label``.

        Raises
        ------
        DoubtfulFigures
            if figures are unusual, and nobody is ``sure`` of them.
        InputError
            if the vehicle has an opening of that name, or a figure cannot be read.
        """
        from matcher.explain.quick import KINDS, typed_figures, typed_opening
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
