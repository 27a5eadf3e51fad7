"""Files that a command writes: nothing that is there is replaced unasked, and what is there is told."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from matcher import Shop
from matcher.commands import main
from matcher.errors import InputError
from matcher.store.database.durable import check_target, write_file
from tests.keeping.test_faults import end, no_rights

LIST = "part_id,maker,model,price,vlt_pct\nF9,Ulvo,Clear,10,70\n"


@pytest.fixture(autouse=True)
def stores_stay_open() -> None:
    """Close stores after each use: these tests compare their files."""


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    monkeypatch.setattr(sys, "argv", ["boltback", *arguments])
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)


WRITERS = {
    "job export": ["job", "export", "j1", "--out"],
    "catalog map": ["catalog", "map", "list.csv", "--family", "film", "--out"],
    "catalog problems": ["catalog", "problems", "--out"],
    "compare": ["compare", "j1", "--out"],
    "order": ["order", "j1", "--out"],
}
TABLES = {"catalog problems", "compare", "order"}


@pytest.mark.parametrize("name", WRITERS)
@pytest.mark.parametrize("there", ["the store", "another store", "a file"])
def test_a_command_replaces_nothing_unasked(
    shop: Shop,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    name: str,
    there: str,
) -> None:
    """`job export --out STORE` and `catalog map LIST --out STORE` replaced the store."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BOLTBACK_STORE", str(shop.store.path))
    Path("list.csv").write_text(LIST, encoding="utf-8")
    target = {"the store": shop.store.path, "another store": Path("other.csv"), "a file": Path("note.csv")}[there]
    if there == "another store":
        shop.maintenance.back_up(target)
    elif there == "a file":
        target.write_text("mine", encoding="utf-8")
    before = target.read_bytes()
    assert run(monkeypatch, *WRITERS[name], str(target)) == 2
    said = capsys.readouterr().err
    assert str(target) in said and "fix: " in said
    if there == "a file":
        assert "is there already: a file of 4 bytes, changed " in said and "--force" in said
    elif there == "another store":
        assert "is there already: a store of " in said
        assert run(monkeypatch, *WRITERS[name], str(target), "--force") == 2
    assert target.read_bytes() == before


