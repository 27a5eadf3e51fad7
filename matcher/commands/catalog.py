"""The catalog: load lists, view contents, mend problem rows, return to earlier versions."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from matcher.commands.base import (
    ByOption,
    ForceOption,
    JsonOption,
    StoreOption,
    open_shop,
    pairs,
    print_json,
    print_table,
    say,
    store_path,
)
from matcher.commands.catalog_words import (
    change_cells,
    counted,
    diff_cells,
    figure_text,
    holding_cells,
    problem_cells,
    report_cells,
    table_cells,
    version_cells,
)
from matcher.commands.progress import Progress
from matcher.commands.published import attach, attached, detach, publish, refresh
from matcher.errors import InputError

if TYPE_CHECKING:
    from matcher.store.importing.report import LoadReport

catalog_app = typer.Typer(help="The catalog: suppliers' lists and their versions.", no_args_is_help=True)

for command in (publish, attach, attached, refresh, detach):
    catalog_app.command(command.__name__)(command)

FamilyOption = Annotated[str | None, typer.Option("--family", help="The family, such as speaker.", show_default=False)]
EncodingOption = Annotated[
    str | None,
    typer.Option("--encoding", help="How text files are written: utf-8, windows-1250, ...", show_default=False),
]
SHOWN_PROBLEMS = 20
ColumnOption = Annotated[
    list[str] | None,
    typer.Option(
        "--column",
        help="What a column fills, as HEADER=FIELD: 'Depth=depth_mm (in)'; 'EAN=-' leaves it out. Repeatable.",
        show_default=False,
    ),
]
KindOption = Annotated[
    list[str] | None,
    typer.Option("--kind", help="What a word of the list means, as WORD=FAMILY: 'HU=head_unit'. Repeatable."),
]


@catalog_app.command("load")
def load(
    files: Annotated[list[Path], typer.Argument(help="Lists: CSV, XLSX, XLS, ODS, JSON, JSON Lines, Parquet.")],
    family: FamilyOption = None,
    column: ColumnOption = None,
    kind: KindOption = None,
    map_: Annotated[
        str | None, typer.Option("--map", help="A map's file, or its name in the store.", show_default=False)
    ] = None,
    encoding: EncodingOption = None,
    supplier: Annotated[
        str | None,
        typer.Option("--supplier", help="Whose lists they are. [default: as last time for a list of this name]"),
    ] = None,
    prefix: Annotated[
        str | None, typer.Option("--prefix", help="What the supplier's numbers begin with; kept.", show_default=False)
    ] = None,
    rate: Annotated[
        str | None, typer.Option("--rate", help="What 1 of their currency is in the shop's; kept.", show_default=False)
    ] = None,
    complete: Annotated[
        bool, typer.Option("--complete", help="They are all the supplier has: withdraw its other parts.")
    ] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say what would happen, change nothing.")] = False,
    sure: Annotated[bool, typer.Option("--sure", help="Their unusual figures are right: take them.")] = False,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Load any shop's lists: each row comes in or is kept with its reasons; all lists or none.

    Sheets, headers, families, columns and units are detected and shown; if something is unclear, you are asked.
    """
    with Progress() as progress:
        report = open_shop(store).catalog.load(
            *files,
            family=family,
            map=map_,
            columns=pairs(column, "--column"),
            kinds=pairs(kind, "--kind"),
            encoding=encoding,
            supplier=supplier,
            prefix=prefix,
            rate=rate,
            complete=complete,
            dry_run=dry_run,
            sure=sure,
            by=by,
            tell=progress.tell,
        )
    _print_report(report, as_json)


def _print_report(report: LoadReport, as_json: bool) -> None:
    from catalog_schema.answers import to_plain

    if as_json:
        counts = {"loaded": report.loaded, "open": report.open, "changes_nothing": report.changes_nothing}
        print_json(to_plain(report) | counts)
        return
    for table in report.tables:
        print_table(*table_cells(table))
        for remark in table.remarks:
            say(f"look at {remark}")
        print()
    for warning in report.warnings:
        say(f"note: {warning}")
    print_table(*report_cells(report))
    if report.changes:
        print()
        shown = [change_cells(change) for change in report.changes[:SHOWN_PROBLEMS]]
        print_table(["part", "field", "was", "is"], shown)
        if report.changed_fields > len(shown):
            all_of = (
                "" if report.dry_run else f": boltback catalog diff {report.version - 1} {report.version} lists all"
            )
            say(f"{len(shown)} of {report.changed_fields:,} changed fields are shown, prices first{all_of}")
    for row in report.noted[:SHOWN_PROBLEMS]:
        cells = ", ".join(f"{fault.column} ({fault.found})" for fault in row.faults)
        say(f"left unknown, line {row.line} {row.part_id}: {cells}")
    if report.problems:
        print()
        rows = [problem_cells(row) for row in report.problems[:SHOWN_PROBLEMS]]
        print_table(["line", "part", "field", "found", "expected", "what would do"], rows)
        if len(report.problems) > len(rows):
            say(f"{len(rows)} of {len(report.problems):,} rows that cannot be read are shown")
    if report.open_now:
        say(f"{report.open_now:,} rows are open now; boltback catalog problems --out fixed.csv writes them to mend")


