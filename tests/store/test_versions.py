"""Versions: what is new, changed, unchanged, withdrawn; what lies between two; going back."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from matcher.errors import InputError
from matcher.store.database.opening import Store
from matcher.store.database.stamps import catalog_version
from matcher.store.importing.history import diff, history, holdings, looking_back, restore
from matcher.store.importing.loading import load_lists
from matcher.store.importing.report import LoadReport
from matcher.store.readings.readings import add_reading

Ask = Callable[..., list[tuple[Any, ...]]]
Films = Callable[..., Path]


def counts(report: LoadReport) -> tuple[int, int, int, int, int]:
    return report.version, report.new, report.changed, report.unchanged, report.withdrawn


def prices(ask: Ask) -> dict[str, int]:
    return {part_id: int(price) for part_id, price in ask("select part_id, price from film")}


FIRST = ("a,M,m,1,5", "b,M,m,2,15", "c,M,m,3,35")
SECOND = ("a,M,m,1,5", "b,M,m,20,15", "d,M,m,4,50")


@pytest.fixture
def twice(store: Store, film_list: Films) -> Store:
    load_lists(store, [film_list(*FIRST)], "film")
    load_lists(store, [film_list(*SECOND)], "film", complete=True)
    return store


@pytest.mark.parametrize(
    ("rows", "named", "expected"),
    [
        (FIRST, {}, (1, 0, 0, 3, 0)),
        (FIRST[:1], {}, (1, 0, 0, 1, 0)),
        (FIRST[:1], {"complete": True}, (2, 0, 0, 1, 2)),
        (SECOND, {}, (2, 1, 1, 1, 0)),
        (SECOND, {"complete": True}, (2, 1, 1, 1, 1)),
        (SECOND, {"complete": True, "supplier": "Other"}, (2, 1, 0, 0, 0)),
        (("a,M,m,1,5 (caliper)", *FIRST[1:]), {}, (2, 0, 1, 2, 0)),
        (("a,M,m,1.0,5.000 %", *FIRST[1:]), {}, (1, 0, 0, 3, 0)),
        (("a,M,m,oops,5",), {"complete": True}, (2, 0, 0, 0, 2)),
    ],
)
def test_a_second_load(
    store: Store, film_list: Films, rows: tuple[str, ...], named: dict[str, Any], expected: tuple[int, ...]
) -> None:
    load_lists(store, [film_list(*FIRST)], "film")
    assert counts(load_lists(store, [film_list(*rows)], "film", **named)) == expected


def test_changes_are_named_field_by_field(twice: Store, film_list: Films) -> None:
    report = load_lists(twice, [film_list("a,M,new,1,")], "film")
    found = [(change.part_id, change.field, change.before, change.after) for change in report.changes]
    assert found == [("a", "model", "m", "new"), ("a", "vlt_pct", Decimal(5), None)]


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        (1, 1, []),
        (0, 1, [("a", "new", {}), ("b", "new", {}), ("c", "new", {})]),
        (1, 2, [("b", "changed", {"price": (2, 20)}), ("c", "withdrawn", {}), ("d", "new", {})]),
        (2, 1, [("b", "changed", {"price": (20, 2)}), ("c", "new", {}), ("d", "withdrawn", {})]),
        (2, 0, [("a", "withdrawn", {}), ("b", "withdrawn", {}), ("d", "withdrawn", {})]),
    ],
)
def test_changes_between_two_versions(twice: Store, before: int, after: int, expected: list[Any]) -> None:
    with twice.reading() as con:
        assert [(part.part_id, part.what, part.fields) for part in diff(con, before, after)] == expected


def test_going_back_is_a_version_of_its_own(twice: Store, ask: Ask) -> None:
    with twice.changing() as con:
        made = restore(con, 1, by="Ada")
    assert (made.version, made.what, made.by, made.new, made.changed, made.withdrawn) == (
        3,
        "restore 1",
        "Ada",
        1,
        1,
        1,
    )
    assert prices(ask) == {"a": 1, "b": 2, "c": 3}
    with twice.changing() as con:
        restore(con, 2)
    assert prices(ask) == {"a": 1, "b": 20, "d": 4}
    with twice.reading() as con:
        assert diff(con, 2, 4) == diff(con, 1, 3) == []
        assert [version.what for version in history(con)] == ["load", "load", "restore 1", "restore 2"]


def test_going_back_to_the_empty_catalog(twice: Store, ask: Ask) -> None:
    with twice.changing() as con:
        restore(con, 0)
    assert prices(ask) == {}


@pytest.mark.parametrize("version", [-1, 3, 99])
def test_a_version_that_never_was(twice: Store, version: int) -> None:
    with pytest.raises(InputError, match="versions 0"), twice.changing() as con:
        restore(con, version)


def test_a_reading_stays_over_every_version(twice: Store, ask: Ask) -> None:
    with twice.changing() as con:
        add_reading(con, "part:b", "vlt_pct", "12")
        restore(con, 1)
    assert ask("select price, vlt_pct from film where part_id = 'b'") == [(2, 12)]


def test_looking_back(twice: Store) -> None:
    with twice.changing() as con:
        add_reading(con, "part:c", "vlt_pct", "33")
    with twice.reading() as con:
        with looking_back(con, 1):
            assert con.execute("select part_id, price, vlt_pct from film order by 1").fetchall() == [
                ("a", 1, 5),
                ("b", 2, 15),
                ("c", 3, 33),
            ]
            assert con.execute("select count(*) from part").fetchone() == (3,)
        assert con.execute("select part_id from film order by 1").fetchall() == [("a",), ("b",), ("d",)]


def test_an_empty_store_is_at_version_0(store: Store, film_list: Films) -> None:
    load_lists(store, [film_list("a,M,m,oops,5")], "film", dry_run=True)
    with store.changing() as con:
        assert (catalog_version(con), history(con), holdings(con)) == (0, [], [])


def test_counts_of_parts_measured_parts_and_problems(twice: Store) -> None:
    with twice.reading() as con:
        (films,) = holdings(con)
    assert (films.family, films.parts, films.measured, films.problems) == ("film", 3, 0, 0)


@pytest.mark.parametrize(
    ("rows", "named", "warned"),
    [
        (("a,M,m,1,5",), {}, False),
        (("a,M,m,1,5",), {"complete": True}, True),
        (("a,M,m,1,5", "z,N,m,1,5"), {"complete": True}, False),
    ],
)
def test_a_whole_list_that_leaves_out_a_maker_is_asked_whose_it_is(
    store: Store, film_list: Films, rows: tuple[str, ...], named: dict[str, bool], warned: bool
) -> None:
    load_lists(store, [film_list("a,M,m,1,5", "b,M,m,1,5", "n,N,m,1,5")], "film")
    report = load_lists(store, [film_list(*rows)], "film", **named)
    assert any("all parts of N go out" in words for words in report.warnings) is warned


def test_the_history_accounts_for_every_line(store: Store, film_list: Films) -> None:
    load_lists(store, [film_list("a,M,m,1,5", "a,M,m,1,5", "b,M,m,dear,5", "")], "film")
    with store.reading() as con:
        (one,) = history(con)
    assert (one.lines, one.duplicates, one.problems, one.skipped) == (5, 1, 1, 2)
    assert one.lines == one.new + one.changed + one.unchanged + one.duplicates + one.problems + one.skipped