def test_a_file_is_replaced_with_force_and_a_list_that_is_read_never(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BOLTBACK_STORE", str(shop.store.path))
    Path("list.csv").write_text(LIST, encoding="utf-8")
    Path("out.json").write_text("mine", encoding="utf-8")
    assert run(monkeypatch, "job", "export", "j1", "--out", "out.json", "--force") == 0
    assert '"job_id": "j1"' in Path("out.json").read_text(encoding="utf-8")
    assert run(monkeypatch, "catalog", "map", "list.csv", "--family", "film", "--out", "list.csv", "--force") == 2
    assert "list.csv is what this command reads" in capsys.readouterr().err
    assert Path("list.csv").read_text(encoding="utf-8") == LIST


def test_a_terminal_may_be_written_to(tmp_path: Path) -> None:
    check_target(Path("/dev/null"), force=False)
    with pytest.raises(InputError, match="is a folder"):
        check_target(tmp_path, force=True)


def test_files_of_a_killed_process_are_removed_by_the_next(shop: Shop, tmp_path: Path) -> None:
    """A killed backup left its half file for good; what a running process writes is left alone."""
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    stale = [tmp_path / f".{name}.{ended.pid}.part" for name in ("copy.duckdb", "shop.duckdb")]
    stale.append(tmp_path / f".shop.duckdb.{ended.pid}.part.wal")
    others = [tmp_path / f".copy.duckdb.{os.getppid()}.part", tmp_path / ".notes.part", tmp_path / ".a.1x.part"]
    for left in (*stale, *others):
        left.write_bytes(b"half")
    shop.maintenance.back_up(tmp_path / "new.duckdb")
    assert [left.name for left in stale if left.exists()] == []
    assert [left.name for left in others if not left.exists()] == []


def test_readers_and_the_page_make_no_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`serve` left a store with nothing in it."""
    path = tmp_path / "none.duckdb"
    assert run(monkeypatch, "catalog", "show", "--store", str(path)) == 2
    shop = Shop(path)
    assert (shop.page.password(), len(shop.page.secret())) == (None, 32)
    with pytest.raises(InputError, match="there is no store"):
        shop.page.set_password("hash")
    assert [*tmp_path.iterdir()] == []


@pytest.mark.parametrize("typed", [["store", "check"], ["catalog", "show"], ["measure", "j1"]])
def test_a_store_that_can_only_be_read_is_asked(shop: Shop, tmp_path: Path, typed: list[str]) -> None:
    folder = tmp_path / "disc"
    folder.mkdir()
    kept = folder / "shop.duckdb"
    kept.write_bytes(shop.store.path.read_bytes())
    kept.chmod(0o444)
    folder.chmod(0o555)
    try:
        code, said = end([*typed, "--store", str(kept)], tmp_path, no_rights)
        refused, why = end(["settings", "labour_rate", "7", "--store", str(kept)], tmp_path, no_rights)
    finally:
        folder.chmod(0o755)
    assert code == 0, said
    assert (refused, "permission denied" in why) == (2, True)
    assert [path.name for path in folder.iterdir()] == ["shop.duckdb"]


WORDS = {
    "a note": ["reading", "add", "part:A1", "depth_mm", "50", "--note", "a\udcff"],
    "a name": ["job", "show", "j\udcff"],
    "a file": ["catalog", "load", "a\udcff.csv"],
    "the store": ["catalog", "show", "--store", "a\udcff.duckdb"],
}


@pytest.mark.parametrize("what", [*WORDS, "BOLTBACK_BY"])
def test_bytes_that_are_no_text_are_refused(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], what: str
) -> None:
    monkeypatch.setenv("BOLTBACK_STORE", str(shop.store.path))
    if what == "BOLTBACK_BY":
        monkeypatch.setenv(what, "a\udcff")
    assert run(monkeypatch, *WORDS.get(what, WORDS["a note"][:-2])) == 2
    assert "\\xff" in (said := capsys.readouterr().err) and "no UTF-8 text" in said
    assert len(shop.readings.all("part:A1")) == 1


def demo_left(folder: Path, shop: Shop) -> Path:
    """A folder with the store of an earlier demo."""
    folder.mkdir()
    kept = folder / "demo.duckdb"
    kept.write_bytes(shop.store.path.read_bytes())
    Shop(kept).note_event("demo", "store")
    return kept


@pytest.mark.parametrize("added", [False, True])
def test_a_demo_says_what_its_folder_holds(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], added: bool
) -> None:
    """`boltback demo` wiped what was added to its store."""
    kept = demo_left(tmp_path / "demo", shop)
    if added:
        Shop(kept).readings.add("part:A1", "depth_mm", 59)
    before = kept.read_bytes()
    assert run(monkeypatch, "demo", str(kept.parent)) == 2
    told = "the demo, and what was done since: 1 x reading" if added else "the demo as it was made"
    assert told in (said := capsys.readouterr().err) and "--force" in said
    assert kept.read_bytes() == before


@pytest.mark.parametrize("text", ["0001-01-01", "9999-12-31 23:59", "0001-01-01T00:00+14:00"])
def test_the_first_and_the_last_day_are_no_traceback(shop: Shop, text: str) -> None:
    try:
        assert shop.log(since=text).entries == [] or text.startswith("0001")
    except InputError as refused:
        assert refused.problems[0].found == text


def test_a_written_file_is_whole_or_absent(tmp_path: Path) -> None:
    write_file(tmp_path / "a.txt", "one")
    write_file(tmp_path / "a.txt", "two")
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("a.txt", "two")]
