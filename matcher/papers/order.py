"""The order list: what to buy, in packs, what is on the shelf and how long the rest takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.answers import Package
from matcher.papers.model import Block, Para, Section, Table
from matcher.papers.writer import Writer


@dataclass(frozen=True, slots=True)
class Ordered:
    """A part to order, with its adapter apart, for all places together."""

    part_id: str
    packs: int
    pieces: int
    """Pieces used of them; none where a part is not used by the piece."""


def ordered(package: Package) -> list[Ordered]:
    """Every part of a package that is bought, each once, in the order of its lines."""
    packs: dict[str, list[int]] = {}
    for part_id, count, pieces in _bought(package):
        held = packs.setdefault(part_id, [0, 0])
        held[0] += count
        held[1] += pieces
    return [Ordered(part_id, *counts) for part_id, counts in packs.items()]


def _bought(package: Package) -> Iterator[tuple[str, int, int]]:
    for line in package.lines:
        if line.part_id is not None:
            yield line.part_id, line.qty, line.pieces
        if line.adapter_id is not None:
            yield line.adapter_id, line.adapter_qty, line.pieces


def order_section(writer: Writer, package: Package) -> Section:
    """The list, its sum, and what is not on it."""
    one_by_one = ordered(package)
    rows = [_row(writer, one) for one in one_by_one]
    listed = sum((_price(writer, one) for one in one_by_one), Decimal(0))
    rest = package.price.parts - listed
    if rest:
        rows.append(("", writer.say("order.boards"), "", "", "", "", writer.money(rest)))
    total = ("", writer.say("word.parts"), "", "", "", "", writer.money(package.price.parts))
    heads = tuple(writer.say(f"order.{name}") for name in ("part", "what", "packs", "used", "stock", "wait", "price"))
    table = Table(
        heads=heads,
        rows=(*rows, total),
        right=(2, 3, 4, 5, 6),
        strong=(len(rows),),
        widths=(1, 2.3, 0.9, 0.6, 0.7, 0.7, 1),
    )
    return Section(title=writer.say("order.title"), blocks=(table, *_short(writer, one_by_one)))


def _row(writer: Writer, one: Ordered) -> tuple[str, ...]:
    figures = writer.dossier.parts.get(one.part_id, {})
    pack_of = figures.get("pack_of") or 1
    packs = writer.say("order.pack", count=str(one.packs), of=str(pack_of)) if pack_of > 1 else str(one.packs)
    stock, days = figures.get("stock"), figures.get("lead_days")
    return (
        one.part_id,
        writer.part(one.part_id),
        packs,
        str(one.pieces) if one.pieces else "",
        "?" if stock is None else writer.numbers.number(stock),
        "?" if days is None else writer.say("order.days", count=writer.numbers.number(days)),
        writer.money(_price(writer, one)),
    )


def _price(writer: Writer, one: Ordered) -> Decimal:
    return one.packs * Decimal(writer.dossier.parts.get(one.part_id, {}).get("price") or 0)


def _short(writer: Writer, one_by_one: list[Ordered]) -> list[Block]:
    """What the shelf does not hold, and how long the whole waits for it."""
    parts = writer.dossier.parts
    short = [one for one in one_by_one if (parts.get(one.part_id, {}).get("stock") or 0) < one.packs]
    days = [days for one in short if (days := parts.get(one.part_id, {}).get("lead_days")) is not None]
    if not short:
        return [Para(text=writer.say("order.all_there"), tone="note")]
    if len(days) < len(short):
        return [Para(text=writer.say("order.wait_unknown"), tone="note")]
    return [Para(text=writer.say("order.wait_for", count=writer.numbers.number(max(days))), tone="note")]
