"""Lists of any form by one load: found, shown, asked if they do not tell, and found again by their headers."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from catalog_schema.parts import FAMILIES
from matcher.errors import ListAsks
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from matcher.store.mapping.map_proposals import ListAnswers
from tests.store.varied_lists import STYLES, Truth

Ask = Callable[..., list[tuple[Any, ...]]]
HEADS = "SKU,Brand,Model,Price,Shape,Size,Ohm,RMS (W)"


def parts(store: Store) -> dict[str, dict[str, Any]]:
    """Every part by its number, with its fields."""
    found: dict[str, dict[str, Any]] = {}
    with store.reading() as con:
        for family in FAMILIES:
            rows = con.execute(f"select * from {family}")
            names = [column[0] for column in rows.description or ()]
            found |= {row[0]: dict(zip(names, row, strict=True)) for row in rows.fetchall()}
    return found


@pytest.mark.parametrize("style", STYLES, ids=lambda style: style.__name__)
def test_catalog_has_the_figures_that_a_list_states(
    store: Store, tmp_path: Path, style: Callable[[Path], tuple[Path, Truth]]
) -> None:
    path, truth = style(tmp_path)
    report = load_lists(store, [path])
    have = parts(store)
    stated = {(part, name): value for part, fields in truth.items() for name, value in fields.items()}
    found = {(part, name): have.get(part, {}).get(name) for part, name in stated}
    assert {place: value for place, value in found.items() if value != stated[place]} == {}
    assert report.lines == report.loaded + len(report.problems) + report.skipped.total()
    again = load_lists(store, [path])
    assert again.changes_nothing
    assert {table.kept_map for table in again.tables} != {""}


@pytest.mark.parametrize(
    ("text", "flag", "about", "answer", "field", "value"),
    [
        # 4 to 7 may be inches or centimeters
        (f"{HEADS},Depth\n1,M,m,5,round,165 mm,4,50,5\n", "--column", "Depth", "depth_mm (cm)", "depth_mm", 50),
        # a power of which nobody says whether it is continuous
        ("SKU,Brand,Model,Price,Shape,Size,Ohm,Power\n1,M,m,5,round,165 mm,4,50 W\n", "--column", "Power", "rms_w",
         "rms_w", 50),
        ("SKU,Brand,Model,Price,Group,VLT\n1,M,m,5,ZX,35 %\n2,M,m,5,film,2 %\n", "--kind", "ZX", "film", "vlt_pct", 35),
        ("SKU,Brand,Model,Price\n1,M,m,5\n", "--family", "list.csv", "film", "price", 5),
    ],
)  # fmt: skip
def test_an_unclear_list_asks(
    store: Store, tmp_path: Path, text: str, flag: str, about: str, answer: str, field: str, value: int
) -> None:
    (tmp_path / "list.csv").write_text(text, encoding="utf-8")
    with pytest.raises(ListAsks, match="nothing of it was loaded") as asked:
        load_lists(store, [tmp_path / "list.csv"], "speaker" if flag == "--column" else None)
    (question,) = asked.value.problems
    given = answer if flag == "--family" else f"{about}={answer}"
    assert f"{flag} '{given}'" in question.fix
    assert parts(store) == {}
    said = ListAnswers(
        columns={about: answer} if flag == "--column" else {}, kinds={about: answer} if flag == "--kind" else {}
    )
    family = {"--column": "speaker", "--kind": None, "--family": answer}[flag]
    load_lists(store, [tmp_path / "list.csv"], family, answers=said)
    assert parts(store)["1"][field] == Decimal(value)


@pytest.mark.parametrize(
    ("header", "cell", "unread"),
    [
        ("Grille depth", "12 mm", True),
        ("Magnet weight", "0.5 kg", True),
        ("Carton qty", "12", True),
        ("Mtg. depth", "58 mm", False),
    ],
)
def test_a_header_with_a_word_that_is_not_known_is_named_and_not_read(
    store: Store, tmp_path: Path, header: str, cell: str, unread: bool
) -> None:
    path = tmp_path / "list.csv"
    path.write_text(f"{HEADS},{header}\n1,M,m,5,round,165 mm,4,50,{cell}\n", encoding="utf-8")
    report = load_lists(store, [path], "speaker")
    (column,) = [one for one in report.tables[0].columns if one.header == header]
    assert (column.fills == "") is unread


def test_the_list_of_next_month_is_read_as_the_last_one(store: Store, tmp_path: Path, ask: Ask) -> None:
    for month, price in (("", "5"), ("-feb", "6")):
        (tmp_path / f"dunes{month}.csv").write_text(
            f"SKU,Brand,Model,Price,VLT\n1,M,m,{price},35 %\n", encoding="utf-8"
        )
        report = load_lists(store, [tmp_path / f"dunes{month}.csv"])
    assert (report.changed, report.tables[0].kept_map, report.suppliers) == (1, "dunes", ["dunes"])
    assert ask("select price from film") == [(6,)]


def test_another_suppliers_list_of_equal_headers_gets_its_own_maker(store: Store, tmp_path: Path, ask: Ask) -> None:
    for name, part in (("dunes", "1"), ("cliffs", "2")):
        (tmp_path / f"{name}.csv").write_text(f"SKU,Model,Price,VLT\n{part},m,5,35 %\n", encoding="utf-8")
        load_lists(store, [tmp_path / f"{name}.csv"])
    assert ask("select part_id, maker from film order by 1") == [("1", "dunes"), ("2", "cliffs")]


BOOK = """\
SALTINGS & SONS|||||||||
LOUDSPEAKERS|||||||||
Code|Description|Maker|Size|Cut-out|Depth|Imp|RMS|Pack|Trade £
# all loudspeakers with grilles
S100|Wren coaxial|Ternlow|100mm|94mm|43mm|4R|30W|box of 2|£39.90
// S130|Wren coaxial|Ternlow|130mm|117mm|51mm|4R|40W|box of 2|£52.00
BASS BOXES|||||||||
B10|Sealed box for 1 x 10 inch|Ternlow||||||each|£49.00
AMPLIFIERS
No.|Model|Make|Channels|RMS 4 Ohm|Fuse|Net price
A41|Quay 4.60|Quaywatt|4|60 W|35 A|£189.00
"""
"""Past bugs: a description taken for the column of kinds, a row between comments loaded, a second header unread."""


def test_a_book_of_sub_headings_comments_and_tables_below_each_other(store: Store, tmp_path: Path) -> None:
    (tmp_path / "book.txt").write_text(BOOK, encoding="utf-8")
    report = load_lists(store, [tmp_path / "book.txt"])
    have = parts(store)
    assert {part: fields["price"] for part, fields in have.items()} == {
        "S100": Decimal("39.90"),
        "B10": Decimal("49.00"),
        "A41": Decimal("189.00"),
    }
    assert (have["S100"]["impedance_ohm"], have["S100"]["pack_of"], have["B10"]["drivers"]) == (4, 2, 1)
    assert (have["A41"]["full_w_4ohm"], have["A41"]["full_channels"]) == (60, 4)
    assert [row.faults[0].found for row in report.problems] == ["// S130"]
    assert report.lines == report.loaded + len(report.problems) + report.skipped.total()
