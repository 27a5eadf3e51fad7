"""A trial of figures: numbers in every format, unit and notation, and what each way in makes of them.

A figure is wrong if it is taken and is another than was written. Text of two readings may be refused, by a reader who
does not know who wrote it; one who does has to read it right.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

from catalog_schema.documents import build, parse_json
from catalog_schema.figures import read_figure
from catalog_schema.jobs import Job
from catalog_schema.kinds import MoneyKind
from catalog_schema.notation import EITHER, KEPT, MARKS, DecimalMark, Notation, settled_cell
from catalog_schema.problems import FieldError
from catalog_schema.units import UNITS, known_units
from matcher.shop import Shop
from matcher.web.job_form import job_document

UNITS_TRIED = ("mm", "in", "m", "l", "kg", "w", "v", "a", "ma", "hz", "db", "pct", "h", "n", "cm2")
GAPS = {"point": ("", ",", " ", "'", "\u00a0", "\u202f"), "comma": ("", ".", " ", "'", "\u00a0", "\u2009")}
"""What groups thousands, by the decimal mark."""
ROWS_PER_LIST = 250


@dataclass
class Compared:
    """How many figures were written, how many were refused, and each that was taken as another."""

    tried: int = 0
    refused: int = 0
    wrong: list[str] = field(default_factory=list)

    def count(self, text: str, meant: object, read: object) -> None:
        self.tried += 1
        if read is None:
            self.refused += 1
        elif read != meant:
            self.wrong.append(f"{text!r} was read as {read}, meant was {meant}")


@dataclass(frozen=True)
class Hand:
    """How somebody writes: decimal mark, what groups thousands, and whether zeros are filled up."""

    mark: DecimalMark
    gap: str
    decimals: int | None

    def write(self, number: Decimal) -> str:
        """The number as this hand writes it."""
        sign, number = ("-" if number < 0 else ""), abs(number)
        shown = max(0, -int(number.normalize().as_tuple().exponent)) if self.decimals is None else self.decimals
        whole, _, part = f"{number:.{shown}f}".partition(".")
        if self.gap and len(whole) > 3:
            whole = f"{int(whole):,}".replace(",", self.gap)
        return f"{sign}{whole}{MARKS[self.mark] if part else ''}{part}"


def draw_hand(draw: random.Random, number: Decimal) -> Hand:
    """A hand that can write all digits of the number."""
    mark: DecimalMark = draw.choice(("point", "comma"))
    least = max(0, -int(number.normalize().as_tuple().exponent))
    return Hand(mark, draw.choice(GAPS[mark]), draw.choice((None, None, max(least, 1), max(least, 2), max(least, 3))))


def draw_number(draw: random.Random, most: int = 99_999) -> Decimal:
    """A number of up to three decimals: many of the size that has two readings."""
    whole = draw.choice((draw.randrange(10), draw.randrange(1000), draw.randrange(most)))
    places = draw.choice((0, 0, 1, 2, 3, 3))
    return Decimal(whole) + Decimal(draw.randrange(10**places)).scaleb(-places)


def try_typed(folder: Path, count: int, seed: int) -> Compared:
    draw, trial = random.Random(seed), Compared()
    for _ in range(count):
        unit, number = draw.choice(UNITS_TRIED), draw_number(draw)
        hand, own = draw_hand(draw, number), draw.choice([name for name in known_units(unit) if name != "awg"])
        header = draw.random() < 0.2 and own != "n"
        text = hand.write(number) if header or own == "n" else f"{hand.write(number)} {UNITS[own].symbol}"
        if draw.random() < 0.2:
            text += f" ±{hand.write(draw_number(draw, 50))}"
        known = draw.random() < 0.5
        notation = Notation(hand.mark) if known else EITHER
        meant = _in_unit(number, own, unit)
        try:
            figure = read_figure(text, unit, given_in=own if header else None, notation=notation)
        except FieldError as error:
            refused = None if error.alternatives and not known else f"refused: {error}"
            trial.count(text, meant, None if meant >= 10**12 else refused)
            continue
        trial.count(text, meant, None if figure is None else figure.value)
    return trial


def _in_unit(number: Decimal, own: str, unit: str) -> Decimal:
    exact = Fraction(number) * UNITS[own].size / UNITS[unit].size
    return Decimal(round(exact * 10**6)).scaleb(-6)


def try_fractions(folder: Path, count: int, seed: int) -> Compared:
    """Fractions with and without a unit: one of an inch is read, a bare one in a metric field is refused."""
    draw, trial = random.Random(seed), Compared()
    for _ in range(count):
        bottom = draw.choice((2, 4, 8, 16, 32))
        whole, top = draw.randrange(1, 30), draw.randrange(1, bottom, 2)
        between, mark = draw.choice((" ", "-")), draw.choice(("", " in", '"', " mm"))
        text = f"{whole}{between}{top}/{bottom}{mark}"
        inches = Decimal(whole) + Decimal(top) / bottom
        try:
            figure = read_figure(text, "mm", given_in=draw.choice((None, "mm")))
        except FieldError as error:
            asked = mark in ("", " mm") and len(error.alternatives) == 2
            trial.count(text, "", None if asked else f"refused: {error}")
            continue
        trial.count(text, inches * Decimal("25.4"), figure.value if figure and mark not in ("", " mm") else "a figure")
    return trial


def try_amounts(folder: Path, count: int, seed: int) -> Compared:
    """Budgets and tiers typed into the job's form, kept in its document and read again, with and without a currency."""
    draw, trial = random.Random(seed), Compared()
    for _ in range(count):
        amounts = sorted({Decimal(draw.randrange(1, 9_999_99)).scaleb(-2).quantize(Decimal("0.01")) for _ in range(3)})
        if draw.random() < 0.6:
            amounts = [Decimal(int(amount) + 1) for amount in amounts]
        hand = draw_hand(draw, Decimal("0.01"))
        hand = Hand(hand.mark, hand.gap, draw.choice((0, 2)) if all(one == int(one) for one in amounts) else 2)
        written = [hand.write(amount) for amount in amounts]
        text = draw.choice(("; ", ";", ", ", "\n")).join(written)
        notation = Notation(draw.choice((hand.mark, "either")))
        document = {"job_id": "j", "vehicle_id": "v"}
        fields = {"budget": written[0], "tiers": text}
        made = job_document(document, fields, {}, notation)
        try:
            kept = [MoneyKind().read(cell) for cell in (made["limits"]["budget"], *made["tiers"])]
        except FieldError as error:
            trial.count(text, "", None if error.alternatives and notation.mark == "either" else f"refused: {error}")
            continue
        job = build(Job, parse_json(json.dumps(made)))
        trial.count(text, [amounts[0], *amounts], kept)
        trial.count(text, [amounts[0], *amounts], [job.limits.budget, *job.tiers])
    return trial


