"""A load that is killed leaves the store as it was: all of the list, or none of it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import pytest

from matcher.errors import InputError, StoreFault
from matcher.store.database.connection import CONFIG
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists

ROWS = 20_000
LOAD = """
import sys
from pathlib import Path
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists
report = load_lists(Store(Path(sys.argv[1])), [Path(sys.argv[2])], "film", tell=lambda text: print(text, flush=True))
print("loaded", report.new, flush=True)
"""
FIRST = "part_id,maker,model,price,vlt_pct\na,M,m,1,5\n"


@pytest.fixture(scope="module")
def long_list(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A list that takes a while to load: every twentieth row wants a second look."""
    path = tmp_path_factory.mktemp("lists") / "films.csv"
    with path.open("w", encoding="utf-8") as stream:
        stream.write("part_id,maker,model,price,vlt_pct\n")
        stream.writelines(
            f"P{n:06d},M,Model {n},{n % 90}.50,{1 + n % 70}{' %' if n % 20 == 0 else ''}\n" for n in range(ROWS)
        )
    return path


def parts(store: Store) -> int:
    with store.reading() as con:
        (count,) = con.execute("select count(*) from film").fetchall()[0]
        (loads,) = con.execute("select count(*) from load where new > 1").fetchall()[0]
    assert loads == (count > 1)
    return int(count)


def kill_a_load(store: Store, path: Path, after: float, how: signal.Signals) -> str:
    command = [sys.executable, "-c", LOAD, str(store.path), str(path)]
    own = os.environ | {"TMPDIR": str(store.path.parent)}  # a killed process leaves its working files behind
    run = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=own)
    assert run.stdout is not None
    first = run.stdout.readline()
    time.sleep(after)
    run.send_signal(how)
    rest, _ = run.communicate()
    return first + rest


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT], ids=["killed", "Ctrl-C"])
@pytest.mark.parametrize("after", [0.02, 0.2])
def test_all_of_the_list_or_none(tmp_path: Path, long_list: Path, after: float, how: signal.Signals) -> None:
    store = Store(tmp_path / "shop.duckdb")
    (tmp_path / "first.csv").write_text(FIRST, encoding="utf-8")
    load_lists(store, [tmp_path / "first.csv"], "film")
    said = kill_a_load(store, long_list, after, how)
    found = parts(store)
    assert found in (1, ROWS + 1)
    if "loaded" in said:
        assert found == ROWS + 1
    report = load_lists(store, [long_list], "film")
    assert report.new + report.unchanged == ROWS
    assert parts(store) == ROWS + 1


def test_a_store_that_was_never_made_can_still_be(tmp_path: Path, long_list: Path) -> None:
    store = Store(tmp_path / "shop.duckdb")
    kill_a_load(store, long_list, 0.05, signal.SIGKILL)
    report = load_lists(store, [long_list], "film")
    assert report.new + report.unchanged == ROWS


def test_a_store_that_was_begun_and_killed_is_none_yet(tmp_path: Path) -> None:
    path = tmp_path / "shop.duckdb"
    duckdb.connect(str(path)).close()
    with pytest.raises(InputError, match="there is no store"), Store(path).reading():
        pass


def test_a_database_of_others_is_left_alone(tmp_path: Path, long_list: Path) -> None:
    path = tmp_path / "other.duckdb"
    with duckdb.connect(str(path)) as con:
        con.execute("create table theirs as select 1 as one")
    with pytest.raises(StoreFault, match="no store of ours"):
        load_lists(Store(path), [long_list], "film")
    with duckdb.connect(str(path), config=CONFIG) as con:
        assert con.execute("from theirs").fetchall() == [(1,)]
