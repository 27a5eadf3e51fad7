"""Problem rows written out in a form to mend and load again.

Each row stands in the columns of its family, as far as it was understood, with what is wrong
beside it; its original cells are there to read. A mended row clears its problem when it is loaded.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from catalog_schema.columns import family_columns
from catalog_schema.parts import FAMILIES
from matcher.errors import InputError
from matcher.store.headers import FAMILY_HEADER
from matcher.store.problems import KeptProblem

ASIDE = (
    "problem_id",
    "problem_file",
    "problem_line",
    "problem_field",
    "problem_found",
    "problem_expected",
    "problem_cure",
    "problem_cells",
)
DANGEROUS = re.compile(r"'*[=+\-@\t\r]")
"""What makes a spreadsheet take a text for a formula, where a cell starts with it; and what looks as if we had
made it safe already, so that taking our apostrophe away always brings the cell back."""


def neutral(cell: str) -> str:
    """The cell as text to every spreadsheet: one that could be taken for a formula has an apostrophe before it."""
    return "'" + cell if DANGEROUS.match(cell) else cell


def write_problems(problems: Sequence[KeptProblem], target: Path) -> None:
    """Write problem rows to a CSV or XLSX file, in place of one with the same name.

    Raises
    ------
    InputError
        where the name ends otherwise, or there is no such folder.
    """
    if target.suffix.lower() not in (".csv", ".xlsx"):
        raise InputError(f"{target} is to be a list", cure="name it .csv or .xlsx")
    if not target.parent.is_dir():
        raise InputError(f"there is no folder {target.parent}", cure="make the folder, or name another")
    rows = [[neutral(cell) for cell in row] for row in _rows(problems)]
    if target.suffix.lower() == ".csv":
        with target.open("w", encoding="utf-8-sig", newline="") as stream:
            csv.writer(stream).writerows(rows)
    else:
        _write_xlsx(rows, target)


def _rows(problems: Sequence[KeptProblem]) -> Iterator[list[str]]:
    families = {kept.row.family for kept in problems if kept.row.family} or set(FAMILIES)
    names = list(
        dict.fromkeys(column.name for family in FAMILIES if family in families for column in family_columns(family))
    )
    yield [*ASIDE, FAMILY_HEADER, *names]
    for kept in problems:
        yield [*_aside(kept), kept.row.family, *(kept.row.fields.get(name, "") for name in names)]


def _aside(kept: KeptProblem) -> Iterator[str]:
    row = kept.row
    yield str(kept.problem_id)
    yield f"{row.file} [{row.sheet}]" if row.sheet else row.file
    yield str(row.line)
    for name in ("field", "found", "expected", "cure"):
        yield "; ".join(filter(None, (getattr(fault, name) for fault in row.faults)))
    yield " | ".join(
        f"{header}: {cell}" if header else cell
        for header, cell in zip(_padded(row.headers, len(row.cells)), row.cells, strict=False)
        if cell
    )


def _padded(headers: Sequence[str], count: int) -> list[str]:
    return [*headers, *[""] * (count - len(headers))]


def _write_xlsx(rows: Sequence[Sequence[str]], target: Path) -> None:
    from xlsxwriter import Workbook  # type: ignore[import-untyped]

    plain = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with Workbook(str(target), plain) as book:
        sheet = book.add_worksheet("problems")
        text = book.add_format({"num_format": "@"})
        for place, row in enumerate(rows):
            for column, cell in enumerate(row):
                if cell:
                    sheet.write_string(place, column, cell, text)
        sheet.freeze_panes(1, 1)