def try_boxes(folder: Path, count: int, seed: int) -> Compared:
    draw, trial = random.Random(seed), Compared()
    for _ in range(count):
        number = draw_number(draw, 9_999)
        hand = draw_hand(draw, number)
        text = hand.write(number) + draw.choice(("", " mm"))
        cell = parse_json(json.dumps(settled_cell(text, Notation(hand.mark))))
        for later in (EITHER, KEPT, Notation("comma"), Notation("point")):
            figure = read_figure(cell, "mm", notation=later)
            trial.count(f"{text} kept as {cell!r}", number, None if figure is None else figure.value)
    return trial


def try_lists(folder: Path, count: int, seed: int) -> Compared:
    draw, trial = random.Random(seed), Compared()
    shop = Shop(folder / "shop.duckdb")
    shop.set("currency", "EUR")
    for number in range(-(-count // ROWS_PER_LIST)):
        rows = min(ROWS_PER_LIST, count - number * ROWS_PER_LIST)
        _try_list(draw, trial, shop, folder / f"list-{number}.csv", rows)
    return trial


def _try_list(draw: random.Random, trial: Compared, shop: Shop, path: Path, rows: int) -> None:
    marks: list[DecimalMark] = ["point", "comma"]
    hands = [Hand(mark, draw.choice(GAPS[mark]), draw.choice((None, 3))) for mark in marks]
    hands = hands if draw.random() < 0.3 else [draw.choice(hands)]
    lines, meant = ["part_id;maker;model;price;length_m"], {}
    for row in range(rows):
        hand, length = draw.choice(hands), Decimal(draw.randrange(100, 199_999)).scaleb(-3)
        price = Decimal(draw.randrange(100, 999_999)).scaleb(-2)
        part_id = f"{path.stem}-{row}"
        sign = draw.choice(("", " EUR", " €"))
        money = Hand(hand.mark, hand.gap, 2).write(price)
        lines.append(f"{part_id};Ebb;Cable {row};{money}{sign};{hand.write(length)}{draw.choice(('', ' m'))}")
        meant[part_id] = (price, length)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    shop.catalog.load(path, family="cable")
    with shop.store.reading() as con:
        query = "select part_id, price, length_m from cable where starts_with(part_id, $1)"
        read = {part_id: (price, length) for part_id, price, length in con.execute(query, [f"{path.stem}-"]).fetchall()}
    for (part_id, figures), line in zip(meant.items(), lines[1:], strict=True):
        trial.count(line, figures, read.get(part_id))


WAYS: dict[str, Callable[[Path, int, int], Compared]] = {
    "figures as typed": try_typed,
    "fractions": try_fractions,
    "amounts and tiers": try_amounts,
    "figures kept by a form": try_boxes,
    "rows of lists": try_lists,
}
"""Every way in by its name: called with an empty folder, how many to write, and a seed."""
