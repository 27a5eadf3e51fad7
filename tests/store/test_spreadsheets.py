"""Spreadsheets: cells as they are written; errors, formulas and dates are problems, not values."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from xlsxwriter import Workbook  # type: ignore[import-untyped]

from matcher.errors import FileRefused
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from matcher.store.lists.spreadsheet_check import check_sheet

HEADS = ["part_id", "maker", "model", "price", "vlt_pct"]
Write = Callable[[Any, Any], None]
Ask = Callable[..., list[tuple[Any, ...]]]


def book(path: Path, write: Write, sheet: str = "List") -> Path:
    with Workbook(str(path)) as made:
        page = made.add_worksheet(sheet)
        page.write_row(0, 0, HEADS)
        write(made, page)
    return path


@pytest.mark.parametrize(
    ("write", "found"),
    [
        (lambda b, s: s.write_formula(1, 4, "=1/0", None, "#DIV/0!"), "#DIV/0!"),
        (lambda b, s: s.write_formula(1, 4, "=D2*2", None, ""), "=D2*2"),
        (lambda b, s: s.write_formula(1, 4, "=D2*2"), "=D2*2"),
        (lambda b, s: s.write_datetime(1, 4, date(2026, 3, 8), b.add_format({"num_format": "d mmm"})), "2026-03-08"),
        (lambda b, s: s.write(1, 4, "dark"), "dark"),
        (lambda b, s: s.write_boolean(1, 4, True), "yes"),
    ],
)  # fmt: skip
def test_a_cell_without_a_value_of_its_own(store: Store, tmp_path: Path, write: Write, found: str) -> None:
    def row(made: Any, page: Any) -> None:
        page.write_row(1, 0, ["a", "M", "m", 1])
        write(made, page)

    report = load_lists(store, [book(tmp_path / "films.xlsx", row)], "film")
    (problem,) = report.problems
    assert [(fault.column, fault.found) for fault in problem.faults] == [("vlt_pct", found)]
    assert (problem.sheet, problem.line, problem.cells[4]) == ("List", 2, found)


@pytest.mark.parametrize(
    ("number", "form", "part_id", "warned"),
    [
        (123, "00000", "00123", True),
        (123, "General", "123", False),
        (1234567, "00000", "1234567", True),
        (12.5, "General", "12.5", False),
        (62.400000000000006, "General", "62.4", False),
        (10**14, "General", "100000000000000", False),
    ],
)
def test_a_number_of_a_part_is_taken_as_shown(
    store: Store, tmp_path: Path, number: float, form: str, part_id: str, warned: bool
) -> None:
    def row(made: Any, page: Any) -> None:
        page.write_number(1, 0, number, made.add_format({"num_format": form}))
        page.write_row(1, 1, ["M", "m", 1, 5])

    report = load_lists(store, [book(tmp_path / "films.xlsx", row)], "film")
    with store.reading() as con:
        assert con.execute("select part_id from film").fetchall() == [(part_id,)]
    assert any("leading zeros" in words for words in report.warnings) is warned


SPEAKER_HEADS = ["part_id", "maker", "model", "price", "shape", "size", "impedance_ohm", "rms_w", "depth_mm"]


FORMATS: list[tuple[float, str, Decimal | None]] = [
    (61, "0.0", Decimal(61)),
    (2.375, '0.00" in"', Decimal("60.325")),
    (2.375, "0.00''", Decimal("60.325")),
    (2.375, '# ??/??" in"', Decimal("60.325")),
    (6.1, '0.0" cm"', Decimal(61)),
    (61.25, '0 "mm"', Decimal("61.25")),
    (61, "0.0\\ \\m\\m", Decimal(61)),
    (61, "_-* 0.0_-;-* 0.0_-", Decimal(61)),
    (2.375, "# ?/?", None),
    (2.375, '#" "??/??', None),
    (3, "# ??/??", None),
    (61, '0" kg"', None),
    (61, "0 %", None),
    (61, '[>100]0" mm";0" cm"', None),
    (61000, "0.0,", None),
    (0, '0;-0;"call"', None),
]
"""A number, its format, and the depth that is read; None where the format has another unit."""


def test_a_number_is_taken_with_the_unit_of_its_format(store: Store, tmp_path: Path, ask: Ask) -> None:
    """Past bug: 2.375 shown as 2.38 in came in as 2.375 mm."""
    with Workbook(str(tmp_path / "list.xlsx")) as made:
        page = made.add_worksheet("List")
        page.write_row(0, 0, SPEAKER_HEADS)
        for line, (value, form, _) in enumerate(FORMATS, start=1):
            page.write_row(line, 0, [f"{line}", "M", "m", 1, "round", "165 mm", 4, 50])
            page.write_number(line, 8, value, made.add_format({"num_format": form}))
    report = load_lists(store, [tmp_path / "list.xlsx"], "speaker")
    read = [(f"{line}", depth) for line, (*_, depth) in enumerate(FORMATS, start=1) if depth is not None]
    assert ask("select part_id, depth_mm from speaker order by part_id::integer") == read
    refused = [line + 1 for line, (*_, depth) in enumerate(FORMATS, start=1) if depth is None]
    faults = [(row.line, fault.column) for row in report.problems for fault in row.faults]
    assert faults == [(line, "depth_mm") for line in refused]


def test_a_calculated_formula_counts_and_is_said(store: Store, tmp_path: Path) -> None:
    def row(made: Any, page: Any) -> None:
        page.write_row(1, 0, ["a", "M", "m"])
        page.write_formula(1, 3, "=5*2", None, 10)

    report = load_lists(store, [book(tmp_path / "films.xlsx", row)], "film")
    assert (report.new, any("formulas" in words for words in report.warnings)) == (1, True)


def test_lines_keep_their_numbers_over_blank_ones(store: Store, tmp_path: Path) -> None:
    def row(made: Any, page: Any) -> None:
        page.write_row(4, 0, ["a", "M", "m", 1, 5])
        page.write_row(6, 0, ["b", "M", "m", "dear", 5])
        page.write(7, 7, "beside")

    report = load_lists(store, [book(tmp_path / "films.xlsx", row)], "film")
    assert [row.line for row in report.problems] == [7, 8]
    assert (report.lines, +report.skipped) == (8, {"header": 1, "blank": 4})


def test_other_sheets_are_named(store: Store, tmp_path: Path) -> None:
    def row(made: Any, page: Any) -> None:
        page.write_row(1, 0, ["a", "M", "m", 1, 5])
        made.add_worksheet("Terms").write(0, 0, "ask")

    report = load_lists(store, [book(tmp_path / "films.xlsx", row)], "film")
    assert "'Terms'" in report.warnings[0]


def test_a_sheet_that_spreads_over_too_many_cells(store: Store, tmp_path: Path) -> None:
    path = book(tmp_path / "films.xlsx", lambda made, page: page.write(1_048_575, 16_383, "far"))
    with pytest.raises(FileRefused, match="too many cells"):
        load_lists(store, [path], "film")


def test_the_check_says_where(tmp_path: Path) -> None:
    path = book(tmp_path / "films.xlsx", lambda made, page: page.write_formula(2, 3, "=NA()", None, "#N/A"))
    notes = check_sheet(path, "List")
    assert (notes.rows, notes.formulas, {place: bad.shown for place, bad in notes.bad.items()}) == (
        3,
        1,
        {(3, 4): "#N/A"},
    )