@catalog_app.command("map")
def map_list(
    file: Annotated[Path, typer.Argument(help="A supplier's list.", show_default=False)],
    family: FamilyOption = None,
    column: ColumnOption = None,
    kind: KindOption = None,
    encoding: EncodingOption = None,
    sheet: Annotated[str | None, typer.Option("--sheet", help="The sheet. [default: the first with a table]")] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Write the map to this file.", show_default=False)] = None,
    force: ForceOption = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the map that would load a list, with its certain and uncertain entries."""
    from matcher.store.database.durable import check_target, write_file

    if out is not None:
        check_target(out, force=force, reads=[file, store_path(store)])
    answers = {"columns": pairs(column, "--column"), "kinds": pairs(kind, "--kind")}
    found, questions = open_shop(store).catalog.understand(file, family, encoding=encoding, **answers)
    tables = [one for one in found if sheet in (None, one.table.name)]
    if not tables:
        names = ", ".join(one.table.name for one in found)
        raise InputError(f"{file} has no table {sheet or ''}".rstrip(), fix=names and f"its sheets are {names}")
    text = tables[0].text + "\n"
    if out is not None:
        write_file(out, text)
    remarks = tables[0].proposal.remarks if tables[0].proposal else []
    if as_json:
        shown = [{"about": one.about, "says": one.says, "sure": one.sure} for one in remarks]
        open_questions = [{"about": one.about, "says": one.says, "answers": one.answers()} for one in questions]
        print_json({"map": json.loads(text), "remarks": shown, "questions": open_questions})
        return
    if out is None:
        print(text, end="")
    for remark in sorted(remarks, key=lambda one: one.sure):
        say(f"{'sure     ' if remark.sure else 'look at  '} {remark.about}: {remark.says}")
    for one in questions:
        say(f"asked     {one.about}: {one.says} {' or '.join(one.answers())}")
    for other in tables[1:]:
        say(f"also in it: --sheet '{other.table.name}'")
    say(f"edit it, then: boltback catalog load {file} --map {out or 'M.json'}")


@catalog_app.command("suppliers")
def suppliers(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """List the suppliers: the prefix of their numbers, their lists, their parts."""
    from catalog_schema.answers import to_plain

    found = open_shop(store).catalog.suppliers()
    if as_json:
        print_json({"suppliers": to_plain(found)})
        return
    from matcher.store.catalog.supplier_terms import terms_say

    currency = open_shop(store).settings().word("currency")
    rows = [
        [one.name or "(own lists)", one.id_prefix, str(one.parts), terms_say(one.terms, currency), ", ".join(one.lists)]
        for one in found
    ]
    print_table(["supplier", "prefix", "parts", "prices", "lists"], rows, right=frozenset({2}))


@catalog_app.command("supplier")
def supplier(
    name: Annotated[str, typer.Argument(help="The supplier.", show_default=False)],
    prefix: Annotated[
        str | None, typer.Option("--prefix", help="What its new numbers begin with from now on.", show_default=False)
    ] = None,
    rename: Annotated[
        str | None, typer.Option("--rename", help="Another name, or that of a supplier it is one with.")
    ] = None,
    price_is: Annotated[
        str | None, typer.Option("--price-is", help="What its prices are: cost or retail.", show_default=False)
    ] = None,
    markup: Annotated[
        str | None, typer.Option("--markup", help="What is added to its costs, in percent.", show_default=False)
    ] = None,
    with_tax: Annotated[
        bool | None, typer.Option("--with-tax/--without-tax", help="Whether its prices hold the tax.")
    ] = None,
    currency: Annotated[
        str | None, typer.Option("--currency", help="The currency of its prices.", show_default=False)
    ] = None,
    rate: Annotated[
        str | None,
        typer.Option("--rate", help="What one unit of it is in the shop's currency.", show_default=False),
    ] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Give a supplier a prefix for its numbers, another name, or the meaning of its prices."""
    from catalog_schema.answers import to_plain

    shop = open_shop(store)
    terms = {"price_is": price_is, "markup_pct": markup, "with_tax": with_tax, "currency": currency, "rate": rate}
    given = {field: value for field, value in terms.items() if value is not None}
    shop.catalog.set_supplier(name, prefix=prefix, rename=rename, terms=given, by=by)
    found = next(one for one in shop.catalog.suppliers() if one.name == (rename or name).strip())
    if as_json:
        print_json(to_plain(found))
    else:
        numbers = f"new numbers begin with {found.id_prefix}" if found.id_prefix else "numbers stand as in its lists"
        from matcher.store.catalog.supplier_terms import terms_say

        prices = terms_say(found.terms, shop.settings().word("currency"))
        say(f"supplier {found.name}: {counted(found.parts, 'part')}, {numbers}; prices: {prices}")


@catalog_app.command("keep-emptied")
def keep_emptied(
    version: Annotated[int | None, typer.Argument(help="A version. [default: the latest]", show_default=False)] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep the figures that a version of the catalog emptied as readings."""
    kept = open_shop(store).catalog.keep_emptied(version, by=by)
    if as_json:
        print_json({"readings": [{"subject": one.subject, "field": one.field, "value": one.value} for one in kept]})
    else:
        say(f"{counted(len(kept), 'figure')} of {counted(len({one.subject for one in kept}), 'part')} are kept")


@catalog_app.command("show")
def show(
    part: Annotated[str | None, typer.Argument(help="A part; all families where none is given.")] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the contents of the catalog, or a part with its claims and readings."""
    from catalog_schema.answers import to_plain

    shop = open_shop(store)
    if part is None:
        holdings = shop.catalog.holdings()
        if as_json:
            print_json({"families": to_plain(holdings)})
        else:
            print_table(*holding_cells(holdings), right=frozenset({1, 2, 3}))
        return
    sheet = shop.catalog.part(part)
    if as_json:
        print_json(json.loads(json.dumps(to_plain(sheet), default=str)))
        return
    claims = {claim.field: claim for claim in sheet.claims}
    rows = []
    for name, value in sheet.figures.items():
        claim = claims.get(name)
        beside = "" if claim is None else f"claimed {figure_text(claim.claimed, name)}; {claim.note or ''}".rstrip("; ")
        rows.append([name, figure_text(value, name), beside])
    print_table([sheet.family, part, "measured since"], rows)


@catalog_app.command("problems")
def problems(
    family: FamilyOption = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="Write them to this CSV or XLSX file, to mend.", show_default=False)
    ] = None,
    force: ForceOption = False,
    drop: Annotated[
        list[int] | None, typer.Option("--drop", help="Clear a row that nobody wants.", show_default=False)
    ] = None,
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the rows that could not be loaded, write them out to mend, or drop some."""
    shop = open_shop(store)
    if drop:
        shop.catalog.drop_problems(*drop, by=by)
    if out is not None:
        count = shop.catalog.write_problems(out, family, force=force)
        say(f"{counted(count, 'row')} {'is' if count == 1 else 'are'} in {out}: mend, then boltback catalog load {out}")
        return
    found = shop.catalog.problems(family)
    if as_json:
        print_json({"problems": [_problem_document(kept) for kept in found]})
        return
    heads = ["no", "file", "line", "part", "field", "found", "expected"]
    print_table(
        heads, [[str(kept.problem_id), Path(kept.row.file).name, *problem_cells(kept.row)[:5]] for kept in found]
    )


def _problem_document(kept: Any) -> dict[str, Any]:
    from catalog_schema.answers import to_plain

    document: dict[str, Any] = {"problem_id": kept.problem_id, "version": kept.version, **to_plain(kept.row)}
    return document


@catalog_app.command("history")
def history(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Show every version of the catalog: parts added, changed, withdrawn."""
    from catalog_schema.answers import to_plain

    versions = open_shop(store).catalog.history()
    if as_json:
        print_json({"versions": json.loads(json.dumps(to_plain(versions), default=str))})
        return
    print_table(*version_cells(versions), right=frozenset({0, 4, 5, 6, 7, 8}))


@catalog_app.command("diff")
def diff(
    before: Annotated[int, typer.Argument(help="A version; 0 is the empty catalog.", show_default=False)],
    after: Annotated[int, typer.Argument(help="Another.", show_default=False)],
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the changes of each part from one version to another."""
    from catalog_schema.answers import to_plain

    found = open_shop(store).catalog.diff(before, after)
    if as_json:
        print_json({"before": before, "after": after, "parts": to_plain(found)})
        return
    print_table(
        ["part", "family", "what", "field", "was", "is"], [cells for part in found for cells in diff_cells(part)]
    )


@catalog_app.command("restore")
def restore(
    version: Annotated[int, typer.Argument(help="The version to go back to.", show_default=False)],
    by: ByOption = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Bring the catalog back to an earlier version, as a new one."""
    from catalog_schema.answers import to_plain

    made = open_shop(store).catalog.restore(version, by=by)
    if as_json:
        print_json(json.loads(json.dumps(to_plain(made), default=str)))
    else:
        say(
            f"version {made.version} is the catalog of version {version}: "
            f"{made.new} parts came back, {made.changed} changed back, {made.withdrawn} went out"
        )
