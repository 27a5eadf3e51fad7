"""Looking twice: the leaders of each class first, then what brings as much as the packages that they make."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import duckdb
import pytest

from matcher.search.exact.entries import MULTIPLIERS, SCALE
from matcher.search.exact.patience import Patience
from matcher.search.fits.looks import LEAD, Merits, Need, Needs, judged_sql, leaders_sql, needed_sql, needs_params
from matcher.search.fits.sweep import Sweeps
from matcher.search.options import Ranked, rank
from tests.search.shops import Store, drawn_job
from tests.soak import first

MERITS = Merits(
    group=("kind",), alike=("kind",), points="earned", open="dark", high="coalesce(level, -1)", low="draw", mix="2.0"
)
Row = tuple[str, int, int, int, int | None, int, bool]
"""Name, kind, cents, points, level, draw, whether anything is open."""


@pytest.fixture
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with duckdb.connect() as made:
        made.execute(
            "CREATE TABLE rows (name VARCHAR, kind INTEGER, cents BIGINT, earned BIGINT, level INTEGER, "
            "draw INTEGER, dark BOOLEAN)"
        )
        yield made


def names(con: duckdb.DuckDBPyConnection, rows: list[Row], needs: list[Need] | None = None) -> str:
    con.executemany("INSERT INTO rows VALUES (?, ?, ?, ?, ?, ?, ?)", rows)
    judged = judged_sql("rows", MERITS)
    sql = leaders_sql(judged, MERITS) if needs is None else needed_sql(judged, MERITS)
    params = {} if needs is None else needs_params(MERITS, needs)
    return "".join(sorted(name for (name,) in con.execute(f"SELECT name FROM ({sql})", params).fetchall()))


def test_the_leaders_of_a_class_are_the_best_by_each_multiplier_the_loudest_and_the_least(
    con: duckdb.DuckDBPyConnection,
) -> None:
    dull: list[Row] = [(f"x{at}", 1, 500 + at, 10, 10, 9, False) for at in range(9)]
    shown: list[Row] = [
        ("a", 1, 900, 90, 10, 9, False),  # most points
        ("b", 1, 100, 11, 10, 9, False),  # cheapest
        ("c", 1, 900, 10, 40, 9, False),  # loudest
        ("d", 1, 900, 10, 10, 1, False),  # draws least
        ("e", 1, 90, 99, 50, 0, True),  # better in everything, but open: the best of what is sure stay
        ("f", 2, 999, 1, None, 9, False),  # alone in its class
    ]
    kept = names(con, dull + shown)
    assert set("abcdef") <= set(kept)
    assert kept.count("x") <= LEAD * 4  # and few others


def asked(level: int | None, sure: bool, **least: int) -> Need:
    """A need of class 1: so much by the multipliers that are named, in points of relaxed value."""
    known = [SCALE * least[f"x{times}"] if f"x{times}" in least else -(10**9) for times in MULTIPLIERS]
    return Need((1,), sure, level, tuple(known))


@pytest.mark.parametrize(
    ("row", "need", "meets"),
    [
        (("a", 1, 0, 50, None, 0, False), asked(None, False, x0=50), True),  # exactly as much as is asked
        (("a", 1, 0, 49, None, 0, False), asked(None, False, x0=50), False),
        (("a", 1, 0, 50, None, 0, True), asked(None, False, x0=50), True),
        (("a", 1, 0, 50, None, 0, True), asked(None, True, x0=50), False),  # something is open
        (("a", 2, 0, 50, None, 0, False), asked(None, False, x0=50), False),  # nothing is asked of its class
        (("a", 1, 32, 50, None, 0, False), asked(None, False, x0=50, x16=18), True),  # money at a point for a cent
        (("a", 1, 33, 50, None, 0, False), asked(None, False, x0=50, x16=18), False),
        (("a", 1, 0, 50, 30, 0, False), asked(30, False, x0=50), True),
        (("a", 1, 0, 58, 25, 0, False), asked(30, False, x0=50), True),  # five less loud: ten points less, but two
        (("a", 1, 0, 57, 25, 0, False), asked(30, False, x0=50), False),
        (("a", 1, 0, 90, None, 0, False), asked(30, False, x0=50), False),  # no level: it can't be as loud
        (("a", 1, 0, 90, None, 0, False), asked(None, False, x0=50), True),  # but may do without
    ],
)
def test_a_part_is_read_where_it_brings_what_is_asked(
    con: duckdb.DuckDBPyConnection, row: Row, need: Need, meets: bool
) -> None:
    assert names(con, [row], [need]) == ("a" if meets else "")


def test_of_what_several_packages_ask_the_least_counts() -> None:
    needs = Needs()
    needs.take("door", (1,), (50, 20, *MULTIPLIERS[2:]))
    needs.take("door", (1,), (40, 30, *MULTIPLIERS[2:]))
    needs.take("shelf", (1,), (1,))
    (need,) = needs.of("door")
    assert need.at_least[:2] == (40, 20)
    assert needs.of("dash") == []


@pytest.mark.parametrize("seed", first(4, range(300, 340)))
def test_two_looks_find_what_one_look_finds(store: Store, seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    settled, draw = store.settle(seed, times=4), Random(seed)
    for top in (1, 3, 8):
        document = drawn_job(draw, ["bolt_on", "hidden_cut", "metal_cut"], tiers=[60, 150])
        document["limits"]["budget"] = draw.choice([None, 90, 200])
        told = []
        for few in (0, 10**9):
            monkeypatch.setattr("matcher.search.telling.FEW", few)
            told.append(told_of(rank(Sweeps(store.con, settled.settings), settled.job(document), top)))
        assert told[0] == told[1], (seed, document)


def test_a_first_look_that_ended_early_gives_what_it_found_and_says_what_it_may_miss(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    settled = store.settle(301, times=4)
    job = settled.job(drawn_job(Random(5), ["bolt_on"], keep=[]))
    best = rank(Sweeps(store.con, settled.settings), job, 3).found
    monkeypatch.setattr("matcher.search.telling.FEW", 0)
    told = rank(Sweeps(store.con, settled.settings), job, 3, Patience(most_entries=4))
    assert best
    assert told.missed is not None and not told.complete
    assert told.missed >= best[0].points
    assert all(one.points <= best[0].points for one in told.found)


def told_of(ranked: Ranked) -> object:
    """All that a ranking says, without what the packages are made of."""
    at_budget = [(budget, found and (found.order, found.core.rank)) for budget, found in ranked.at_budget]
    return [one.order for one in ranked.found], ranked.sure and ranked.sure.order, at_budget, ranked.considered
