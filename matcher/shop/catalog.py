"""The parts lists of a shop: loaded, searched, mended, and their versions."""

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
    """The parts lists of a shop: loaded, searched, mended, and their versions."""

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
            What the lists hold; left out where a map, or a column ``family``, tells it.
        map
            A map's file, or the name of one in the store; a file's map is kept by its name. Without one a list of any
            form is understood by its headers and cells, or by the kept map that knows its headers.
        columns
            What a list does not tell of its columns: by header the field that it fills, with a unit in brackets, or
            ``-`` if it is not to be read.
        kinds
            What a list does not tell of its families: by the list's word the family.
        encoding
            How text files are written; found if none is named.
        supplier
            Whose lists they are; the map's if there is one, else found by the list's name.
        prefix
            What the supplier's numbers begin with from now on, so that no other supplier's part has one of them.
        rate
            What one unit of a foreign currency of theirs is in the shop's; kept for the supplier.
        complete
            Whether they hold all that the supplier has: its other parts are withdrawn.
        dry_run
            Report what would happen, change nothing.
        sure
            Take rows whose figures are unusual, or at odds with each other: somebody says that they are right.

        Raises
        ------
        FileRefused
            if a list or the map cannot be taken; then nothing of any list is.
        ListAsks
            if a list leaves questions open, each with its answers.
        """
        from matcher.store.importing.loading import load_lists
        from matcher.store.mapping.kept import choose_map
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
        """Load canonical lists of several families, the shop's own, as one version of the catalog."""
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
        """The tables of a list with a map for each, and what has to be answered before it is loaded.

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
        """Return the contents of the catalog, family by family."""
        from matcher.store.importing.history import holdings

        with self.store.reading() as con:
            return holdings(con)

    def part(self, part_id: str) -> PartSheet:
        """A part: its figures as they count, and the claims that readings were laid over."""
        from matcher.store.readings.claims import part_sheet

        with self.store.reading() as con:
            return part_sheet(con, part_id)

    def suppliers(self) -> list[Supplier]:
        """Every supplier, with the prefix of its numbers, its lists and how many parts it has."""
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
        """Give a supplier a prefix for the numbers that come in from now on, another name, or other terms.

        Parameters
        ----------
        terms
            What its prices mean, by the fields of `SupplierTerms`; those that are not given stay.

        Raises
        ------
        NotKnown
            if there is no such supplier.
        InputError
            if the prefix is taken, or the supplier has another one, or a term cannot be read.
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
        """Keep the figures that a version of the catalog emptied as readings, where they are still unknown.

        Parameters
        ----------
        version
            The version; the latest if none is given.

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
        """Parts whose number, maker and model hold every word, by number; those after ``after`` alone.

        Raises
        ------
        InputError
            if the family, or a figure that is bounded, is not known.
        """
        from matcher.store.catalog.search import find_parts

        with self.store.reading() as con:
            return find_parts(con, words, family, bounds, after, limit)

    def mend_problem(self, number: int, fields: Mapping[str, str], *, by: str | None = None) -> LoadReport:
        """Load a problem row with other cells; it is cleared where its part comes in, else kept with what is wrong.

        Parameters
        ----------
        fields
            Its cells by the fields of its family, ``family`` among them if it is to be another.

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
            path = Path(folder) / f"problem-{number}.csv"  # a name of its own: it settles no other row
            write_problems([replace(kept, row=row)], path)
            return self.load(path, by=by)

    def features(self) -> list[str]:
        """Every feature that a head unit has, or that an accessory gives one."""
        with self.store.reading() as con:
            rows = con.execute(
                "select distinct unnest(features) as feature from head_unit "
                "union select unnest(gives) from accessory order by feature"
            ).fetchall()
        return [feature for (feature,) in rows]

    def problems(self, family: str | None = None) -> list[KeptProblem]:
        """The rows that could not be loaded, with their reasons."""
        from matcher.store.importing.problems import list_problems

        with self.store.reading() as con:
            return list_problems(con, family)

    def write_problems(self, target: str | Path, family: str | None = None, *, force: bool = False) -> int:
        """Write the problem rows to a CSV or XLSX file to mend and load again; how many.

        Raises
        ------
        InputError
            if the file is there and ``force`` is not given, or it cannot be written.
        """
        from matcher.store.importing.mending import write_problems

        found = self.problems(family)
        write_problems(found, Path(target), force=force)
        return len(found)

    def drop_problems(self, *numbers: int, by: str | None = None) -> None:
        """Clear problem rows that nobody wants to mend."""
        from matcher.store.importing.problems import drop_problems

        with self.store.changing(own=True) as con:
            drop_problems(con, numbers, by)

    def history(self) -> list[Version]:
        """Every version of the catalog, oldest first."""
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
        from matcher.answers.quick import typed_figures
        from matcher.errors import DoubtfulFigures, InputError, Problem

        needed = dict.fromkeys((one.name for one in family_columns(family) if one.required), "")
        figures = needed | typed_figures(family, part, {})[0] | dict(further)
        with tempfile.TemporaryDirectory(prefix="boltback-") as folder:
            path = Path(folder) / "typed.json"
            path.write_text(json.dumps([figures], ensure_ascii=False), encoding="utf-8")
            tried = self._load_typed(path, family, sure=sure, dry_run=True, by=by)
            problems = [
                Problem(fault.expected, column=fault.field, found=fault.found, fix=fault.fix)
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
