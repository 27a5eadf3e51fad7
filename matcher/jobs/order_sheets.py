"""Tables for spreadsheets: a job's order list, and its packages side by side."""

from __future__ import annotations

import math
from decimal import Decimal

from catalog_schema.answers import Line, Options, Package
from catalog_schema.choices import Cell, Choice, OpenPoint, PartChosen, Sheet
from matcher.jobs.choices import part_rows
from matcher.store.database.connection import Connection

ORDER_HEADS = [
    "order_from",
    "part_id",
    "maker",
    "model",
    "for",
    "packs",
    "pack_of",
    "pieces",
    "stock",
    "lead_days",
    "price",
    "total",
    "price_chosen",
    "note",
]


def order_sheets(con: Connection, choice: Choice) -> list[Sheet]:
    """Return the order lists of a choice by supplier, at today's catalog, and each supplier's total."""
    now = part_rows(con, [part.part_id for part in choice.parts])
    parts = sorted(choice.parts, key=lambda part: (_supplier(part, now.get(part.part_id)), part.part_id))
    rows = [_order_row(part, now.get(part.part_id), choice) for part in parts]
    return [Sheet(name="order", heads=ORDER_HEADS, cells=rows), _suppliers(rows)]


def open_sheet(points: list[OpenPoint], note: str | None) -> Sheet:
    """Points that were open when the job was ordered anyway, with the reason."""
    cells: list[list[Cell]] = [[point.says, note if place == 0 else None] for place, point in enumerate(points)]
    return Sheet(name="open", heads=["open when ordered", "ordered anyway because"], cells=cells)


def _supplier(part: PartChosen, row: dict[str, object] | None) -> str:
    """Return the part's supplier; its maker if no supplier is known."""
    return str((row or {}).get("supplier") or part.supplier or part.maker)


def _order_row(part: PartChosen, row: dict[str, object] | None, choice: Choice) -> list[Cell]:
    """Row of the order for a part; a withdrawn part is marked and has no price."""
    places, pieces = _used(part, choice)
    own: list[Cell] = [part.part_id, part.maker, part.model, ", ".join(places), part.qty]
    if row is None:
        return [
            _supplier(part, row),
            *own,
            part.pack_of,
            pieces,
            None,
            None,
            None,
            None,
            money(part.price),
            "withdrawn",
        ]
    price, pack_of = Decimal(str(row["price"])), _count(row["pack_of"]) or 1
    packs = part.qty if pack_of == part.pack_of else -(-pieces // pack_of)
    own[-1] = packs
    stock = _count(row["stock"])
    return [
        _supplier(part, row),
        *own,
        pack_of,
        pieces,
        stock,
        _count(row["lead_days"]),
        money(price),
        money(price * packs),
        money(part.price),
        "; ".join(_notes(part, price, packs, stock)),
    ]


def money(amount: Decimal) -> Decimal:
    """Round to two decimals."""
    return amount.quantize(Decimal("0.01"))


def _count(cell: object) -> int | None:
    return None if cell is None else int(str(cell))


def _used(part: PartChosen, choice: Choice) -> tuple[list[str], int]:
    """Return where a part goes and how many pieces are needed; each piece takes its own adapter."""
    kit = [item for item in choice.package.kit if item.part_id == part.part_id]
    if kit:
        return ["kit"], math.ceil(sum(item.quantity for item in kit))
    uses = [line for line in choice.package.lines if part.part_id in (line.part_id, line.adapter_id)]
    return list(dict.fromkeys(line.opening_id or line.slot for line in uses)), sum(line.pieces for line in uses)


def _notes(part: PartChosen, price: Decimal, packs: int, stock: int | None) -> list[str]:
    return [
        *([f"price moved from {part.price:.2f}"] if price != part.price else []),
        *([f"{packs - stock} not in stock"] if stock is not None and stock < packs else []),
        *(["stock not known"] if stock is None else []),
    ]


def _suppliers(rows: list[list[Cell]]) -> Sheet:
    at = {name: place for place, name in enumerate(ORDER_HEADS)}
    names = list(dict.fromkeys(row[0] for row in rows))
    cells: list[list[Cell]] = []
    for name in names:
        own = [row for row in rows if row[0] == name]
        days = [row[at["lead_days"]] for row in own]
        known = [day for day in days if isinstance(day, int)]
        sums = [row[at["total"]] for row in own]
        total = sum((one for one in sums if isinstance(one, Decimal)), Decimal(0))
        cells.append([name, len(own), money(total), max(known) if len(known) == len(days) else None])
    return Sheet(name="suppliers", heads=["order_from", "parts", "total", "longest_lead_days"], cells=cells)


def compare_sheets(answer: Options) -> list[Sheet]:
    """Return a job's packages side by side, then its tiers."""
    packages = _compared("packages", [("rank", str(one.rank), one) for one in answer.packages])
    tiers = [("tier", tier.name, tier.package) for tier in answer.tiers if tier.package is not None]
    return [packages, *([_compared("tiers", tiers)] if tiers else [])]


def _compared(name: str, packages: list[tuple[str, str, Package]]) -> Sheet:
    """Table with a column for each package and a row for each property."""
    heads = ["what", *(f"{word} {name_shown}" if word == "rank" else name_shown for word, name_shown, _ in packages)]
    some = [package for _, _, package in packages]
    criteria = list(dict.fromkeys(name for package in some for name in package.criteria))
    places = list(dict.fromkeys(_place(line) for package in some for line in package.lines))
    rows: list[list[Cell]] = [
        ["verdict", *(package.verdict for package in some)],
        ["alteration", *(package.alteration for package in some)],
        ["can be put back", *("yes" if package.reversible else "no" for package in some)],
        ["parts", *(money(package.price.parts) for package in some)],
        ["labor", *(money(package.price.labour) for package in some)],
        ["total", *(money(package.price.total) for package in some)],
        ["points", *(package.score for package in some)],
        *([f"points for {name}", *_points(some, name)] for name in criteria),
        *([place, *(_at(package, place) for package in some)] for place in places),
        ["bass level, dB", *(_level(package) for package in some)],
        ["standby drain, mA", *(None if one.supply is None else one.supply.standby_ma for one in some)],
        ["to measure", *(len(package.measure) for package in some)],
    ]
    return Sheet(name=name, heads=heads, cells=rows)


def _points(packages: list[Package], criterion: str) -> list[Cell]:
    return [package.criteria.get(criterion) for package in packages]


def _place(line: Line) -> str:
    return f"{line.slot} at {line.opening_id}" if line.opening_id else line.slot


def _at(package: Package, place: str) -> Cell:
    lines = [line for line in package.lines if _place(line) == place]
    parts = (f"{' + '.join(filter(None, (line.part_id, line.adapter_id)))} {line.label}".strip() for line in lines)
    return "; ".join(parts) or None


def _level(package: Package) -> Decimal | None:
    level = None if package.bass is None else package.bass.mean_db
    return None if level is None else Decimal(str(level))
