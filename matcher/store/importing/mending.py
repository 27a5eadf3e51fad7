"""Write problem rows to a file to mend and load again.

Each row has the columns of its family as far as it was understood, its faults, and its original cells to read. Loading
a
mended row clears its problem.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from catalog_schema.choices import Sheet
from catalog_schema.columns import family_columns
from catalog_schema.parts import FAMILIES
from matcher.store.importing.problems import KeptProblem
from matcher.store.lists.headers import FAMILY_HEADER
from matcher.store.lists.sheets import write_sheets

ASIDE = (
    "problem_id",
    "problem_file",
    "problem_line",
    "problem_field",
    "problem_found",
    "problem_expected",
    "problem_fix",
    "problem_cells",
)


def write_problems(problems: Sequence[KeptProblem], target: Path, *, force: bool = False) -> None:
    """Write problem rows to a CSV or XLSX file.

    Raises
    ------
    InputError
        if the suffix or the folder is wrong, or the file exists and ``force`` is not set.
    """
    heads, *cells = _rows(problems)
    write_sheets([Sheet(name="problems", heads=heads, cells=[[*row] for row in cells])], target, force=force)


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
    for name in ("column", "found", "expected", "fix"):
        yield "; ".join(filter(None, (getattr(fault, name) for fault in row.faults)))
    yield " | ".join(
        f"{header}: {cell}" if header else cell
        for header, cell in zip(_padded(row.headers, len(row.cells)), row.cells, strict=False)
        if cell
    )


def _padded(headers: Sequence[str], count: int) -> list[str]:
    return [*headers, *[""] * (count - len(headers))]
