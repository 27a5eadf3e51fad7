"""Lists as suppliers write them: formats, units, encodings and header tiers by chance, each figure compared.

A list is written from figures that are known; what comes in is one of these figures, or is unknown, asked, or kept as a
problem row. The rest is a wrong figure: none is allowed.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from xlsxwriter import Workbook  # type: ignore[import-untyped]

from matcher.errors import BoltbackError
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from tests.factories import empty_store
from tests.open_document import cell, row, write_ods

MM_OF = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction(254, 10)}
MARKS = {"mm": (" mm", "mm"), "cm": (" cm", "cm"), "in": (" in", '"', " inch", "''")}
WORDS = {
    "utf-8": ("Möwe für Türen", "Głośnik", "Ø 5"),
    "utf-8-sig": ("Möwe", "čtyři", "plain"),
    "utf-16": ("Möwe", "Głębia", "plain"),
    "cp1252": ("Möwe für Türen", "Größe", "Außen"),
    "cp1250": ("Głośnik średni", "Łożysko żółte", "Część"),
}
FIXED = ["SKU", "Brand", "Description", "Price", "Shape", "Size", "Ohm", "RMS"]
MEASURED = {"depth_mm": ("Depth", "Mounting depth", "Einbautiefe"), "cutout_w_mm": ("Hole", "Cut-out", "Ausschnitt")}


@dataclass(frozen=True)
class Written:
    """A cell: what it shows, and in a spreadsheet its number with the format."""

    shown: str
    number: float | None = None
    form: str = "General"


@dataclass
class Column:
    """How a length column is written: unit, where the unit stands, and in which form its numbers are."""

    field: str
    unit: str
    told: str
    """Where the unit stands: header, tier, cells, some (of the cells), format, or nowhere."""
    form: str
    """Decimal mark, or fraction."""
    header: str


def _column(chance: random.Random, field: str, how: str, tiers: bool) -> Column:
    unit = chance.choice(["mm", "mm", "cm", "in", "in"])
    places = ["header", "cells", "some", *(["tier"] * 2 if tiers else []), *(["format"] * 3 if how != "csv" else [])]
    told = chance.choice([*places, "nowhere"])
    header = chance.choice(MEASURED[field])
    if told == "header":
        header += chance.choice(
            [f" ({unit})", f" [{unit}]"] + ([f" {unit}"] if unit != "in" else [" (in.)", " (inch)"])
        )
    form = chance.choice(["fraction", "."] if unit == "in" else [".", ","] if how == "csv" else ["."])
    return Column(field, unit, told, form, header)


def _figure(chance: random.Random, column: Column) -> Fraction:
    """A figure in the column's unit."""
    low, high = (35, 80) if column.field == "depth_mm" else (136, 150)
    step = {"mm": Fraction(1, 2), "cm": Fraction(1, 10), "in": Fraction(1, 16)}[column.unit]
    return step * chance.randint(int(low / MM_OF[column.unit] / step), int(high / MM_OF[column.unit] / step))


def _written(chance: random.Random, column: Column, figure: Fraction, how: str) -> Written:
    decimal = f"{Decimal(figure.numerator) / Decimal(figure.denominator):f}"
    whole, rest = divmod(figure, 1)
    fraction = f"{whole} {rest}" if rest else f"{whole}"
    text = fraction if column.form == "fraction" else decimal.replace(".", column.form)
    mark = chance.choice(MARKS[column.unit])
    has_mark = column.told == "cells" or (column.told == "some" and chance.random() < 0.8)
    if how == "csv" or (chance.random() < 0.3 and column.told != "format"):
        return Written(text + mark if has_mark else text)
    quoted = chance.choice([f'"{mark}"', "".join(f"\\{letter}" for letter in mark)]) if '"' not in mark else '\\"'
    number = chance.choice(["0.0", "0.00", "#,##0.0##"]) if column.form != "fraction" else "# ??/??"
    shows_mark = column.told == "format" or has_mark
    shown = (fraction if "/" in number else decimal) + (mark if shows_mark else "")
    if "/" in number and not rest:
        shown = f"{whole}      {mark if shows_mark else ''}"
    return Written(shown, float(figure), number + (quoted if shows_mark else ""))


def _write(path: Path, rows: Sequence[Sequence[Written]], encoding: str, joined: tuple[int, int, int] | None) -> None:
    if path.suffix == ".csv":
        text = "\n".join(";".join(_quoted(one.shown) for one in cells) for cells in rows) + "\n"
        path.write_bytes(text.encode(encoding))
    elif path.suffix == ".ods":
        write_ods(path, {"List": [row(*map(_open_cell, cells)) for cells in rows]})
    else:
        with Workbook(str(path), {"strings_to_numbers": False}) as book:
            sheet = book.add_worksheet("List")
            for place, cells in enumerate(rows):
                for column, one in enumerate(cells):
                    if one.number is None:
                        sheet.write_string(place, column, one.shown)
                    else:
                        sheet.write_number(place, column, one.number, book.add_format({"num_format": one.form}))
            if joined:
                line, first, last = joined
                sheet.merge_range(line, first, line, last, rows[line][first].shown)


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"' if '"' in text or ";" in text else text


