"""OpenDocument spreadsheets are read as they show themselves, to all digits of their numbers."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from matcher.errors import FileRefused
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from matcher.store.lists.listing import BadCell
from matcher.store.lists.open_document import read_open_document
from matcher.store.mapping.kept_maps import parse_map
from tests.open_document import cell, row, write_ods

Ask = Callable[..., list[tuple[Any, ...]]]
HEADS = ("part_id", "maker", "model", "price", "vlt_pct")


@pytest.mark.parametrize(
    ("written", "read"),
    [
        (cell("two words"), "two words"),
        (cell("61", "61"), "61"),
        (cell("2,38", "2.375"), "2.375"),
        (cell("2.38 in", "2.375"), "2.375 in"),
        (cell("2,38 cm", "2.375"), "2.375 cm"),
        (cell("2.4''", "2.375"), "2.375''"),
        (cell("2 3/8", "2.375"), "2 3/8"),
        (cell("2 3/8 in", "2.375"), "2 3/8 in"),
        (cell("3      ", "3"), "3 0/1"),
        (cell("€ 1.220,00", "1220", "currency", office__currency="EUR"), "€ 1220"),
        (cell("39,90", "39.9", "currency", office__currency="EUR"), "39.9 EUR"),
        (cell("35 %", "0.35", "percentage"), "35 %"),
        (cell("00123", "123"), "00123"),
        (cell("-5,0", "-5"), "-5"),
        (cell("1 234", "1234"), "1234"),
        (cell("-", "0"), "-"),
        (cell("2.4", "2375"), "the number of its cell, 2375"),
        (cell("#DIV/0!", "0", calcext__value_type="error"), "a value, not a spreadsheet's error"),
        (cell("3. May", "2026-05-03", "date"), "a value, not a date"),
    ],
)
def test_a_cell_is_taken_as_shown(tmp_path: Path, written: str, read: str) -> None:
    (sheet,) = read_open_document(write_ods(tmp_path / "list.ods", {"L": [row("no", written)]}))
    found = sheet.rows[0][1][1]
    assert (found.expected if isinstance(found, BadCell) else found) == read


def test_a_list_loads_with_its_blank_lines_counted(store: Store, tmp_path: Path, ask: Ask) -> None:
    """Past bug: an .ods was said to hold no rows."""
    rows = [
        row("Films"),
        row(times=2),
        row(*HEADS),
        row("a", "M", "m", cell("9,50", "9.5"), cell("35 %", "0.35", "percentage")),
    ]
    path = write_ods(tmp_path / "list.ods", {"Terms": [], "List": [*rows, row("b", "M", "m", "1", "5")]})
    made = {"name": "m", "family": "film", "fields": {name: name for name in HEADS}}
    report = load_lists(store, [path], map_=parse_map(json.dumps(made), "m.json"))
    assert (report.lines, report.new, +report.skipped) == (6, 2, {"title": 1, "blank": 2, "header": 1})
    assert ask("select part_id, price, vlt_pct from film order by 1") == [("a", Decimal("9.5"), 35), ("b", 1, 5)]


def test_a_sheet_that_repeats_a_filled_cell_too_often_is_refused(store: Store, tmp_path: Path) -> None:
    wide = cell("x").replace("<table:table-cell", '<table:table-cell table:number-columns-repeated="16000"')
    for rows in ([row(wide)], [row("x", "y", times=20_000_000)]):
        with pytest.raises(FileRefused, match="too many cells"):
            load_lists(store, [write_ods(tmp_path / "list.ods", {"L": rows})], "film")
