"""What a disk does to a store: full, read-only, cut short, of another format. It is told; nothing changes by half."""

from __future__ import annotations

import ctypes
import os
import resource
from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest

from matcher import Shop
from matcher.store.database.format import FORMAT
from tests.bench.sudden_death import child
from tests.keeping.conftest import FILMS


@pytest.fixture(autouse=True)
def stores_stay_open() -> None:
    """Close stores after each use: forked processes use them."""


def end(typed: list[str], folder: Path, before: Callable[[], object] = lambda: None) -> tuple[int, str]:
    (folder / "tmp").mkdir(exist_ok=True)
    heard, saying = os.pipe()  # on a full disk words can still be said

    def prepare() -> None:
        os.dup2(saying, 2)
        before()

    with child(typed, folder, prepare) as number:
        os.close(saying)
        _, status = os.waitpid(number, 0)
    with os.fdopen(heard, encoding="utf-8") as stream:
        return os.waitstatus_to_exitcode(status), stream.read()


def no_room() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))


def no_rights() -> None:
    if os.geteuid() == 0:
        libc, head, data = ctypes.CDLL(None), (ctypes.c_uint32 * 2)(0x20080522, 0), (ctypes.c_uint32 * 6)()
        assert libc.capget(head, data) == 0
        for place in range(3):
            data[place] &= ~0b110  # passing over rights when writing, and when reading
        assert libc.capset(head, data) == 0


def changes(folder: Path) -> dict[str, list[str]]:
    (folder / "more.csv").write_text(FILMS.replace("F", "G"), encoding="utf-8")
    return {
        "setting": ["settings", "labour_rate", "77"],
        "load": ["catalog", "load", str(folder / "more.csv"), "--family", "film"],
        "reading": ["reading", "add", "part:F1", "vlt_pct", "66"],
        "vehicle": ["vehicle", "load", str(folder / "vehicle.json")],
        "backup": ["store", "backup", str(folder / "shop" / "copy.duckdb")],
        "publish": ["catalog", "publish", str(folder / "shop" / "hq")],
        "restore": ["store", "restore", str(folder / "copy.duckdb")],
    }


@pytest.fixture
def shelf(made_once: Path, tmp_path: Path) -> Path:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "shop.duckdb").write_bytes(made_once.read_bytes())
    (tmp_path / "copy.duckdb").write_bytes(made_once.read_bytes())
    (tmp_path / "vehicle.json").write_bytes((made_once.parent / "vehicle.json").read_bytes())
    return tmp_path


KINDS = ["setting", "load", "reading", "vehicle", "backup", "publish", "restore"]


@pytest.mark.parametrize("what", KINDS)
def test_on_a_full_disk_nothing_changes_and_it_is_said(shelf: Path, what: str) -> None:
    store = shelf / "shop" / "shop.duckdb"
    before = Shop(store).maintenance.check().rows
    code, said = end([*changes(shelf)[what], "--store", str(store)], shelf, no_room)
    assert (code, "Traceback" in said) == (2, False), said
    assert "cannot be written: file too large" in said and "fix: " in said
    assert Shop(store).maintenance.check().rows == before
    left = {path.name for path in store.parent.iterdir()} - {"shop.duckdb", "shop.duckdb.wal", "hq"}
    assert left == set()
    assert not list(store.parent.glob("hq/v*"))


@pytest.mark.parametrize("what", KINDS)
def test_in_a_folder_without_rights_nothing_changes_and_it_is_said(shelf: Path, what: str) -> None:
    store = shelf / "shop" / "shop.duckdb"
    before = store.read_bytes()
    store.parent.chmod(0o555)
    store.chmod(0o444)
    try:
        code, said = end([*changes(shelf)[what], "--store", str(store)], shelf, no_rights)
    finally:
        store.parent.chmod(0o755)
    assert (code, "Traceback" in said) == (2, False)
    assert "permission denied" in said and "fix: " in said
    assert (store.read_bytes(), [path.name for path in store.parent.iterdir()]) == (before, ["shop.duckdb"])


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:200_000])


def nothing(path: Path) -> None:
    path.write_bytes(b"")


def rubbish(path: Path) -> None:
    path.write_bytes(bytes(range(256)) * 2_000)


def newer(path: Path) -> None:
    with duckdb.connect(str(path)) as con:
        con.execute("update meta set format = ?", [FORMAT + 1])


def of_others(path: Path) -> None:
    path.unlink()
    with duckdb.connect(str(path)) as con:
        con.execute("create table theirs as select 1 as one")


@pytest.mark.parametrize("spoil", [cut, rubbish, newer, of_others, nothing], ids=lambda spoil: spoil.__name__)
@pytest.mark.parametrize("typed", [["settings", "labour_rate", "77"], ["catalog", "show"], ["store", "check"]])
def test_a_store_that_is_none_is_told_and_left_alone(
    shelf: Path, spoil: Callable[[Path], None], typed: list[str]
) -> None:
    store = shelf / "shop" / "shop.duckdb"
    spoil(store)
    before = store.read_bytes()
    code, said = end([*typed, "--store", str(store)], shelf)
    assert (code, "Traceback" in said) == (3, False), said
    assert "fix: " in said
    assert store.read_bytes() == before
