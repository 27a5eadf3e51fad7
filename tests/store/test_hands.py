"""More hands at one question: what each finds, whoever finds it, and that nothing is left behind."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from functools import partial

import duckdb
import pytest

from matcher.store.connection import Connection, Interrupted
from matcher.store.hands import Hands, many_hands

LONG = "SELECT count(*) FROM range(100000000) AS a, range(100000) AS b"
"""A question that takes longer than anybody waits."""


@pytest.fixture
def con() -> Iterator[Connection]:
    with duckdb.connect(":memory:") as con:
        yield con


@pytest.fixture
def hands(con: Connection) -> Iterator[Hands]:
    hands = Hands(con, 3)
    yield hands
    hands.leave()


@pytest.mark.parametrize("many", [0, 1, 2, 7])
def test_what_is_found_stands_in_the_order_of_the_tasks(hands: Hands, many: int) -> None:
    def ask(number: int) -> int:
        time.sleep(0.01 * (many - number))
        row = hands.con.execute("SELECT ?", [number]).fetchone()
        return int(row[0]) if row else -1

    assert hands.together([partial(ask, number) for number in range(many)]) == list(range(many))


def test_two_ask_at_once_on_connections_of_their_own(hands: Hands) -> None:
    met = threading.Barrier(2, timeout=5)

    def ask() -> int:
        met.wait()
        return id(hands.con)

    assert len(set(hands.together([ask, ask]))) == 2


def test_what_one_lays_the_others_see(hands: Hands) -> None:
    met = threading.Barrier(2, timeout=5)

    def lay(name: str) -> None:
        met.wait()
        hands.con.execute(f"{hands.shelf.create} TABLE {name} AS SELECT 1 AS one")

    names = [hands.shelf.place("laid"), hands.shelf.place("laid")]
    hands.together([partial(lay, name) for name in names])
    assert [hands.con.execute(f"FROM {name}").fetchall() for name in names] == [[(1,)], [(1,)]]


@pytest.mark.parametrize("at", [0, 1, 2])
def test_an_error_of_one_is_told_once_the_others_have_ended(hands: Hands, at: int) -> None:
    ended = []

    def ask(number: int) -> None:
        if number == at:
            raise ValueError(f"task {number}")
        time.sleep(0.05)
        ended.append(number)

    with pytest.raises(ValueError, match=f"task {at}"):
        hands.together([partial(ask, number) for number in range(3)])
    before = list(ended)
    time.sleep(0.1)
    assert ended == before


def test_tasks_may_have_tasks_of_their_own(hands: Hands) -> None:
    def ask(depth: int) -> int:
        return 1 if depth == 0 else sum(hands.together([partial(ask, depth - 1)] * 3))

    assert ask(4) == 3**4


def test_what_is_asked_ahead_waits_for_what_is_asked_together(hands: Hands) -> None:
    told = []
    hands.ahead(lambda: told.append("ahead"))
    assert told == []
    hands.together([lambda: told.append("now"), lambda: told.append("now")])
    hands._ahead[0].result(timeout=5)
    assert told == ["now", "now", "ahead"]


def test_what_fails_ahead_fails_where_it_is_asked_for() -> None:
    with duckdb.connect(":memory:") as con:
        hands = Hands(con, 2)
        hands.ahead(lambda: hands.con.execute("SELECT nothing"))
        hands.together([lambda: None])
        hands.rest()
        hands.leave()


def test_what_runs_is_broken_off(hands: Hands) -> None:
    def stop() -> None:
        time.sleep(0.2)
        while not stopped.wait(0.05):
            hands.interrupt()

    stopped = threading.Event()
    watcher = threading.Thread(target=stop)
    watcher.start()
    try:
        with pytest.raises(Interrupted):
            hands.together([lambda: hands.con.execute(LONG).fetchall()] * 2)
    finally:
        stopped.set()
        watcher.join()


def test_an_error_breaks_off_what_the_others_ask(hands: Hands) -> None:
    def fail() -> None:
        time.sleep(0.2)
        raise ValueError("enough")

    begun = time.monotonic()
    with pytest.raises(ValueError, match="enough"):
        hands.together([fail, lambda: hands.con.execute(LONG).fetchall()])
    assert time.monotonic() - begun < 5


def test_who_leaves_does_not_wait_for_what_was_asked_ahead(con: Connection) -> None:
    hands = Hands(con, 2)
    hands.ahead(lambda: hands.con.execute(LONG).fetchall())
    hands.together([lambda: None])
    time.sleep(0.1)
    left = time.monotonic()
    hands.leave()
    assert time.monotonic() - left < 5


def test_nothing_stays_on_the_shelf(con: Connection) -> None:
    with many_hands(con) as hands:
        if hands is None:
            pytest.skip("one processor: nobody asks beside")
        first = hands.shelf
        con.execute(f"{first.create} TABLE {first.place('laid')} AS SELECT 1")
        hands.clear()
        assert hands.shelf != first
    names = {name for (name,) in con.execute("SELECT database_name FROM duckdb_databases()").fetchall()}
    assert not any(name.startswith("shelf") for name in names)


@pytest.mark.parametrize("before", ["CREATE TEMP VIEW assumed AS SELECT 1", "BEGIN"])
def test_nobody_asks_beside_who_sees_more_than_they_would(con: Connection, before: str) -> None:
    con.execute(before)
    with many_hands(con) as hands:
        assert hands is None
