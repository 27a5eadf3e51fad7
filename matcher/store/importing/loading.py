"""Load lists into the catalog in one transaction: every row is loaded or kept with its reasons."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from catalog_schema.maps import ListMap
from catalog_schema.money import may_be_same
from catalog_schema.parts import FAMILIES
from matcher.errors import InputError, ListAsks, Problem
from matcher.store.catalog.overlay import lay_over_parts
from matcher.store.catalog.supplier_terms import USUAL, give_terms, supplier_terms
from matcher.store.catalog.suppliers import (
    ListSupplier,
    bare_numbers,
    check_supplier_name,
    give_prefix,
    remember_list,
    supplier_of_list,
)
from matcher.store.catalog.versions import Written, loaded_parts, mended_now, write_rows
from matcher.store.database.connection import Connection, quoted
from matcher.store.database.opening import Store
from matcher.store.database.provenance import record
from matcher.store.database.shop_settings import shop_notation, shop_settings
from matcher.store.database.stamps import catalog_version
from matcher.store.importing.history import note_changes
from matcher.store.importing.intake import Intake, Order, Share, Tell
from matcher.store.importing.late_faults import stranger_fault, twin_faults
from matcher.store.importing.problems import Load, keep_problems, open_count
from matcher.store.importing.report import LoadReport, write_version
from matcher.store.importing.understanding import UnderstoodTable, list_currency, orders_for
from matcher.store.lists.files import InspectedFile, look_at
from matcher.store.lists.headers import check_family
from matcher.store.mapping.kept_maps import save_map, with_family
from matcher.store.mapping.map_proposals import ListAnswers

MENDED = "mended by hand, and the list says what it said before"
"""Rows that are skipped because a mended row replaces them."""


class _DryRunError(Exception):
    """Rolls back a dry run."""


def load_lists(
    store: Store,
    paths: Sequence[Path],
    family: str | None = None,
    *,
    map_: ListMap | None = None,
    answers: ListAnswers | None = None,
    encoding: str | None = None,
    keep_map: str | None = None,
    supplier: str | None = None,
    prefix: str | None = None,
    rate: str | None = None,
    complete: bool = False,
    dry_run: bool = False,
    sure: bool = False,
    by: str | None = None,
    tell: Tell = lambda _: None,
) -> LoadReport:
    """Load lists into the catalog, all of them or none.

    Parameters
    ----------
    map_, answers
        The map to read the lists by, and the answers to the questions that a list leaves open. By default, lists with
        foreign headers are read by a kept map, or by a proposed one, which is then kept.
    keep_map
        The map's text, if it is to be kept in the store.
    family, encoding, supplier, prefix, rate, complete, dry_run, sure, tell
        As in `Shop.catalog.load`.

    Raises
    ------
    FileRefused
        if a file cannot be read; nothing is loaded.
    ListAsks
        if a list leaves questions open.
    NotKnown
        if there is no such family.
    """
    family = None if family is None else check_family(family)
    if map_ is not None:
        map_, family = with_family(map_, family), None
        supplier = supplier or map_.supplier or map_.name
    named = None if supplier is None else check_supplier_name(supplier)
    understood: list[UnderstoodTable] = []
    notes: list[str] = []
    if map_ is not None:
        orders = [Order(Path(path), family, map_, encoding, sure, named) for path in paths]
    else:
        given = replace(answers or ListAnswers(), family=family)
        every = []
        for path in map(Path, paths):
            tell(f"looking for tables and columns in {path}")
            every.append(orders_for(store, path, given, encoding=encoding, sure=sure, supplier=named))
        orders = [order for found, _, _ in every for order in found]
        understood = [one for _, found, _ in every for one in found]
        notes = [note for _, _, more in every for note in more]
    return load_orders(
        store,
        orders,
        keep_map=keep_map,
        understood=understood,
        notes=notes,
        prefix=prefix,
        rate=rate,
        complete=complete,
        dry_run=dry_run,
        by=by,
        tell=tell,
    )


def load_orders(
    store: Store,
    orders: Sequence[Order],
    *,
    keep_map: str | None = None,
    understood: Sequence[UnderstoodTable] = (),
    notes: Sequence[str] = (),
    prefix: str | None = None,
    rate: str | None = None,
    complete: bool = False,
    dry_run: bool = False,
    by: str | None = None,
    tell: Tell = lambda _: None,
) -> LoadReport:
    """Load lists of any families as one version; see `load_lists`. Maps of understood lists are kept."""
    if not orders:
        raise InputError("no list to load", fix="name one or more files")
    report = LoadReport(dry_run=dry_run, files=list(dict.fromkeys(str(order.path) for order in orders)))
    started = time.monotonic()
    looks = [look_at(order.path) for order in orders]
    with suppress(_DryRunError), store.changing(own=True) as con:
        if prefix is not None:
            give_prefix(con, _only_supplier(con, orders), prefix, by)
        report.warnings += [*notes, *_take_currency(con, orders, understood, rate, by)]
        load_into(con, report, list(zip(looks, orders, strict=True)), complete=complete, by=by, tell=tell)
        for one in understood:
            if one.proposal is not None:
                save_map(con, one.document, one.text, by)
        if keep_map is not None and orders[0].map is not None:
            save_map(con, orders[0].map, keep_map, by)
        if dry_run:
            raise _DryRunError
    report.tables = [one.shown() for one in understood]
    report.seconds = time.monotonic() - started
    return report


def _take_currency(
    con: Connection, orders: Sequence[Order], understood: Sequence[UnderstoodTable], rate: str | None, by: str | None
) -> list[str]:
    """Settle the currency of lists (the shop's from its first list, or a foreign rate); return remarks.

    Raises
    ------
    ListAsks
        if the rate of a foreign currency is not known.
    """
    stated, own = list_currency(understood), shop_notation(con).currency
    if stated is None or (not own and catalog_version(con)):
        return []
    if not own:
        con.execute("insert or replace into word_setting values ('currency', $1)", [stated])
        record(con, "settings", "settings:currency", stated, by=by)
        return [f"the shop's currency is {stated}, as in this list; boltback settings currency names another"]
    terms = supplier_terms(con)
    names = dict.fromkeys(supplier_of_list(con, order.path, order.supplier).name for order in orders)
    for name in names:
        if name and not any(may_be_same(stated, one) for one in (own, terms.get(name, USUAL).currency)):
            if rate is None:
                asks = Problem(f"what 1 {stated} is in {own}", column="price", found=stated, fix="--rate 0.9 says it")
                raise ListAsks(f"{name} has prices in {stated}; nothing was loaded", problems=[asks])
            give_terms(con, name, {"currency": stated, "rate": rate}, shop_settings(con), by)
    return []


def _only_supplier(con: Connection, orders: Sequence[Order]) -> str:
    names = {supplier_of_list(con, order.path, order.supplier).name for order in orders}
    if len(names) > 1 or not all(names):
        raise InputError("whose prefix is it?", fix="name the supplier with --supplier")
    return names.pop()


def load_into(
    con: Connection,
    report: LoadReport,
    lists: Sequence[tuple[InspectedFile, Order]],
    *,
    complete: bool = False,
    by: str | None = None,
    tell: Tell = lambda _: None,
) -> None:
    """Load lists as one version within the current change, and write the outcome into the report."""
    with tempfile.TemporaryDirectory(prefix="boltback-") as folder:
        intake = Intake(con, Path(folder), tell)
        suppliers = {str(order.path): supplier_of_list(con, order.path, order.supplier) for _, order in lists}
        own, terms = shop_notation(con), supplier_terms(con)
        for look, order in lists:
            paid_in = terms.get(suppliers[str(order.path)].name, USUAL).currency
            intake.notation = replace(own, currency=paid_in or own.currency)
            intake.take(look, order)
        loading = _Loading(con, report, intake, suppliers, intake.mends(), complete)
        loading.count_lines()
        loading.write()
        for look, _ in lists:
            look.check_same()
        loading.record(by)


@dataclass(slots=True)
class _Loading:
    con: Connection
    report: LoadReport
    intake: Intake
    suppliers: dict[str, ListSupplier]
    mends: dict[tuple[str, int], int]
    complete: bool

    def count_lines(self) -> None:
        for listing in self.intake.listings:
            self.report.lines += listing.lines
            self.report.skipped += listing.skipped
        self.report.warnings += dict.fromkeys(self.intake.warnings)
        self.report.families = list(dict.fromkeys(share.family for share in self.intake.shares))

    def write(self) -> None:
        con, report = self.con, self.report
        report.version = catalog_version(con) + 1
        report.problems += self.intake.problems
        report.noted += self.intake.noted
        self._note_refused()
        self._lay_out_mends()
        whole = {one.name for one in self.suppliers.values()} if self.complete else set()
        for family in report.families:
            self.intake.tell(f"comparing {family}")
            lists = [(share.number, self._identified(share)) for share in self.intake.shares if share.family == family]
            written = write_rows(con, family, lists, report.version, complete=whole)
            lay_over_parts(con, family)
            self._add(family, written)
        places = {file: place for place, file in enumerate(report.files)}
        report.problems.sort(key=lambda row: (places[row.file], row.line))

    def _note_refused(self) -> None:
        """Record parts whose rows were refused as being on the list, with or without their supplier's prefix."""
        self.con.execute("create temp table refused_part (part_id varchar)")
        named = [(row.part_id, self.suppliers[row.file].id_prefix) for row in self.report.problems if row.part_id]
        numbers = [number for part_id, prefix in named for number in {part_id, prefix + part_id}]
        self.con.execute("insert into refused_part select unnest($1::varchar[])", [numbers])

    def _lay_out_mends(self) -> None:
        """Record rows that were written out for a problem: they belong to the supplier of the original list."""
        files = [str(share.listing.path) for share in self.intake.shares]
        rows = [
            (n, line, problem)
            for n, file in enumerate(files)
            for (of, line), problem in self.mends.items()
            if of == file
        ]
        lists, lines, problems = ([row[side] for row in rows] for side in range(3))
        self.con.execute(
            "create temp table mending as select m.list, m.line, p.problem_id, coalesce(p.supplier, '') as supplier "
            "from (select unnest($1::integer[]) as list, unnest($2::integer[]) as line, "
            "unnest($3::integer[]) as problem_id) m join problem p using (problem_id)",
            [lists, lines, problems],
        )
        names = {one.name for one in self.suppliers.values()}
        names |= {name for (name,) in self.con.execute("select distinct supplier from mending").fetchall()}
        bare_numbers(self.con, sorted(names))

    def _identified(self, share: Share) -> str:
        """Return a share's rows as SQL, with catalog numbers, supplier, and the problem they mend."""
        of_list, file = self.suppliers[str(share.listing.path)], str(share.listing.path)
        plain = f"select *, {quoted(of_list.name)} as supplier, {of_list.guessed} as guessed"
        if not of_list.id_prefix and not any(of == file for of, _ in self.mends):
            return f"{plain}, null::integer as mends from ({share.understood.relation})"
        return (
            "select r.* replace (case when coalesce(s.id_prefix, '') = '' or starts_with(r.part_id, s.id_prefix) "
            "or b.part_id is not null then r.part_id else s.id_prefix || r.part_id end as part_id), "
            "r.own as supplier, r.guessed and r.mended is null as guessed, r.mended as mends "
            f"from (select u.*, coalesce(m.supplier, {quoted(of_list.name)}) as own, {of_list.guessed} as guessed, "
            f"m.problem_id as mended from ({share.understood.relation}) u "
            f"left join mending m on m.list = {share.number} and m.line = u.line) r "
            "left join supplier s on s.name = r.own "
            "left join bare_number b on b.supplier = r.own and b.part_id = r.part_id"
        )

    def _add(self, family: str, written: Written) -> None:
        report = self.report
        report.new += written.new
        report.changed += written.changed
        report.unchanged += written.unchanged
        report.duplicates += written.duplicates
        report.withdrawn += written.withdrawn
        if written.mended_kept:
            report.skipped[MENDED] += written.mended_kept
        if written.absent_makers:
            makers = ", ".join(written.absent_makers[:5])
            report.warnings.append(f"all parts of {makers} go out: whose list is it? name the supplier with --supplier")
        if written.mended_changed:
            report.warnings.append(
                f"{written.mended_changed} {family} mended by hand are as the list says now: it changed"
            )
        for twin in written.twins:
            first, here = (self.intake.shares[number].listing.path for number in (twin.first_list, twin.list_number))
            place = f"line {twin.first_line}" + (f" of {first}" if first != here else "")
            self._keep_late(twin.list_number, twin.line, twin_faults(twin, place))
        for one in written.strangers:
            self._keep_late(one.list_number, one.line, [stranger_fault(one, family)])

    def _keep_late(self, number: int, line: int, faults: list[Problem]) -> None:
        self.report.problems += self.intake.problem_rows(self.intake.shares[number], {line: faults})

    def record(self, by: str | None) -> None:
        con, report = self.con, self.report
        outcome = keep_problems(
            con,
            report.problems,
            Load(
                report.version,
                self.suppliers,
                self.mends,
                {family: loaded_parts(family) for family in report.families},
                [mended_now(family) for family in FAMILIES],
                self.complete,
            ),
        )
        report.mended, report.outdated, report.settled = outcome.mended, outcome.outdated, outcome.settled
        report.open_now = open_count(con)
        mending = {file for file, _ in self.mends}
        for file, supplier in self.suppliers.items():
            if file not in mending:
                remember_list(con, Path(file), supplier.name)
        report.suppliers = list(dict.fromkeys(one.name for file, one in self.suppliers.items() if file not in mending))
        if report.changes_nothing and not outcome.fresh and not outcome.mended and not outcome.outdated:
            report.version -= 1
            return
        write_version(self.con, self.report, "load", by)
        if report.changed:
            note_changes(con, report)
