"""A published catalog: whole versions only, each as the store held it, whoever is killed or reads on the way."""

from __future__ import annotations

import json
from pathlib import Path

import duckdb
import pytest

from matcher import Shop
from matcher.errors import FileRefused, InputError
from matcher.store.sharing.publish import HALF, MEASURED, published_tables
from matcher.store.sharing.snapshots import CURRENT, MANIFEST, current_snapshot
from tests.factories import speaker, speaker_opening, store_file, vehicle


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(store_file(tmp_path / "shop.duckdb", speaker(), vehicle(speaker_opening())))


def test_a_snapshot_holds_what_the_store_holds(shop: Shop, tmp_path: Path) -> None:
    shop.readings.add("part:speaker-1", "depth_mm", 58)
    shop.set("labour_rate", 50)
    shop.set("shop_name", "12")
    made = shop.sharing.publish(tmp_path / "out", by="Ada")
    assert (made.version, made.by, made.folder.name) == (1, "Ada", "v1")
    assert set(made.tables) == {*published_tables(), MEASURED}
    assert made.tables["speaker"].rows == made.tables["opening_speaker"].rows == made.tables["vehicle"].rows == 1
    assert (made.settings["labour_rate"], made.settings.word("shop_name")) == (50, "12")
    for name, table in ((name, made.tables[name]) for name in published_tables()):
        with shop.store.reading() as con:
            held = con.execute(f"describe {name}").fetchall()
        kept = duckdb.connect().sql(f"describe from '{made.path(name)}'").fetchall()
        assert [row[:2] for row in kept][: len(held)] == [row[:2] for row in held]
        assert duckdb.connect().sql(f"select count(*) from '{made.path(name)}'").fetchall() == [(table.rows,)]
    assert duckdb.connect().sql(f"select depth_mm, depth_mm_tol from '{made.path('speaker')}'").fetchall() == [(58, 1)]


def test_a_version_follows_another_and_the_old_ones_go(shop: Shop, tmp_path: Path) -> None:
    out = tmp_path / "out"
    for number in (1, 2, 3, 4):
        assert shop.sharing.publish(out, keep=2).version == number
        assert current_snapshot(out).version == number
    assert sorted(path.name for path in out.iterdir() if not path.name.startswith(".")) == [CURRENT, "v3", "v4"]


def test_files_of_a_killed_publication_are_removed(shop: Shop, tmp_path: Path) -> None:
    out = tmp_path / "out"
    shop.sharing.publish(out)
    (out / f"{HALF}abc").mkdir()
    (out / "v2").mkdir()
    assert current_snapshot(out).version == 1  # killed between the rename and the swap
    assert shop.sharing.publish(out).version == 3
    assert not list(out.glob(f"{HALF}*"))


@pytest.mark.parametrize(
    ("pointer", "says"), [("v7", "cannot be read"), ("../v1", "names no version"), ("", "names"), ("é", "names")]
)
def test_a_pointer_to_nowhere_is_refused(shop: Shop, tmp_path: Path, pointer: str, says: str) -> None:
    shop.sharing.publish(tmp_path / "out")
    (tmp_path / "out" / CURRENT).write_text(pointer, encoding="utf-8")
    with pytest.raises(FileRefused, match=says):
        current_snapshot(tmp_path / "out")


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"edition": 1}', '{"edition": 2}', "\x00"])
def test_a_manifest_that_is_none_is_refused(shop: Shop, tmp_path: Path, text: str) -> None:
    made = shop.sharing.publish(tmp_path / "out")
    (made.folder / MANIFEST).write_text(text, encoding="utf-8")
    with pytest.raises(FileRefused, match="manifest"):
        current_snapshot(tmp_path / "out")


def test_a_manifest_that_names_files_elsewhere_is_refused(shop: Shop, tmp_path: Path) -> None:
    made = shop.sharing.publish(tmp_path / "out")
    document = json.loads((made.folder / MANIFEST).read_text(encoding="utf-8"))
    document["tables"]["film"]["file"] = "../../secret.parquet"
    (made.folder / MANIFEST).write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(FileRefused, match="no manifest"):
        current_snapshot(tmp_path / "out")


def test_a_file_that_was_cut_short_is_found(shop: Shop, tmp_path: Path) -> None:
    made = shop.sharing.publish(tmp_path / "out")
    made.check()
    made.path("film").write_bytes(made.path("film").read_bytes()[:-1])
    made.check(["speaker"])
    with pytest.raises(FileRefused, match="not the file that was published"):
        made.check()


def test_a_folder_that_cannot_be_one_is_refused(shop: Shop, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot be written"):
        shop.sharing.publish(tmp_path / "file")
