"""The order: a document per supplier, ready to send, and one of the items in no supplier's list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from catalog_schema.choices import Cell, OpenPoint, Sheet
from matcher.papers.kit import kit_name, kit_quantity
from matcher.papers.model import Block, Document, Items, Para, Table
from matcher.papers.numbers import CENT, Numbers
from matcher.papers.writer import PERCENT, UNSAFE, Writer
from matcher.store.catalog.supplier_terms import USUAL, SupplierTerms

Row = Mapping[str, Cell]
HEADS = ("part", "what", "packs", "there", "price", "total")


@dataclass(frozen=True, slots=True)
class SupplierOrder:
    """Order to one supplier, as a paper and as a table for a spreadsheet."""

    document: Document
    sheet: Sheet


def supplier_orders(
    writer: Writer, rows: Sequence[Row], points: Sequence[OpenPoint], terms: Mapping[str, SupplierTerms]
) -> list[SupplierOrder]:
    """Return a document per supplier, then one of the items without a source.

    Parameters
    ----------
    rows
        The order's lines by today's catalog, with ``order_from``, ``part_id``, ``packs``, ``price``, ``total``,
        ``stock`` and ``lead_days``.
    points
        Points that were open when it was ordered anyway.
    terms
        The meaning of each supplier's list prices: an order repeats them unchanged, in the list's currency.
    """
    suppliers = list(dict.fromkeys(str(row["order_from"]) for row in rows))
    made = [
        _order(writer, name, [row for row in rows if row["order_from"] == name], points, terms.get(name, USUAL))
        for name in suppliers
    ]
    missing = _open_lines(writer)
    return [*made, *([_open(writer, missing)] if missing else [])]


def _order(
    writer: Writer, supplier: str, rows: list[Row], points: Sequence[OpenPoint], terms: SupplierTerms
) -> SupplierOrder:
    totals = _totals(writer, rows, terms)
    numbers = replace(writer.numbers, currency=terms.currency or writer.numbers.currency)
    lines = [_line(writer, row) for row in rows]
    heads = tuple(writer.say(f"order.{name}") for name in HEADS)
    table = Table(
        heads=heads,
        rows=(
            *(_as_text(writer, numbers, line) for line in lines),
            *(("", name, "", "", "", numbers.money(amount)) for name, amount in totals),
        ),
        right=(2, 3, 4, 5),
        strong=(len(lines) + len(totals) - 1,),
        widths=(1, 2.4, 1.25, 0.95, 0.95, 0.95),
    )
    blocks: list[Block] = [
        Para(text=writer.say(f"order.lead.{terms.price_is}", supplier=supplier, tax=_tax(writer, terms)), tone="lead"),
        *_measure_first(writer, rows, points),
        table,
        *_withdrawn(writer, rows),
        Para(text=_latest(writer, rows)),
    ]
    document = _named(writer, supplier, blocks, supplier)
    below: list[list[Cell]] = [[None, name, None, None, None, amount] for name, amount in totals]
    facts: list[list[Cell]] = [
        [None, writer.say("fact.job"), str(writer.dossier.job["job_id"]), None, None, None],
        [None, writer.say("fact.date"), writer.dossier.on, None, None, None],
    ]
    texts = list(document.sender)
    for block in blocks:
        texts += [block.text] if isinstance(block, Para) else block.items if isinstance(block, Items) else []
    notes: list[list[Cell]] = [[None, text, None, None, None, None] for text in texts]
    return SupplierOrder(
        document,
        Sheet(
            name=document.title,
            heads=[*heads[:-2], *(f"{head}, {numbers.currency}".rstrip(", ") for head in heads[-2:])],
            cells=[*lines, *below, *facts, *notes],
        ),
    )


def _tax(writer: Writer, terms: SupplierTerms) -> str:
    return writer.say("order.with_tax" if terms.with_tax else "order.without_tax")


def _line(writer: Writer, row: Row) -> list[Cell]:
    """Return a line of the order: part, description, packs, earliest date of arrival, price and total."""
    pack_of = row["pack_of"] or 1
    packs = row["packs"] if pack_of == 1 else writer.say("order.pack", count=str(row["packs"]), of=str(pack_of))
    return [row["part_id"], f"{row['maker']} {row['model']}", packs, _there(writer, row), row["price"], row["total"]]


def _as_text(writer: Writer, numbers: Numbers, line: list[Cell]) -> tuple[str, ...]:
    """Format a line: amounts with their currency, dates in the language's format."""

    def text(cell: Cell) -> str:
        if isinstance(cell, Decimal):
            return numbers.money(cell)
        return "?" if cell is None else writer.date(cell.isoformat()) if isinstance(cell, date) else str(cell)

    return tuple(map(text, line))


