"""Problem rows: kept, written out, mended, loaded again, cleared; and no cell of ours is a formula."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook
from xlsxwriter import Workbook  # type: ignore[import-untyped]

from matcher.errors import InputError, NotKnown
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
from matcher.store.importing.mending import write_problems
from matcher.store.importing.problems import drop_problems, list_problems
from matcher.store.lists.sheets import neutral
from tests.factories import empty_store

Ask = Callable[..., list[tuple[Any, ...]]]
Films = Callable[..., Path]


def open_lines(store: Store) -> list[int]:
    with store.reading() as con:
        return [kept.row.line for kept in list_problems(con)]


def write_out(store: Store, path: Path) -> Path:
    with store.reading() as con:
        write_problems(list_problems(con), path)
    return path


def table(path: Path) -> list[list[str]]:
    if path.suffix == ".xlsx":
        sheet = CalamineWorkbook.from_path(str(path)).get_sheet_by_index(0)
        return [[str(cell) for cell in row] for row in sheet.to_python()]
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.reader(stream))


def save_table(path: Path, rows: list[list[str]]) -> None:
    if path.suffix == ".csv":
        with path.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows(rows)
        return
    with Workbook(str(path), {"strings_to_formulas": False}) as book:
        sheet = book.add_worksheet()
        for place, row in enumerate(rows):
            sheet.write_row(place, 0, row)


def mend(path: Path, part_id: str, **cells: str) -> None:
    """Write cells into the row of a part, as a person would."""
    heads, *rows = table(path)
    for row in rows:
        if row[heads.index("part_id")] == part_id:
            for name, cell in cells.items():
                row[heads.index(name)] = cell
    save_table(path, [heads, *rows])


@pytest.mark.parametrize("name", ["fixed.csv", "fixed.xlsx"])
def test_mended_rows_come_in_and_clear_their_problems(
    store: Store, film_list: Films, tmp_path: Path, ask: Ask, name: str
) -> None:
    load_lists(store, [film_list("00a,M,=m+1,1,dark", "00b,M,-m,1,dim", "00c,M,m,1,5")], "film", supplier="Sup")
    path = write_out(store, tmp_path / name)
    mend(path, "00a", vlt_pct="15")
    report = load_lists(store, [path])
    assert (report.new, report.mended, len(report.problems)) == (1, 1, 1)
    assert ask("select part_id, model, vlt_pct, supplier from film_rows order by 1") == [
        ("00a", "=m+1", 15, "Sup"),
        ("00c", "m", 5, "Sup"),
    ]
    again = load_lists(store, [path])
    assert (again.changes_nothing, again.version, again.mended) == (True, report.version, 0)
    path = write_out(store, tmp_path / f"second-{name}")
    mend(path, "00b", vlt_pct="20")
    assert load_lists(store, [path]).mended == 1
    assert ask("select part_id, model, supplier from film_rows where part_id = '00b'") == [("00b", "-m", "Sup")]
    assert open_lines(store) == []


def test_a_list_mended_by_its_supplier_clears_its_problems(store: Store, film_list: Films) -> None:
    load_lists(store, [film_list("a,M,m,1,dark", "b,M,m,1,dim")], "film")
    assert open_lines(store) == [2, 3]
    assert load_lists(store, [film_list("a,M,m,1,5", "b,M,m,1,dim")], "film").outdated == 1
    assert open_lines(store) == [3]
    assert load_lists(store, [film_list("b,M,m,1,15", name="films-2.csv")], "film").outdated == 1
    assert open_lines(store) == []


def test_a_row_mended_by_hand_stays_mended_when_the_list_comes_again(
    store: Store, film_list: Films, tmp_path: Path
) -> None:
    rows = ("a,M,m,1,dark", "b,M,m,1,5")
    load_lists(store, [film_list(*rows)], "film")
    path = write_out(store, tmp_path / "fixed.csv")
    mend(path, "a", vlt_pct="15")
    version = load_lists(store, [path]).version
    report = load_lists(store, [film_list(*rows)], "film")
    assert (report.version, len(report.problems), open_lines(store)) == (version, 1, [])


def test_the_same_problems_are_kept_once(store: Store, film_list: Films) -> None:
    for _ in range(3):
        report = load_lists(store, [film_list("a,M,m,1,dark", "b,M,m,1,5", "b,M,m,2,5")], "film")
        assert (report.version, [row.line for row in report.problems]) == (1, [2, 4])
    assert open_lines(store) == [2, 4]


def test_a_problem_that_nobody_wants(store: Store, film_list: Films) -> None:
    load_lists(store, [film_list("a,M,m,1,dark", "b,M,m,1,dim")], "film")
    with store.changing() as con:
        drop_problems(con, [1])
    assert open_lines(store) == [3]
    load_lists(store, [film_list("a,M,m,1,dark", "b,M,m,1,dim")], "film")
    assert open_lines(store) == [3]
    with pytest.raises(NotKnown), store.changing() as con:
        drop_problems(con, [1])


@pytest.mark.parametrize("target", ["fixed.doc", "fixed", "no-folder/fixed.csv"])
def test_an_invalid_target_for_problem_rows_is_refused(
    store: Store, film_list: Films, tmp_path: Path, target: str
) -> None:
    load_lists(store, [film_list("a,M,m,1,dark")], "film")
    with pytest.raises(InputError):
        write_out(store, tmp_path / target)


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@sum", "'@sum"),
        ("\tx", "'\tx"),
        ("\rx", "'\rx"),
        ("x=1", "x=1"),
        ("'=1", "''=1"),
        ("'a", "'a"),
        ("", ""),
    ],
)
def test_a_cell_that_could_be_a_formula_is_text(cell: str, shown: str) -> None:
    assert neutral(cell) == shown


CELL = st.text(st.sampled_from("=+-@'a1 é\t\"',;\n"), max_size=8)


@given(cells=st.lists(st.tuples(CELL, CELL), min_size=1, max_size=5), suffix=st.sampled_from(["csv", "xlsx"]))
@settings(max_examples=10, deadline=None)
def test_written_problems_contain_no_formula_and_read_back(
    tmp_path_factory: pytest.TempPathFactory, cells: list[tuple[str, str]], suffix: str
) -> None:
    folder = tmp_path_factory.mktemp("mending")
    store = Store(empty_store(folder / "shop.duckdb"))
    with (folder / "films.csv").open("w", encoding="utf-8", newline="") as stream:
        rows = [[f"p{place}", maker or "M", model or "m", "1", "dark"] for place, (maker, model) in enumerate(cells)]
        csv.writer(stream).writerows([["part_id", "maker", "model", "price", "vlt_pct"], *rows])
    before = load_lists(store, [folder / "films.csv"], "film")
    path = write_out(store, folder / f"fixed.{suffix}")
    assert not any(cell[:1] in ("=", "+", "-", "@", "\t", "\r") for row in table(path) for cell in row)
    again = load_lists(store, [path])
    fields = ["part_id", "maker", "model", "vlt_pct"]
    assert [[row.fields[name].strip() for name in fields] for row in again.problems] == [
        [row.fields[name].strip() for name in fields] for row in before.problems
    ]


@pytest.mark.parametrize(
    ("cutout", "depth", "rms", "fields"),
    [(143, 55, 50, []), (49, 184, 50, ["depth_mm"]), (143, 5300, 50, ["depth_mm"]), (143, 55, 90_000, ["rms_w"])],
)
def test_a_row_with_doubtful_figures_is_a_problem_until_somebody_is_sure(
    store: Store, tmp_path: Path, cutout: int, depth: int, rms: int, fields: list[str]
) -> None:
    path = tmp_path / "list.csv"
    head = "part_id,maker,model,price,shape,size,impedance_ohm,cutout_w_mm,depth_mm,rms_w"
    path.write_text(f"{head}\na,M,m,1,round,x,4,{cutout},{depth},{rms}\n", encoding="utf-8")
    report = load_lists(store, [path], "speaker")
    assert {fault.column for row in report.problems for fault in row.faults} >= set(fields)
    assert report.new == (0 if fields else 1)
    assert load_lists(store, [path], "speaker", sure=True).loaded == 1
