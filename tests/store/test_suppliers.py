"""Suppliers, rows that were mended, and figures that a new list leaves empty."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from matcher import Shop
from matcher.errors import InputError, ListAsks, NotKnown
from matcher.store.catalog.supplier_terms import price_factors
from matcher.store.importing.report import LoadReport
from tests.factories import empty_store

Films = Callable[..., Path]
THREE = ("a,M,m,99.00,5", "a,M,m,359.90,5", "a,M,m,359.90,6")


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(empty_store(tmp_path / "shop.duckdb"))


@pytest.fixture
def load(shop: Shop, film_list: Films) -> Callable[..., LoadReport]:
    """Load a list of films by its rows and its name."""

    def load(*rows: str, name: str = "films.csv", **named: object) -> LoadReport:
        return shop.catalog.load(film_list(*rows, name=name), family="film", **named)  # type: ignore[arg-type]

    return load


Load = Callable[..., LoadReport]


def prices(shop: Shop) -> dict[str, Decimal]:
    with shop.store.reading() as con:
        return dict(con.execute("select part_id, price from film order by 1").fetchall())


def test_a_row_in_conflict_names_the_other_line_and_the_field(load: Load) -> None:
    report = load(*THREE)
    told = [[(fault.column, fault.found, fault.expected) for fault in row.faults] for row in report.problems]
    price = ("price", "359.90", "99.00 as in line 2, which has the same number")
    assert told == [[price], [price, ("vlt_pct", "6", "5 as in line 2, which has the same number")]]


def test_a_row_mended_out_of_three_stays_when_the_list_comes_again(shop: Shop, load: Load) -> None:
    """The next load undid it, and hid that: "8 kept with their reasons"."""
    load(*THREE)
    first = shop.catalog.problems()[0]
    assert shop.catalog.mend_problem(first.problem_id, first.row.fields).mended == 1
    for _ in range(2):
        report = load(*THREE)
        assert prices(shop) == {"a": Decimal("359.90")}
        assert (len(report.problems), report.settled, report.open, report.open_now) == (2, 1, 1, 1)
        assert report.skipped == {"header": 1, "mended by hand, and the list says what it said before": 1}


def test_a_list_that_changes_counts_over_a_mended_row_and_opens_the_conflict_again(shop: Shop, load: Load) -> None:
    load(*THREE)
    first = shop.catalog.problems()[0]
    shop.catalog.mend_problem(first.problem_id, first.row.fields)
    report = load("a,M,m,120.00,5", *THREE[1:])
    assert prices(shop) == {"a": Decimal("120.00")}
    assert (report.open, [kept.problem_id for kept in shop.catalog.problems()]) == (2, [1, 2])
    assert any("mended by hand are as the list says now" in words for words in report.warnings)


def test_only_a_row_that_came_in_is_mended(shop: Shop, load: Load) -> None:
    """A row that was written out for a problem and failed again settled it."""
    load("a,M,m,much,5")
    (kept,) = shop.catalog.problems()
    report = shop.catalog.mend_problem(kept.problem_id, kept.row.fields | {"price": "more"})
    assert (report.mended, report.open_now) == (0, 1)
    (again,) = shop.catalog.problems()
    assert (again.problem_id, again.row.line, again.row.fields["price"]) == (kept.problem_id, 2, "more")
    assert shop.catalog.mend_problem(kept.problem_id, kept.row.fields | {"price": "3"}).mended == 1
    assert shop.catalog.problems() == []


def test_a_row_that_fails_again_is_open_again(shop: Shop, load: Load) -> None:
    load("a,M,m,much,5", "b,M,m,1,5")
    assert load("a,M,m,2,5", "b,M,m,1,5").outdated == 1
    report = load("b,M,m,1,5", "a,M,m,much,5")
    assert ([kept.row.line for kept in shop.catalog.problems()], report.open) == ([3], 1)
    shop.catalog.drop_problems(shop.catalog.problems()[0].problem_id)
    report = load("b,M,m,1,5", "a,M,m,much,5")
    assert (shop.catalog.problems(), report.settled, report.open) == ([], 1, 0)


def test_a_mended_row_is_open_again_when_it_fails_again(shop: Shop, load: Load) -> None:
    load("a,M,m,much,5")
    (kept,) = shop.catalog.problems()
    shop.catalog.mend_problem(kept.problem_id, kept.row.fields | {"price": "3"})
    assert load("a,M,m,much,5").open == 0
    shop.catalog.restore(0)
    assert load("a,M,m,much,5").open == 1


def test_equal_numbers_of_two_suppliers_never_meet(shop: Shop, load: Load) -> None:
    """They overwrote each other, and readings taken on the first counted for the second."""
    load("100,Ulvo,m,1,5", name="nord.csv")
    shop.readings.add("part:100", "vlt_pct", 7)
    report = load("100,Xand,n,2,50", "101,Xand,n,2,50", name="holm.csv")
    (row,) = report.problems
    (fault,) = row.faults
    assert (fault.column, fault.found) == ("part_id", "100")
    assert "nord has it for Ulvo m" in fault.expected and "--supplier 'holm' --prefix P" in fault.fix
    assert load("100,Xand,n,2,50", "101,Xand,n,2,50", name="holm.csv", prefix="H-").outdated == 1
    assert list(prices(shop)) == ["100", "101", "H-100"]
    report = load("100,Xand,n,3,50", "101,Xand,n,2,50", "102,Xand,n,2,50", name="holm.csv")
    assert (report.new, report.changed, report.unchanged) == (1, 1, 1)
    assert list(prices(shop)) == ["100", "101", "H-100", "H-102"]
    with shop.store.reading() as con:
        assert con.execute("select vlt_pct from film where part_id = 'H-100'").fetchall() == [(50,)]


def test_readings_of_a_part_that_went_out_do_not_wait_for_another_supplier(shop: Shop, load: Load) -> None:
    load("100,Ulvo,m,1,5", "101,Ulvo,m,1,5", name="nord.csv")
    shop.readings.add("part:100", "vlt_pct", 7)
    load("101,Ulvo,m,1,5", name="nord.csv", complete=True)
    assert len(load("100,Ulvo,m,1,5", name="holm.csv").problems) == 1


def test_a_list_is_found_again_by_its_name(shop: Shop, load: Load) -> None:
    load("100,Ulvo,m,1,5", name="nord-2026-03.csv", supplier="Nord")
    assert load("100,Ulvo,m,2,5", name="nord-2026-04.csv").changed == 1
    assert [(one.name, one.lists) for one in shop.catalog.suppliers()] == [
        ("Nord", ("nord-2026-03.csv", "nord-2026-04.csv"))
    ]


def test_a_list_of_one_name_and_another_maker_is_asked_whose_it_is(load: Load, tmp_path: Path) -> None:
    load("100,Ulvo,m,1,5", name="prices.csv")
    (row,) = load("100,Xand,n,1,5", name="prices.csv").problems
    assert (row.faults[0].column, row.faults[0].found) == ("maker", "Xand")
    assert load("100,Xand,n,1,5", name="prices.csv", supplier="prices").changed == 1


def test_two_suppliers_that_are_one_are_made_one(shop: Shop, load: Load) -> None:
    load("100,Ulvo,m,1,5", name="list.csv")
    (row,) = load("100,Ulvo,m,1,5", name="list.csv", supplier="Nord").problems
    assert "boltback catalog supplier 'list' --rename 'Nord'" in row.faults[0].fix
    shop.catalog.set_supplier("list", rename="Nord")
    assert load("100,Ulvo,m,2,5", name="list.csv").changed == 1
    assert [(one.name, one.parts) for one in shop.catalog.suppliers()] == [("Nord", 1)]


@pytest.mark.parametrize(
    ("name", "prefix", "error", "words"),
    [
        ("nord", "", InputError, "is no prefix"),
        ("nord", "two words", InputError, "is no prefix"),
        ("nord", "H-", InputError, "is the prefix of holm"),
        ("holm", "X-", InputError, "has the prefix H- already"),
        ("nobody", "X-", NotKnown, "no supplier 'nobody'"),
    ],
)
def test_a_prefix_that_will_not_do(
    shop: Shop, load: Load, name: str, prefix: str, error: type[InputError], words: str
) -> None:
    load("1,Ulvo,m,1,5", name="nord.csv")
    load("2,Ulvo,m,1,5", name="holm.csv", prefix="H-")
    with pytest.raises(error, match=words):
        shop.catalog.set_supplier(name, prefix=prefix)


def test_a_list_that_empties_figures_says_so_and_they_can_be_kept(shop: Shop, load: Load) -> None:
    load("a,M,m,1,5", "b,M,m,1,5 (caliper)", "c,M,m,1,5")
    report = load("a,M,m,2,", "b,M,m,1,", "c,M,m,1,6")
    assert (report.parts_emptied, report.figures_emptied, report.changed_fields) == (2, 2, 5)
    assert report.changes[0].field == "price"
    assert "2 parts lose 2 figures that the catalog had; to keep them" in report.warnings[0]
    shop.readings.add("part:a", "vlt_pct", 9)
    kept = shop.catalog.keep_emptied(report.version)
    assert [(one.subject, one.field, one.value, one.basis) for one in kept] == [("part:b", "vlt_pct", "5", "caliper")]
    assert shop.catalog.keep_emptied() == []
    with shop.store.reading() as con:
        assert con.execute("select vlt_pct from film order by part_id").fetchall() == [(9,), (5,), (6,)]


def test_no_change_is_cut_silently_and_prices_come_first(shop: Shop, load: Load) -> None:
    load(*(f"p{n:03},M,m,1,5" for n in range(130)))
    report = load(*(f"p{n:03},M,n,{2 if n > 100 else 1},6" for n in range(130)))
    assert report.changed_fields == 130 + 130 + 29
    assert [change.field for change in report.changes[:30]] == ["price"] * 29 + ["model"]


def test_a_list_in_a_foreign_currency_asks_for_its_rate_once(shop: Shop, tmp_path: Path) -> None:
    shop.set("currency", "EUR")
    path = tmp_path / "pelican.csv"
    path.write_text("SKU,Brand,Description,Dealer price,VLT\n1,M,Film 35,$12.50,35 %\n", encoding="utf-8")
    with pytest.raises(ListAsks, match=r"pelican has prices in \$") as asked:
        shop.catalog.load(path)
    assert "--rate" in str(asked.value)
    assert prices(shop) == {}
    shop.catalog.load(path, rate="0.8")
    assert prices(shop) == {"1": Decimal("12.50")}
    with shop.store.reading() as con:
        (usual, by_part) = price_factors(con, "film", shop.settings())
    assert (usual, by_part["1"]) == (1, Decimal("0.8"))
    assert shop.catalog.load(path).changes_nothing
