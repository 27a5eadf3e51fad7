"""A store copied and taken back: whole or not at all, and nothing is lost by it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from matcher import Shop
from matcher.errors import InputError, StoreFault
from matcher.store.database import migrate
from tests.store.test_formats import as_left_by

PROBE = "import sys, duckdb\ntry:\n    duckdb.connect(sys.argv[1])\nexcept duckdb.IOException:\n    print('held')"


@pytest.fixture(autouse=True)
def stores_stay_open() -> None:
    """Close stores after each use: these tests compare and spoil their files."""


def held(path: Path) -> bool:
    run = subprocess.run([sys.executable, "-c", PROBE, str(path)], capture_output=True, text=True)
    return run.stdout == "held\n"


def test_a_copy_is_the_store_and_comes_back(shop: Shop, tmp_path: Path) -> None:
    copy = shop.maintenance.back_up(tmp_path / "copy.duckdb")
    assert Shop(copy).maintenance.check().rows == shop.maintenance.check().rows
    shop.readings.add("part:A2", "depth_mm", 59)
    done = shop.maintenance.restore(copy, by="Ada")
    assert done.kept is not None
    assert len(Shop(done.kept).readings.all()) == 3
    assert len(shop.readings.all()) == 2
    assert [(one.by, one.what) for one in shop.log().entries][-1] == ("Ada", "store restore")
    assert sorted(path.suffix for path in tmp_path.iterdir() if path.name.startswith(".")) == []


def test_a_copy_is_taken_back_where_there_is_no_store_or_a_broken_one(shop: Shop, tmp_path: Path) -> None:
    copy = shop.maintenance.back_up(tmp_path / "copy.duckdb")
    assert Shop(tmp_path / "new.duckdb").maintenance.restore(copy).kept is None
    broken = tmp_path / "broken.duckdb"
    broken.write_bytes(b"no store" * 999)
    (tmp_path / "broken.duckdb.wal").write_bytes(b"no log")
    done = Shop(broken).maintenance.restore(copy)
    assert done.kept is not None and done.kept.read_bytes() == b"no store" * 999
    assert Shop(broken).maintenance.check().sound


def test_a_file_that_is_there_is_replaced_only_when_told(shop: Shop, tmp_path: Path) -> None:
    copy = shop.maintenance.back_up(tmp_path / "copy.duckdb")
    before = copy.read_bytes()
    with pytest.raises(InputError, match="is there already"):
        shop.maintenance.back_up(copy)
    assert copy.read_bytes() == before
    shop.set("labour_rate", 60)
    shop.maintenance.back_up(copy, force=True)
    assert Shop(copy).settings()["labour_rate"] == 60


@pytest.mark.parametrize("way", ["the store itself", "a link to it", "a folder", "no folder"])
def test_a_place_that_will_not_do_is_refused(shop: Shop, tmp_path: Path, way: str) -> None:
    (tmp_path / "link").symlink_to(shop.store.path)
    named = {"the store itself": "shop.duckdb", "a link to it": "link", "a folder": "", "no folder": "none/copy.duckdb"}
    with pytest.raises(InputError):
        shop.maintenance.back_up(tmp_path / named[way], force=True)
    assert shop.maintenance.check().sound


def test_a_copy_at_fault_is_not_taken(shop: Shop, tmp_path: Path) -> None:
    copy = shop.maintenance.back_up(tmp_path / "copy.duckdb")
    with Shop(copy).store.changing() as con:
        con.execute("update film_rows set price = -1")
    cut = tmp_path / "cut.duckdb"
    cut.write_bytes(copy.read_bytes()[:200_000])
    before = shop.store.path.read_bytes()
    for bad in (copy, cut):
        with pytest.raises(StoreFault) as refused:
            shop.maintenance.restore(bad)
        assert bad.name in str(refused.value)
    assert shop.store.path.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["copy.duckdb", "cut.duckdb", "shop.duckdb"]


def test_nobody_gets_at_a_store_while_it_is_copied(shop: Shop, tmp_path: Path) -> None:
    with shop.store.still():
        shop.maintenance.back_up(tmp_path / "copy.duckdb")
        assert held(shop.store.path)
    assert not held(shop.store.path)


def test_nobody_gets_at_an_older_store_while_its_backup_is_kept(shop: Shop) -> None:
    """A copy made by the process itself let go of the lock: two could change the store at once."""
    as_left_by(shop.store.path, 1)
    with shop.store.changing():
        assert migrate.backup_path(shop.store.path, 1).is_file()
        assert held(shop.store.path)


def test_a_copy_of_an_older_store_is_taken_back_and_brought_up(shop: Shop, tmp_path: Path) -> None:
    copy = as_left_by(shop.maintenance.back_up(tmp_path / "copy.duckdb"), 2)
    assert shop.maintenance.restore(copy).checked.format == 2
    assert shop.maintenance.check().sound