def _open_cell(one: Written) -> str:
    return cell(one.shown) if one.number is None else cell(one.shown, repr(one.number))


@dataclass
class Drawn:
    """A list, and the figures that it was written from."""

    path: Path
    words: dict[str, str]
    figures: dict[str, dict[str, Fraction]]
    how: str


def draw_list(folder: Path, chance: random.Random) -> Drawn:
    """Write one list."""
    how = chance.choice(["csv", "csv", "xlsx", "xlsx", "ods"])
    encoding = chance.choice(list(WORDS)) if how == "csv" else "utf-8"
    tiers = chance.random() < 0.4
    columns = [_column(chance, field, how, tiers) for field in MEASURED]
    if tiers:  # what stands in the upper tier is one unit for both
        columns = [Column(one.field, columns[0].unit, one.told, columns[0].form, one.header) for one in columns]
    drawn = Drawn(folder / f"speakers.{how}", {}, {}, f"{how} {encoding} {columns}")
    body = [_line(chance, drawn, columns, number, encoding, how) for number in range(1, chance.randint(4, 12))]
    over = f"Mounting ({columns[0].unit})" if "tier" in {one.told for one in columns} else "Mounting"
    head = [[Written(name) for name in [*FIXED, *(one.header for one in columns)]]]
    if tiers:
        head = [
            [*(Written(name) for name in FIXED), Written(over), Written("")],
            [*[Written("")] * len(FIXED), *(Written(one.header) for one in columns)],
        ]
    title = [[Written("Spring list, prices each")], [Written("")]] if chance.random() < 0.5 else []
    foot = [[Written("* prices without tax"), *[Written("")] * 9]] if chance.random() < 0.5 else []
    joined = (len(title), len(FIXED), len(FIXED) + 1) if tiers else None
    _write(drawn.path, [*title, *head, *body, *foot], encoding, joined)
    return drawn


def _line(
    chance: random.Random, drawn: Drawn, columns: list[Column], number: int, encoding: str, how: str
) -> list[Written]:
    part, name = f"P{number:03}", f"{chance.choice(WORDS[encoding])} {number}"
    figures = {one.field: _figure(chance, one) for one in columns}
    drawn.words[part] = name
    drawn.figures[part] = {one.field: figures[one.field] * MM_OF[one.unit] for one in columns}
    texts = [part, "Nordhall", name, "49.90", "round", "165 mm", "4", "50"]
    return [*map(Written, texts), *(_written(chance, one, figures[one.field], how) for one in columns)]


@dataclass
class Compared:
    """What came of lists: figures that came in right, that stayed out, and the wrong ones told."""

    lists: int = 0
    asked: int = 0
    right: int = 0
    out: int = 0
    wrong: list[str] | None = None


def compare_lists(folder: Path, count: int, seed: int) -> Compared:
    """Write, map, load and compare so many lists."""
    chance, found = random.Random(seed), Compared(wrong=[])
    for _ in range(count):
        place = folder / "list"
        place.mkdir()
        drawn = draw_list(place, chance)
        found.lists += 1
        try:
            store = Store(empty_store(place / "shop.duckdb"))
            report = load_lists(store, [drawn.path], "speaker")
        except BoltbackError as error:
            found.asked += 1
            if not (error.fix or error.problems):
                found.wrong = [*(found.wrong or []), f"{drawn.how}: no fix: {error}"]
        else:
            if report.lines != report.loaded + len(report.problems) + report.skipped.total():
                found.wrong = [*(found.wrong or []), f"{drawn.how}: a line was lost"]
            found.wrong = [*(found.wrong or []), *_wrong(drawn, store, found)]
        shutil.rmtree(place)
    return found


def _wrong(drawn: Drawn, store: Store, found: Compared) -> Iterator[str]:
    with store.reading() as con:
        loaded: dict[str, Sequence[Any]] = {
            part: cells
            for part, *cells in con.execute("select part_id, model, depth_mm, cutout_w_mm from speaker").fetchall()
        }
    for part, figures in drawn.figures.items():
        name, *cells = loaded.get(part, (drawn.words[part], None, None))
        if name != drawn.words[part]:
            yield f"{drawn.how}: {part} is {name!r}, not {drawn.words[part]!r}"
        for (field, figure), value in zip(figures.items(), cells, strict=True):
            if value is None:
                found.out += 1
            elif abs(Fraction(value) - figure) > Fraction(1, 10**6):
                yield f"{drawn.how}: {part} {field} is {value}, not {float(figure)}"
            else:
                found.right += 1