def _there(writer: Writer, row: Row) -> date | str:
    """Return the day on which a line can arrive, or a word if it is in stock or unknown."""
    days = _days(row)
    if days is None:
        return writer.say("order.ask")
    return writer.dossier.on + timedelta(days=days) if days else writer.say("order.now")


def _days(row: Row) -> int | None:
    """Return the days until a line arrives; None if it is in stock or unknown."""
    stock, packs, days = row["stock"], row["packs"], row["lead_days"]
    if isinstance(stock, int) and isinstance(packs, int) and stock >= packs:
        return 0
    return days if isinstance(days, int) else None


def _totals(writer: Writer, rows: list[Row], terms: SupplierTerms) -> list[tuple[str, Decimal]]:
    """Return net total, tax and gross total; prices that include tax are split."""
    stated = sum((total for row in rows if isinstance(total := row["total"], Decimal)), Decimal(0))
    rate = writer.dossier.settings["tax_pct"]
    if not rate:
        return [(writer.say("word.total"), stated)]
    net = (stated / (1 + rate / PERCENT)).quantize(CENT, ROUND_HALF_UP) if terms.with_tax else stated
    tax = stated - net if terms.with_tax else (net * rate / PERCENT).quantize(CENT, ROUND_HALF_UP)
    named = writer.say("word.tax", rate=writer.numbers.number(rate))
    return [(writer.say("order.net"), net), (named, tax), (writer.say("word.total"), net + tax)]


def _measure_first(writer: Writer, rows: list[Row], points: Sequence[OpenPoint]) -> list[Block]:
    """Return a warning before lines that a figure still to be measured could change."""
    names = {point.subject for point in points if point.what == "figure"}
    if not names:
        return []
    package = writer.package
    checks = [check for check in package.checks if names & {*check.missing, *check.loose}]
    places = {check.about.partition(":")[0] for check in checks}
    parts = {name.partition(":")[2].rpartition(".")[0] for name in names if name.startswith("part:")}
    parts |= {str(line.part_id) for line in package.lines if line.opening_id in places}
    told = tuple(f"{row['part_id']} {row['maker']} {row['model']}" for row in rows if row["part_id"] in parts)
    if not told:
        return []
    return [Para(text=writer.say("order.measure_first"), tone="warn"), Items(items=told)]


def _withdrawn(writer: Writer, rows: list[Row]) -> list[Block]:
    gone = [str(row["part_id"]) for row in rows if row["price"] is None]
    return [Para(text=writer.say("order.withdrawn", parts=", ".join(gone)), tone="warn")] if gone else []


def _latest(writer: Writer, rows: list[Row]) -> str:
    days = [_days(row) for row in rows]
    known = [one for one in days if one is not None]
    if len(known) < len(days):
        return writer.say("order.latest_unknown")
    if not any(known):
        return writer.say("order.all_now")
    return writer.say("order.latest", date=writer.date((writer.dossier.on + timedelta(days=max(known))).isoformat()))


def _open_lines(writer: Writer) -> list[tuple[str, str]]:
    """Return the needs of the package that are in no list: items of its kit, boards of a box."""
    package = writer.package
    lines = [(kit_name(writer, item), kit_quantity(writer, item)) for item in package.kit if not item.priced]
    outer = None if package.bass is None else package.bass.outer
    if outer is not None:
        sizes = writer.numbers.sizes(outer.w_mm, outer.h_mm, outer.d_mm)
        lines.append((writer.say("order.open.box"), sizes))
    return lines


def _open(writer: Writer, lines: list[tuple[str, str]]) -> SupplierOrder:
    heads = (writer.say("order.what"), writer.say("order.size"))
    blocks: list[Block] = [
        Para(text=writer.say("order.open.lead"), tone="lead"),
        Table(heads=heads, rows=tuple(lines), widths=(2, 1)),
    ]
    document = _named(writer, "open", blocks, writer.say("order.open.title"))
    return SupplierOrder(document, Sheet(name=document.title, heads=list(heads), cells=[list(line) for line in lines]))


def _named(writer: Writer, supplier: str, blocks: list[Block], subject: str) -> Document:
    """Return a paper for a supplier: its subject is the supplier, because a job's label is confidential."""
    made = writer.document("order", blocks, subject=subject)
    return replace(made, name=f"{made.name}-{UNSAFE.sub('-', supplier)}")
