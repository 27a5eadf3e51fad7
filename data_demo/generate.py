"""Writes the demo's lists: ``python -m data_demo.generate [FOLDER]``. The same seed gives the same lists.

What is drawn, and how often, stands in ``distributions.py`` and ``distributions_more.py``; what is wrong in
the lists on purpose stands in ``faults.json``. For benchmarks the same distributions give as many clean rows
as wanted: see `rows`, `write_million` and `write_catalog`.
"""

from __future__ import annotations

import csv
import json
import sys
from datetime import datetime
from pathlib import Path

from data_demo import HERE, LIST_NAMES
from data_demo.distributions import SEED
from data_demo.rows import rows, write_catalog, write_million
from data_demo.sheets import Sheet, sheets

__all__ = ["rows", "write_catalog", "write_lists", "write_million"]

LIST_COLUMNS = ("features", "covers", "needs", "gives")
NEVER_CHANGES = datetime(2000, 1, 1)  # a workbook carries the time it was made


def write_lists(folder: Path, seed: int = SEED) -> list[Path]:
    """Write the demo's lists into a folder, as CSV, XLSX and JSON Lines; return their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for family, sheet in sheets(seed).items():
        path = folder / LIST_NAMES[family]
        {".csv": _write_csv, ".xlsx": _write_xlsx, ".jsonl": _write_jsonl}[path.suffix](path, sheet)
        paths.append(path)
    return paths


def _write_csv(path: Path, sheet: Sheet) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(sheet[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(sheet)


def _write_jsonl(path: Path, sheet: Sheet) -> None:
    lines = (
        {
            column: cell.split(";") if column in LIST_COLUMNS else cell
            for column, cell in row.items()
            if cell  # a key that is not there is unknown
        }
        for row in sheet
    )
    text = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines)
    path.write_text(text, encoding="utf-8", newline="\n")


def _write_xlsx(path: Path, sheet: Sheet) -> None:
    import xlsxwriter  # type: ignore[import-untyped]

    with xlsxwriter.Workbook(str(path)) as book:
        book.set_properties({"created": NEVER_CHANGES})
        page = book.add_worksheet("list")
        page.write_row(0, 0, list(sheet[0]))
        for number, row in enumerate(sheet, start=1):
            for column, (name, cell) in enumerate(row.items()):
                page.write(number, column, _as_typed(name, cell))


def _as_typed(column: str, cell: str) -> str | float:
    """A bare number as a number, as a spreadsheet keeps it; part numbers stay text."""
    try:
        return cell if column == "part_id" else float(cell)
    except ValueError:
        return cell


if __name__ == "__main__":
    for written in write_lists(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "lists"):
        print(written)
