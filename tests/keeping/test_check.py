"""A store held against what it must be: each kind of fault is found, and told with its place."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import duckdb
import pytest

from matcher import Shop
from matcher.errors import InputError, StoreFault
from matcher.store.database.format import FORMAT
from tests.factories import speaker_opening, vehicle

FAULTS = {
    "a column gone": ("alter table setting rename column value to worth", "setting", "value"),
    "a table gone": ("drop table signature", "signature", "job_id"),
    "a view gone": ("drop view part", "part", "part_id"),
    "two formats": ("insert into meta select * from meta", "meta", ""),
    "a version that was never loaded": ("update film_rows set since = 9 where part_id = 'F1'", "film_rows F1", ""),
    "a row that ends before it begins": ("update film_rows set until = 1 where part_id = 'F1'", "film_rows F1", ""),
    "a part twice": ("insert into film_rows select * from film_rows where part_id = 'F1'", "film_rows F1", ""),
    "a part of two families": ("update film_rows set part_id = 'A2' where part_id = 'F1'", "part A2", "part_id"),
    "a measured row lost": ("delete from speaker_patched", "speaker_rows A1", ""),
    "a measured row of nobody": (
        "update speaker_rows set until = 2 where part_id = 'A1'; "
        "insert into load (version, made_at, what) values (2, now(), 'load')",
        "speaker_rows A1",
        "",
    ),
    "a basis that is no document": ("update film_rows set cell_basis = '{' where part_id = 'F2'", "film_rows F2", ""),
    "a price below nothing": ("update film_rows set price = -1 where part_id = 'F2'", "film_rows F2", "price"),
    "no maker": ("update film_rows set maker = null where part_id = 'F2'", "film_rows F2", "maker"),
    "a depth of nothing": ("update speaker_rows set cutout_w_mm = 0", "speaker_rows A1", "cutout_w_mm"),
    "a tolerance below nothing": ("update speaker_rows set depth_mm_tol = -1", "speaker_rows A1", "depth_mm_tol"),
    "a word of no meaning": ("update speaker_rows set shape = 'star'", "speaker_rows A1", "shape"),
    "an opening out of range": ("update opening_speaker set depth_mm = -1", "opening_speaker tern/door", "depth_mm"),
    "an opening lost": ("delete from opening_speaker", "vehicle tern", "openings"),
    "a reading that no longer reads": (
        "update reading set value = 'deep' where reading_id = 1",
        "reading 1 of part:A1",
        "depth_mm",
    ),
    "an index of another row": ("update speaker_rows set price = 2 where not patched", "part_index speaker", "price"),
    "an index that lost a column": ("delete from part_index where name = 'depth_mm'", "part_index speaker", "depth_mm"),
    "a reading of no basis": ("update reading set basis = 'hearsay' where reading_id = 1", "reading 1 of part:A1", ""),
    "a setting of another program": ("insert into setting values ('warp', 9)", "setting", "name"),
    "a word that is none of the setting's": (
        "update word_setting set word = 'ells' where name = 'units'",
        "word_setting",
        "units",
    ),
    "a vehicle that is no JSON": ("update vehicle set document = '{'", "vehicle tern", "line 1, column 2"),
    "a vehicle of another name": (
        "update vehicle set document = replace(document, '\"tern\"', '\"skua\"')",
        "vehicle tern",
        "vehicle_id",
    ),
    "a job by no schema": ('update job set document = \'{"job_id": "j1"}\'', "job j1", "vehicle_id"),
    "a job without its vehicle": ("update job set vehicle_id = 'skua'", "job j1", "vehicle_id"),
    "a choice that is none": ("insert into choice values ('j1', 1, now(), 'Ada', 1, 1, '{}')", "choice 1 of j1", ""),
    "a set-up of no job": ("insert into signature values ('j9', now(), 'Ada', null)", "signature", "job_id"),
    "a map that is none": ("insert into list_map values ('sub', '{\"name\": 3}')", "map sub", "name"),
    "a problem without its reasons": ("update problem set faults = null", "problem 1", ""),
    "a problem of no version": ("update problem set version = 9", "problem 1", ""),
}


@pytest.mark.parametrize(("sql", "place", "field"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_found_and_told(shop: Shop, sql: str, place: str, field: str) -> None:
    with duckdb.connect(str(shop.store.path)) as con:
        con.execute(sql)
    found = shop.maintenance.check()
    assert not found.sound
    assert any(one.file == place and one.column.startswith(field) for one in found.problems), found.problems
    assert all(one.expected and one.fix for one in found.problems)


def test_a_sound_store_is_sound(shop: Shop, tmp_path: Path) -> None:
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    found = shop.maintenance.check()
    assert (found.problems, found.format) == ([], FORMAT)
    assert (found.rows["speaker_rows"], found.rows["problem"], found.rows["reading"]) == (2, 1, 2)
    log = f"{shop.store.path.name}.wal"  # the database's, empty where nothing was written
    after = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert after.pop(log, b"") == b"" and after == before


@pytest.mark.parametrize("number", [-1, 0, "null"])
def test_a_format_of_no_program_is_no_sound_store(shop: Shop, number: int | str) -> None:
    with duckdb.connect(str(shop.store.path)) as con:
        con.execute("alter table meta alter format drop not null")
        con.execute(f"update meta set format = {number}")
    with pytest.raises(StoreFault):
        shop.maintenance.check()


def test_an_opening_that_is_named_by_a_number_is_no_fault(shop: Shop, tmp_path: Path) -> None:
    path = tmp_path / "car.json"
    path.write_text(json.dumps(vehicle(speaker_opening(opening_id=5.5), speaker_opening(), vehicle_id="car")), "utf-8")
    shop.vehicles.load(path)
    assert shop.maintenance.check().sound


def test_readings_of_what_has_gone_are_no_fault(shop: Shop) -> None:
    with shop.store.changing() as con:
        con.execute(
            "insert into reading (subject, field, value, basis, read_at) values ('part:Z', 'x', 'y', "
            "'measured', now()), ('part:A1', 'gone_mm', '4', 'measured', now())"
        )
    assert shop.maintenance.check().sound


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9])
def test_a_file_cut_short_is_told(shop: Shop, share: float) -> None:
    path = shop.store.path
    path.write_bytes(path.read_bytes()[: int(path.stat().st_size * share)])
    with pytest.raises((StoreFault, InputError)) as refused:
        assert not shop.maintenance.check().sound
        raise StoreFault("told", fix="as problems")
    assert refused.value.fix


def test_every_block_of_the_file_is_read(shop: Shop, tmp_path: Path) -> None:
    """A byte is changed in the last block of a table of several megabytes: the database reads only blocks it needs."""
    head_bytes, block_bytes, damaged = 3 * 4096, 262_144, tmp_path / "damaged.duckdb"
    with duckdb.connect(str(shop.store.path)) as con:
        con.execute("insert into page_note select i, repeat(md5(i::varchar), 100) from range(3000) t(i)")
        con.execute("checkpoint")
        ((block,),) = con.execute(
            "select max(block_id) from pragma_storage_info('page_note') where column_name = 'value'"
        ).fetchall()
    assert shop.maintenance.check().sound
    whole, place = bytearray(shop.store.path.read_bytes()), head_bytes + block * block_bytes + block_bytes // 2
    whole[place] ^= 0xFF
    damaged.write_bytes(whole)
    assert [one.file for one in Shop(damaged).maintenance.check().problems] == ["page_note"]


def test_a_file_that_is_no_store_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no store"):
        Shop(tmp_path / "none.duckdb").maintenance.check()
    (tmp_path / "text.duckdb").write_text("hello", encoding="utf-8")
    with pytest.raises(StoreFault):
        Shop(tmp_path / "text.duckdb").maintenance.check()
    shutil.rmtree(tmp_path)
