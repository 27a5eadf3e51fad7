"""The catalog's index says what the rows say, after every change; the rows are read where there is none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from catalog_schema.parts import FAMILIES
from matcher import Shop
from matcher.kernel.distinct import distinct, numbered
from matcher.search.catalog.parts import read_parts
from matcher.settings import Settings
from matcher.store.database.index import NAMES, UNKNOWN, Coded, read_index
from matcher.store.database.indexing import code_family
from matcher.store.database.opening import Store
from tests.factories import demo_shop


def cells(index: dict[str, Coded], name: str) -> list[tuple[Any, Any]]:
    """Of each part its value and tolerance in micro-units, its word or its list; None where one is not known."""
    coded = index[name]
    if coded.words:
        return [(coded.words[at] if at != UNKNOWN else None, None) for at in coded.cells[0][coded.numbers].tolist()]
    pairs = coded.cells[:, coded.numbers].T.tolist()
    return [(None if value == UNKNOWN else value, None if tol == UNKNOWN else tol) for value, tol in pairs]


def same(one: dict[str, Coded], other: dict[str, Coded]) -> bool:
    return one[NAMES].words == other[NAMES].words and all(cells(one, name) == cells(other, name) for name in one)


HEADS = "part_id,maker,model,price,preout_v,body_d_mm,screen,features,basis\n"
ROWS = "b,Mo,One,100,4,150 ±2,flush,usb;reverse_camera,maker\na,Mo,Two,90,,160.25,,,maker\n"


COLUMNS: dict[str, list[tuple[Any, Any]]] = {
    "price": [(90_000_000, None), (100_000_000, None)],
    "body_d_mm": [(160_250_000, None), (150_000_000, 2_000_000)],
    "screen": [(None, None), ("flush", None)],
    "features": [(None, None), (["reverse_camera", "usb"], None)],
    "preout_v": [(None, None), (4_000_000, None)],
}


def test_a_column_is_its_cells_in_the_order_of_names(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "heads.csv"
    path.write_text(HEADS + ROWS, encoding="utf-8")
    Shop(store.path).catalog.load(path, family="head_unit")
    with store.reading() as con:
        index = read_index(con, "head_unit")
    assert index[NAMES].words == ["a", "b"]
    for field, expected in COLUMNS.items():
        found = [(sorted(value) if isinstance(value, list) else value, tol) for value, tol in cells(index, field)]
        assert found == expected, field


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A shop with the demo's lists."""
    return demo_shop(tmp_path_factory.mktemp("index") / "shop.duckdb")


def _read_one(shop: Shop) -> None:
    shop.readings.add(f"part:{_first(shop)}", "depth_mm", "51.5", sure=True)


def _first(shop: Shop) -> str:
    with shop.store.reading() as con:
        ((name,),) = con.execute("select min(part_id) from speaker").fetchall()
    return str(name)


CHANGES: dict[str, Callable[[Shop], object]] = {
    "lists loaded": lambda shop: None,
    "a reading": _read_one,
    "another tolerance of what is measured": lambda shop: shop.set("tolerance_mm.measured", "3"),
    "an earlier version again": lambda shop: shop.catalog.restore(1),
    "written anew": lambda shop: shop.maintenance.write_index(),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_the_index_says_what_the_rows_say(shop: Shop, change: Callable[[Shop], object]) -> None:
    change(shop)
    with shop.store.reading() as con:
        assert all(same(read_index(con, family), code_family(con, family)) for family in FAMILIES)
        ((columns,),) = con.execute("select count(*) from part_index where family = 'speaker'").fetchall()
    assert columns > 20
    assert shop.maintenance.check().problems == []


def test_without_an_index_the_rows_are_read(shop: Shop) -> None:
    with shop.store.changing(own=True) as con:
        before = read_index(con, "speaker")
        con.execute("delete from part_index")
        assert read_index(con, "speaker") == {}
        parts = read_parts(con, "speaker", Settings({}))
    assert parts.part_ids.tolist() == before[NAMES].words
    assert parts.cells["price"].values.tolist() == [value for value, _ in cells(before, "price")]


@pytest.mark.parametrize(
    ("values", "expected"),
    [([30, 10, 30], [1, 0, 1]), ([0, 10**17, 5], [0, 2, 1]), ([7], [0]), ([], []), ([UNKNOWN, 4, UNKNOWN], [0, 1, 0])],
)
def test_equal_values_have_one_number_in_rising_order(values: list[int], expected: list[int]) -> None:
    found, number = numbered(np.array(values, np.int64))
    assert number.tolist() == expected
    assert found[number].tolist() == values


def test_rows_that_differ_in_any_column_are_two_sets() -> None:
    one, other = np.array([1, 1, 2, 1]), np.array([5, 6, 5, 5])
    sets = distinct([one, other], 4)
    assert (sets.first.tolist(), sets.number.tolist()) == ([0, 1, 2], [0, 1, 2, 0])
