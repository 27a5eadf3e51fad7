"""The parts lists of a shop: loading, search, mending, versions."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from matcher.shop.base import ShopPart, shop_settings

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matcher.store.catalog.search import FigureBound, FoundPart
    from matcher.store.catalog.suppliers import Supplier
    from matcher.store.importing.history import Holding, PartDiff, Version
    from matcher.store.importing.problems import KeptProblem
    from matcher.store.importing.report import LoadReport
    from matcher.store.importing.understanding import UnderstoodTable
    from matcher.store.mapping.proposals import ListQuestion
    from matcher.store.readings.claims import PartSheet
    from matcher.store.readings.readings import Reading


class ShopCatalog(ShopPart):
    """The parts lists of a shop: loading, search, mending, versions."""

    def load(
        self,
        *paths: str | Path,
        family: str | None = None,
        map: str | Path | None = None,
        columns: Mapping[str, str] | None = None,
        kinds: Mapping[str, str] | None = None,
        encoding: str | None = None,
        supplier: str | None = None,
        prefix: str | None = None,
        rate: str | None = None,
        complete: bool = False,
        dry_run: bool = False,
        sure: bool = False,
        by: str | None = None,
        tell: Callable[[str], None] = lambda _: None,
    ) -> LoadReport:
        """Load suppliers' lists: every row comes in, or is kept with its reasons.

        Parameters
        ----------
        family
            Family of the parts in the lists; not needed with a map or a column ``family``.
        map
            A map's file, or the name of one in the store; a map from a file is kept under its name. By default, a list
            of any form is understood by its headers and cells, or by a kept map that knows its headers.
        columns
            Answers about columns: the field of each header, with a unit in brackets, or ``-`` to skip the column.
        kinds
            Answers about families: the family for each of the list's words.
        encoding
            Encoding of text files; detected by default.
        supplier
            The lists' supplier; by default the map's, or the one whose lists have this name.
        prefix
            Prefix of the supplier's part numbers from now on, so that no other supplier has the same ones.
        rate
            One unit of the list's foreign currency in the shop's currency; kept for the supplier.
        complete
            Whether the lists are the supplier's whole range: its other parts are withdrawn.
        dry_run
            Report the result without changing anything.
        sure
            Accept rows with unusual or contradictory figures, which the user has confirmed.

        Raises
        ------
        FileRefused
            if a list or the map cannot be read; then no list is loaded.
        ListAsks
            if a list leaves questions open, each with its possible answers.
        """
        from matcher.store.importing.loading import load_lists
        from matcher.store.mapping.kept_maps import choose_map
        from matcher.store.mapping.map_proposals import ListAnswers

        chosen, keep = choose_map(self.store, map)
        lists = [Path(path) for path in paths]
        return load_lists(
            self.store,
            lists,
            family,
            map_=chosen,
            answers=ListAnswers(None, columns or {}, kinds or {}),
            encoding=encoding,
            keep_map=keep,
            supplier=supplier,
            prefix=prefix,
            rate=rate,
            complete=complete,
            dry_run=dry_run,
            sure=sure,
            by=by,
            tell=tell,
        )

    def load_families(self, lists: Mapping[str, Sequence[str | Path]], *, by: str | None = None) -> LoadReport:
        """Load the shop's own canonical lists, of several families, as one version of the catalog."""
        from matcher.store.importing.intake import Order
        from matcher.store.importing.loading import load_orders
        from matcher.store.lists.headers import check_family

        orders = [
            Order(Path(path), check_family(family), supplier="") for family, paths in lists.items() for path in paths
        ]
        return load_orders(self.store, orders, by=by)

    def understand(
        self,
        path: str | Path,
        family: str | None = None,
        *,
        columns: Mapping[str, str] | None = None,
        kinds: Mapping[str, str] | None = None,
        encoding: str | None = None,
    ) -> tuple[list[UnderstoodTable], list[ListQuestion]]:
        """Return the tables of a list, each with a map, and the questions to answer before it can be loaded.

        Raises
        ------
        FileRefused
            if the file cannot be read.
        """
        from matcher.store.importing.understanding import understand
        from matcher.store.lists.headers import check_family
        from matcher.store.mapping.map_proposals import ListAnswers

        answers = ListAnswers(None if family is None else check_family(family), columns or {}, kinds or {})
        found, _, questions = understand(self.store, Path(path), answers, encoding=encoding)
        return found, questions

    def holdings(self) -> list[Holding]:
        """Return the contents of the catalog by family."""
        from matcher.store.importing.history import holdings

        with self.store.reading() as con:
            return holdings(con)

    def part(self, part_id: str) -> PartSheet:
        """Return a part: its current figures, and the claims that readings override."""
        from matcher.store.readings.claims import part_sheet

        with self.store.reading() as con:
            return part_sheet(con, part_id)

    def suppliers(self) -> list[Supplier]:
        """Return every supplier with its number prefix, its lists, and its count of parts."""
        from matcher.store.catalog.suppliers import suppliers

        with self.store.reading() as con:
            return suppliers(con)

    def set_supplier(
        self,
        name: str,
        *,
        prefix: str | None = None,
        rename: str | None = None,
        terms: Mapping[str, Any] | None = None,
        by: str | None = None,
    ) -> None:
        """Change a supplier's number prefix for later loads, its name, or its terms.

        Parameters
        ----------
        terms
            Terms of its prices, by the fields of `SupplierTerms`; terms that are not given stay.

        Raises
        ------
        NotKnown
            if there is no such supplier.
        InputError
            if the prefix is taken, the supplier already has another one, or a term cannot be read.
        """
        from matcher.store.catalog.supplier_terms import give_terms
        from matcher.store.catalog.suppliers import check_supplier_name, expect_supplier, give_prefix, rename_supplier

        with self.store.changing(own=True) as con:
            expect_supplier(con, name)
            if prefix is not None:
                give_prefix(con, name, prefix, by)
            if terms:
                give_terms(con, name, dict(terms), shop_settings(con), by)
            if rename is not None:
                rename_supplier(con, name, check_supplier_name(rename), by)

    def keep_emptied(self, version: int | None = None, *, by: str | None = None) -> list[Reading]:
        """Keep figures that a version of the catalog emptied as readings if they are still unknown.

        Parameters
        ----------
        version
            The version; by default the latest.

        Raises
        ------
        InputError
            if there is no such version.
        """
        from matcher.store.readings.emptied import keep_emptied

        with self.store.changing() as con:
            return keep_emptied(con, version, by)

    def find(
        self,
        words: str,
        family: str | None = None,
        *,
        bounds: Sequence[FigureBound] = (),
        after: str = "",
        limit: int = 50,
    ) -> list[FoundPart]:
        """Return parts whose number, maker and model contain every word, by number, starting behind ``after``.

        Raises
        ------
        InputError
            if the family or a bounded figure is not known.
        """
        from matcher.store.catalog.search import find_parts

        with self.store.reading() as con:
            return find_parts(con, words, family, bounds, after, limit)

    def mend_problem(self, number: int, fields: Mapping[str, str], *, by: str | None = None) -> LoadReport:
        """Load a problem row with corrected cells; clear it if its part comes in, else keep it with its faults.

        Parameters
        ----------
        fields
            Its cells by the fields of its family, with ``family`` to change the family.

        Raises
        ------
        NotKnown
            if no such problem is open.
        """
        import tempfile
        from dataclasses import replace

        from matcher.errors import NotKnown
        from matcher.store.importing.mending import write_problems

        known = {kept.problem_id: kept for kept in self.problems()}
        if number not in known:
            raise NotKnown("open problem", str(number), [str(one) for one in known])
        kept = known[number]
        cells = {name: text for name, text in fields.items() if name != "family" and text}
        row = replace(kept.row, family=fields.get("family") or kept.row.family, fields=cells)
        with tempfile.TemporaryDirectory(prefix="boltback-") as folder:
            path = Path(folder) / f"problem-{number}.csv"  # a unique name, so that no other row is cleared
            write_problems([replace(kept, row=row)], path)
            return self.load(path, by=by)

    def features(self) -> list[str]:
        """Return every feature of a head unit, including those that an accessory adds."""
        with self.store.reading() as con:
            rows = con.execute(
                "select distinct unnest(features) as feature from head_unit "
                "union select unnest(gives) from accessory order by feature"
            ).fetchall()
        return [feature for (feature,) in rows]

    def problems(self, family: str | None = None) -> list[KeptProblem]:
        """Return the rows that could not be loaded, with their reasons."""
        from matcher.store.importing.problems import list_problems

        with self.store.reading() as con:
            return list_problems(con, family)

    def write_problems(self, target: str | Path, family: str | None = None, *, force: bool = False) -> int:
        """Write the problem rows to a CSV or XLSX file to mend and load again; return their number.

        Raises
        ------
        InputError
            if the file exists and ``force`` is not set, or it cannot be written.
        """
        from matcher.store.importing.mending import write_problems

        found = self.problems(family)
        write_problems(found, Path(target), force=force)
        return len(found)

    def drop_problems(self, *numbers: int, by: str | None = None) -> None:
        """Drop problem rows without mending them."""
        from matcher.store.importing.problems import drop_problems

        with self.store.changing(own=True) as con:
            drop_problems(con, numbers, by)

    def history(self) -> list[Version]:
        """Return every version of the catalog, oldest first."""
        from matcher.store.importing.history import history

        with self.store.reading() as con:
            return history(con)

    def diff(self, before: int, after: int) -> list[PartDiff]:
        """Return the changes of each part from one version of the catalog to another."""
        from matcher.store.importing.history import diff

        with self.store.reading() as con:
            return diff(con, before, after)

    def restore(self, version: int, *, by: str | None = None) -> Version:
        """Bring the catalog back to an earlier version, as a new one."""
        from matcher.store.importing.history import restore

        with self.store.changing(own=True) as con:
            return restore(con, version, by)

    def keep_part(
        self,
        family: str,
        part: Mapping[str, str],
        further: Mapping[str, str],
        *,
        sure: bool = False,
        by: str | None = None,
    ) -> str:
        """Keep a typed-in part as one of the shop's own; return its number.

        Parameters
        ----------
        part
            Its figures, as for the quick check.
        further
            Its other cells by the fields of its family: ``part_id``, ``maker``, ``model``, ``price``.
        sure
            Accept unusual figures, which the user has confirmed.

        Raises
        ------
        DoubtfulFigures
            if figures are unusual and `sure` is not set.
        InputError
            if a field is missing or cannot be read, or the part already exists: nothing is kept.
        """
        from catalog_schema.columns import family_columns
        from matcher.answers.quick import typed_figures
        from matcher.errors import DoubtfulFigures, InputError, Problem

        needed = dict.fromkeys((one.name for one in family_columns(family) if one.required), "")
        figures = needed | typed_figures(family, part, {})[0] | dict(further)
        with tempfile.TemporaryDirectory(prefix="boltback-") as folder:
            path = Path(folder) / "typed.json"
            path.write_text(json.dumps([figures], ensure_ascii=False), encoding="utf-8")
            tried = self._load_typed(path, family, sure=sure, dry_run=True, by=by)
            problems = [fault for row in (*tried.problems, *tried.noted) for fault in row.faults]
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
