"""The demo's lists as sheets: numbered as suppliers number, written in their hands, faults and all."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import count
from typing import Any

from data_demo import FAULTS_FILE, MADE_TO_FIT_FILE, MADE_TO_FOOL_FILE
from data_demo.distributions import COUNTS, SEED
from data_demo.families.common import PREFIXES, Row
from data_demo.hands import number_text, write_cell
from data_demo.makers import HAND_OF, NUMBERS_ONLY
from data_demo.rows import rows

Sheet = list[dict[str, str]]

IN_INCHES = {
    "subwoofer": {"cutout_mm": "Cutout (in)", "depth_mm": "Depth (in)", "outer_mm": "Outer (in)"},
}
"""Columns whose header says that bare numbers are inches, by family."""


def made_to_fit() -> list[dict[str, Any]]:
    """The adapters made for the demo's openings: canonical columns, and ``opening`` for which one."""
    read: list[dict[str, Any]] = json.loads(MADE_TO_FIT_FILE.read_text(encoding="utf-8"))
    return read


def made_to_fool() -> list[dict[str, Any]]:
    """Parts whose claims would win where claims were believed: canonical columns, with their family."""
    read: list[dict[str, Any]] = json.loads(MADE_TO_FOOL_FILE.read_text(encoding="utf-8"))
    return read


def intended_faults() -> list[dict[str, Any]]:
    """Faults put into the lists on purpose: place, kind, expected result, and reason."""
    read: list[dict[str, Any]] = json.loads(FAULTS_FILE.read_text(encoding="utf-8"))
    return read


def numbered(seed: int = SEED) -> dict[str, list[Row]]:
    """Every family's drawn rows with suppliers' part numbers, and after them what was made to fit or to fool."""
    plain_numbers = count(117)
    tables: dict[str, list[Row]] = {}
    for family, n in COUNTS.items():
        tables[family] = list(rows(family, n, seed))
        for number, row in enumerate(tables[family], start=1):
            maker = str(row["maker"])
            lettered = f"{maker[:2].upper()}-{PREFIXES[family]}{number:03d}"
            row["part_id"] = f"{next(plain_numbers):05d}" if maker in NUMBERS_ONLY else lettered
    columns = tables["adapter"][0]
    tables["adapter"] += [{name: fitted.get(name) for name in columns} for fitted in made_to_fit()]
    for fooling in made_to_fool():
        family = fooling["family"]
        tables[family].append({name: fooling.get(name) for name in tables[family][0]})
    return tables


def written(family: str, row: Row) -> dict[str, str]:
    """A row as its supplier writes it."""
    hand, inches = HAND_OF[str(row["maker"])], IN_INCHES.get(family, {})
    cells = {}
    for column, value in row.items():
        bare = hand not in ("mm", "comma") and isinstance(value, int | float)
        if column in inches and bare and isinstance(value, int | float):
            cells[inches[column]] = number_text(round(value / 25.4, 2))
        else:
            cells[inches.get(column, column)] = write_cell(column, value, hand)
    return cells


def with_faults(family: str, sheet: Sheet) -> Iterator[dict[str, str]]:
    """The sheet with its intended faults: cells spoilt, rows that come again."""
    faults = [fault for fault in intended_faults() if fault["family"] == family]
    for row in sheet:
        mine = [fault for fault in faults if fault["part_id"] == row["part_id"]]
        yield row | {column: cell for fault in mine for column, cell in fault.get("set", {}).items()}
        yield from (row | fault["again"] for fault in mine if "again" in fault)


def sheets(seed: int = SEED) -> dict[str, Sheet]:
    """Every list of the demo, cell by cell as it is written to its file."""
    return {
        family: list(with_faults(family, [written(family, row) for row in table]))
        for family, table in numbered(seed).items()
    }
