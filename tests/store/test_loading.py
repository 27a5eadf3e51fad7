"""Canonical lists: every row comes in or is kept with its reasons, whatever the format."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb
import pytest

from matcher.errors import FileRefused, NotKnown
from matcher.store.database.opening import Store
from matcher.store.importing import rows
from matcher.store.importing.intake import Order
from matcher.store.importing.loading import load_lists, load_orders

Ask = Callable[..., list[tuple[Any, ...]]]
Films = Callable[..., Path]

SPEAKER = "part_id,maker,model,price,shape,size,impedance_ohm,rms_w,depth_mm"


def speakers(tmp_path: Path, *rows: str, header: str = SPEAKER, name: str = "speakers.csv") -> Path:
    path = tmp_path / name
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


def test_a_row_comes_in_letter_by_letter(store: Store, tmp_path: Path, ask: Ask) -> None:
    report = load_lists(store, [speakers(tmp_path, "00123,Mo,One,12.50,round,165 mm,4,50,61.5")], "speaker")
    assert (report.new, report.version, report.lines, +report.skipped) == (1, 1, 2, {"header": 1})
    assert ask("select part_id, price, depth_mm, depth_mm_tol, pack_of, coils, basis from speaker") == [
        ("00123", Decimal("12.50"), Decimal("61.5"), None, 1, 1, "maker")
    ]


LENGTHS: list[tuple[str, str | None, str | None, str | None]] = [
    ("61", "61", None, None),
    ("", None, None, None),
    ("  ", None, None, None),
    ("2 1/2 in", "63.5", None, None),
    ('6½"', "165.1", None, None),
    ("60,5 mm", "60.5", None, None),
    ("61 ±2", "61", "2", None),
    ("61 (caliper)", "61", "0.2", '{"depth_mm":"caliper"}'),
    ("61 ±1 (caliper)", "61", "1", '{"depth_mm":"caliper"}'),
    ("61 (maker)", "61", None, None),
    ("61 (estimate)", "61", "5", '{"depth_mm":"estimate"}'),
    ("12.3456789", "12.345679", None, None),
    ("1e2", "100", None, None),
    ("157.3", "157.3", None, None),
    ("5.000001", "5.000001", None, None),
]
"""A cell, then the value, the tolerance and the basis that are read from it."""


def test_length_cells(store: Store, tmp_path: Path, ask: Ask) -> None:
    cells = ['"' + cell.replace('"', '""') + '"' for cell, *_ in LENGTHS]
    rows = [f"{number},Mo,One,1,round,165 mm,4,50,{cell}" for number, cell in enumerate(cells)]
    load_lists(store, [speakers(tmp_path, *rows)], "speaker")
    found = ask("select depth_mm, depth_mm_tol, cell_basis from speaker_rows order by part_id::integer")
    assert found == [(value and Decimal(value), tol and Decimal(tol), basis) for _, value, tol, basis in LENGTHS]


UNREADABLE = [
    ("{},Mo,One,1,round,165 mm,4,80 W max,", "rms_w", "80 W max"),
    ("{},Mo,One,1,round,165 mm,4,60/120 W,", "rms_w", "60/120 W"),
    ("{},Mo,One,1,round,165 mm,0,50,", "impedance_ohm", "0"),
    ("{},Mo,One,1,round,165 mm,,50,", "impedance_ohm", ""),
    ("{},Mo,One,1.005,round,165 mm,4,50,", "price", "1.005"),
    ("{},Mo,One,-1,round,165 mm,4,50,", "price", "-1"),
    ("{},Mo,One,1,round,165 mm,4,50,-61", "depth_mm", "-61"),
    ("{},Mo,One,1,round,165 mm,4,50,0", "depth_mm", "0"),
    ("{},Mo,One,1,round,165 mm,4,50,20000.000001", "depth_mm", "20000.000001"),
    ("{},Mo,One,1,round,165 mm,4,50,4x10", "depth_mm", "4x10"),
    ("{},Mo,One,1,round,165 mm,4,50,5.", "depth_mm", "5."),
    ("{},Mo,One,1,round,165 mm,4,50,1_0", "depth_mm", "1_0"),
    ("{},Mo,One,1,hexagonal,165 mm,4,50,", "shape", "hexagonal"),
    (",Mo,One,1,round,165 mm,4,50,", "part_id", ""),
    ("{},Mo, ,1,round,165 mm,4,50,", "model", ""),
]
"""A row, the field that cannot be read, and its cell."""


def test_a_cell_that_cannot_be_read_keeps_its_row(store: Store, tmp_path: Path, ask: Ask) -> None:
    rows = [row.format(number) for number, (row, *_) in enumerate(UNREADABLE)]
    report = load_lists(store, [speakers(tmp_path, *rows)], "speaker")
    expected = [(line, field, found) for line, (_, field, found) in enumerate(UNREADABLE, start=2)]
    faults = [(problem.line, fault.column, fault.found) for problem in report.problems for fault in problem.faults]
    assert faults == expected
    assert all(problem.faults[0].expected for problem in report.problems)
    assert [problem.cells for problem in report.problems] == [tuple(row.split(",")) for row in rows]
    assert ask("select count(*) from speaker") == [(0,)]
    kept = ask("select line, field, found, cells from problem order by line")
    assert kept == [(*one, row.split(",")) for one, row in zip(expected, rows, strict=True)]


def test_every_fault_of_a_row_is_told(store: Store, film_list: Films) -> None:
    report = load_lists(store, [film_list(",Mo,,cheap,dark")], "film")
    assert [fault.column for fault in report.problems[0].faults] == ["part_id", "model", "price", "vlt_pct"]


@pytest.mark.parametrize(
    ("rows", "new", "duplicates", "problem_lines"),
    [
        (["a,M,m,1,5", "b,M,m,1,5"], 2, 0, []),
        (["a,M,m,1,5", "a,M,m,1,5"], 1, 1, []),
        (["a,M,m,1,5", "a,M,m,1.00,5 %"], 1, 1, []),
        (["a,M,m,1,5", "a,M,m,2,5"], 1, 0, [3]),
        (["a,M,m,1,5", "a,M,m,2,5", "a,M,m,1,5", "a,M,m,3,5"], 1, 1, [3, 5]),
        (["a,M,m,1,5 ±1", "a,M,m,1,5"], 1, 0, [3]),
        (["a,M,m,1,oops", "a,M,m,1,5"], 1, 0, [2]),
    ],
)
def test_a_part_twice_in_a_list(
    store: Store, film_list: Films, rows: list[str], new: int, duplicates: int, problem_lines: list[int]
) -> None:
    report = load_lists(store, [film_list(*rows)], "film")
    assert (report.new, report.duplicates, [row.line for row in report.problems]) == (new, duplicates, problem_lines)
    assert report.lines == report.loaded + len(report.problems) + report.skipped.total()


def test_a_part_that_another_family_holds(store: Store, film_list: Films, tmp_path: Path) -> None:
    load_lists(store, [film_list("a,M,m,1,5")], "film")
    report = load_lists(store, [speakers(tmp_path, "a,M,m,1,round,165 mm,4,50,")], "speaker")
    assert (report.new, report.problems[0].faults[0].expected) == (
        0,
        "a number that no other supplier has: films has it for M m",
    )


def test_two_families_of_one_load_share_no_number(store: Store, film_list: Films, tmp_path: Path) -> None:
    orders = [Order(film_list("a,M,m,1,5"), "film"), Order(speakers(tmp_path, "a,M,m,1,round,165 mm,4,50,"), "speaker")]
    report = load_orders(store, orders)
    assert (report.new, [row.family for row in report.problems]) == (1, ["speaker"])


@pytest.mark.parametrize(
    ("header", "cell", "value"),
    [
        ("Depth (in)", "2.5", "63.5"),
        ("depth [cm]", "6", "60"),
        ("DEPTH_MM", "61", "61"),
        (" Depth  mm ", "61", "61"),
        ("depth in", "2", "50.8"),
        ("Depth (in)", "61 mm", "61"),
    ],
)
def test_a_header_may_carry_its_unit(
    store: Store, tmp_path: Path, ask: Ask, header: str, cell: str, value: str
) -> None:
    path = speakers(tmp_path, f"1,Mo,One,1,round,165 mm,4,50,{cell}", header=SPEAKER.replace("depth_mm", header))
    load_lists(store, [path], "speaker")
    assert ask("select depth_mm from speaker") == [(Decimal(value),)]


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("part_id,maker,model,price,vlt_pct,colour", ["colour"]),
        ("part_id,maker,model,price,vlt", ["vlt", "did you mean vlt_pct?"]),
        ("part_id,maker,model,,price", ["an empty header"]),
        ("part_id,maker,price,vlt_pct,notes", ["a column model: it is required"]),
        ("part_id,maker,model,price,price", ["one column for price"]),
        ("part_id,maker,model,price,vlt (mm)", ["vlt (mm)"]),
    ],
)
def test_headers_that_are_refused(new_store: Store, film_list: Films, header: str, words: list[str]) -> None:
    with pytest.raises(FileRefused) as refused:
        load_lists(new_store, [film_list("a,M,m,1,5", header=header)], "film")
    assert all(word in str(refused.value) for word in words)
    assert not new_store.path.exists()


def test_the_columns_of_another_family_are_named(store: Store, film_list: Films) -> None:
    with pytest.raises(FileRefused, match="--family film"):
        load_lists(store, [film_list("a,M,m,1,5")], "cable")


def test_an_unknown_family(store: Store, film_list: Films) -> None:
    with pytest.raises(NotKnown, match="speaker"):
        load_lists(store, [film_list("a,M,m,1,5")], "speakr")


ROW: dict[str, Any] = {"part_id": "007", "maker": "Mo", "model": "Siren", "price": 12.5, "covers": ["tow", "glass"]}
WHOLE = [("007", Decimal("12.50"), ["tow", "glass"], True)]


def as_json(path: Path) -> None:
    path.write_text(json.dumps([ROW | {"own_battery": True}]), encoding="utf-8")


def as_json_lines(path: Path) -> None:
    path.write_text(json.dumps(ROW | {"own_battery": "yes"}) + "\n\n", encoding="utf-8")


def as_csv(path: Path) -> None:
    path.write_text("part_id,maker,model,price,covers,own_battery\n007,Mo,Siren,12.5,tow; glass,x\n", encoding="utf-8")


def as_parquet(path: Path) -> None:
    with duckdb.connect() as con:
        con.execute(
            "copy (select '007' as part_id, 'Mo' as maker, 'Siren' as model, 12.5::double as price, "
            f"['tow', 'glass'] as covers, true as own_battery) to '{path}' (format parquet)"
        )


def as_xlsx(path: Path) -> None:
    from xlsxwriter import Workbook

    with Workbook(str(path)) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["part_id", "maker", "model", "price", "covers", "own_battery"])
        sheet.write_row(1, 0, ["007", "Mo", "Siren", 12.5, "tow, glass", True])


@pytest.mark.parametrize(
    ("name", "write"),
    [
        ("security.csv", as_csv),
        ("security.json", as_json),
        ("security.jsonl", as_json_lines),
        ("security.parquet", as_parquet),
        ("security.xlsx", as_xlsx),
    ],
)
def test_every_format_says_the_same(
    store: Store, tmp_path: Path, ask: Ask, name: str, write: Callable[[Path], None]
) -> None:
    write(tmp_path / name)
    report = load_lists(store, [tmp_path / name], "security")
    assert ask("select part_id, price, covers, own_battery from security") == WHOLE
    assert report.lines == report.loaded + len(report.problems) + report.skipped.total()


def test_a_figure_in_json_keeps_its_tolerance_and_basis(store: Store, tmp_path: Path, ask: Ask) -> None:
    figure = {"value": "16.5", "tol": 0.1, "basis": "caliper"}
    row = {"part_id": 7, "maker": "Mo", "model": "Wire", "price": "9", "area_mm2": figure}
    (tmp_path / "cables.json").write_text(json.dumps({"parts": [row]}), encoding="utf-8")
    load_lists(store, [tmp_path / "cables.json"], "cable")
    assert ask("select part_id, area_mm2, area_mm2_tol, cell_basis from cable_rows") == [
        ("7", Decimal("16.5"), Decimal("0.1"), '{"area_mm2":"caliper"}')
    ]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_encoding_and_delimiter_are_found(
    store: Store, tmp_path: Path, ask: Ask, encoding: str, delimiter: str
) -> None:
    lines = ["part_id,maker,model,price,vlt_pct", "01,Müller,Folie – für Türen,9,5", "02,Köhler,x,8,15"]
    text = "\n".join(line.replace(",", delimiter) for line in lines)
    (tmp_path / "films.csv").write_bytes(text.encode(encoding))
    load_lists(store, [tmp_path / "films.csv"], "film")
    assert ask("select part_id, maker, model from film order by part_id") == [
        ("01", "Müller", "Folie – für Türen"),
        ("02", "Köhler", "x"),
    ]


def test_lines_that_are_no_rows_are_counted(store: Store, tmp_path: Path, ask: Ask) -> None:
    text = '\n\npart_id,maker,model,price,vlt_pct\na,M,"two\nlines",1,5\n\n,,,,\nb,M,m\nc,M,6" wide,1,5\nd,M,m,1,5,6\n'
    (tmp_path / "films.csv").write_text(text, encoding="utf-8")
    report = load_lists(store, [tmp_path / "films.csv"], "film")
    assert report.lines == 10
    assert +report.skipped == {"blank": 4, "header": 1, "cell over several lines": 1}
    found = [(row.line, row.faults[0].found) for row in report.problems]
    assert found == [(4, "two lines"), (8, "3 cells"), (10, "6 cells")]  # a name is one line
    assert ask("select part_id, model from film order by 1") == [("c", '6" wide')]


def test_a_quote_that_nobody_closes_spoils_its_own_line_only(store: Store, film_list: Films, ask: Ask) -> None:
    report = load_lists(store, [film_list('a,M,"m,1,5', "b,M,m,1,5", *[f"c{i},M,m,1,5" for i in range(300)])], "film")
    assert ([row.line for row in report.problems], report.new) == ([2], 301)


def test_nothing_is_kept_of_lists_of_which_one_is_refused(new_store: Store, film_list: Films) -> None:
    good, bad = film_list("a,M,m,1,5"), film_list("b,M,m", header="part_id,maker,model", name="bad.csv")
    bad.write_text("part_id,colour\nb,red\n", encoding="utf-8")
    with pytest.raises(FileRefused):
        load_lists(new_store, [good, bad], "film")
    assert not new_store.path.exists()


def test_a_dry_run_changes_nothing(new_store: Store, store: Store, film_list: Films, ask: Ask) -> None:
    report = load_lists(new_store, [film_list("a,M,m,1,5")], "film", dry_run=True)
    assert (report.new, report.dry_run, new_store.path.exists()) == (1, True, False)
    load_lists(store, [film_list("a,M,m,1,5")], "film")
    report = load_lists(store, [film_list("a,M,m,2,5", "b,M,m,dear,5")], "film", dry_run=True)
    assert (report.changed, len(report.problems)) == (1, 1)
    assert ask("select price from film") == [(Decimal("1.00"),)]
    assert ask("select count(*) from problem") == [(0,)]


def test_a_list_whose_own_column_tells_the_family(store: Store, tmp_path: Path, ask: Ask) -> None:
    header = "family,part_id,maker,model,price,vlt_pct,shape,size,impedance_ohm,rms_w"
    rows = ["film,f,M,m,1,5,,,,", "speaker,s,M,m,1,,round,165 mm,4,50", "gadget,g,M,m,1,,,,,", ",h,M,m,1,,,,,"]
    report = load_lists(store, [speakers(tmp_path, *rows, header=header)])
    assert (report.new, [(row.line, row.faults[0].column) for row in report.problems]) == (
        2,
        [(4, "family"), (5, "family")],
    )
    assert ask("select part_id, family from part order by 1") == [("f", "film"), ("s", "speaker")]


def test_a_flood_of_faulty_rows_is_refused(store: Store, film_list: Films, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rows, "MOST_FAULTY", 5)
    assert len(load_lists(store, [film_list(*[f"p{n},M,m,dear,5" for n in range(5)])], "film").problems) == 5
    with pytest.raises(FileRefused, match="6 rows cannot be read") as refused:
        load_lists(store, [film_list(*[f"p{n},M,m,dear,5" for n in range(6)])], "film")
    assert [problem.column for problem in refused.value.problems] == ["price"]
