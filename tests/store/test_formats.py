"""Stores of other formats: an older one is brought up to date by its first change, a newer one is left alone."""

from __future__ import annotations

import re
import shutil
from itertools import product
from pathlib import Path

import duckdb
import pytest

from catalog_schema.parts import FAMILIES
from matcher import Shop
from matcher.errors import InputError, StoreFault
from matcher.store.catalog.held import holding_only
from matcher.store.database import migrate
from matcher.store.database.format import ADDED, ADDED_FAMILIES, ADDED_FIGURES, FORMAT
from matcher.store.database.tables import part_columns
from matcher.store.importing.history import looking_back
from tests.factories import part, speaker, store_file, vehicle
from tests.factories import speaker_opening as door


@pytest.fixture(autouse=True)
def stores_stay_open() -> None:
    """Close stores after each use: these tests change their files by hand."""


def made_by(kind: str, since: int) -> list[str]:
    """The tables, or sequences, that the formats after one have added."""
    return [
        name for number, sql in ADDED.items() if number > since for name in re.findall(rf"create {kind} (\w+)", sql)
    ]


NEW = {*made_by("table", 1)}


def as_left_by(path: Path, number: int) -> Path:
    with duckdb.connect(str(path)) as con:
        for kind in ("table", "sequence"):
            for name in made_by(kind, number):
                con.execute(f"drop {kind} {name}")
        for since, things in ADDED_FIGURES.items():
            for thing, fields in things.items() if since > number else ():
                _without(con, thing, {name for field in fields for name in (field, f"{field}_tol")})
        _without_families(con, {one for since, some in ADDED_FAMILIES.items() if since > number for one in some})
        con.execute("update meta set format = ?", [number])
    return path


def _without_families(con: duckdb.DuckDBPyConnection, gone: set[str]) -> None:
    """The store without some families of parts, and its view of every part without them."""
    left = (one for one in FAMILIES if one not in gone)
    every = (f"select part_id, '{one}' as family, maker, model, price, pack_of from {one}" for one in left)
    con.execute(f"create or replace view part as {' union all '.join(every)}")
    for family in gone:
        con.execute(f"drop view {family}; drop table {family}_rows; drop table {family}_patched")


def _without(con: duckdb.DuckDBPyConnection, thing: str, gone: set[str]) -> None:
    """The tables of a family and its view, or a table of vehicles or openings, without some columns."""
    if thing not in FAMILIES:
        for name in gone:
            con.execute(f"alter table {thing} drop column if exists {name}")
        return
    if con.execute("select 1 from duckdb_tables() where table_name = 'part_index'").fetchall():
        con.execute("delete from part_index where family = $1 and list_contains($2::varchar[], name)", [thing, [*gone]])
    family, gone = thing, gone & {name for name, _ in part_columns(thing)}
    names = ", ".join(name for name, _ in part_columns(family) if name not in gone)
    for table, name in product((f"{family}_rows", f"{family}_patched"), gone):
        con.execute(f"alter table {table} drop column {name}")
    con.execute(
        f"create or replace view {family} as select {names} from {family}_rows where until is null and not patched "
        f"union all select {names} from {family}_patched"
    )


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A store of the first format."""
    return as_left_by(store_file(tmp_path / "shop.duckdb", speaker(), vehicle(door())), 1)


def test_a_store_of_the_format_before_is_asked_as_it_is(tmp_path: Path) -> None:
    """Its index lacks the columns that were added since."""
    path = store_file(tmp_path / "shop.duckdb", speaker(), vehicle(door()))
    now = Shop(path).fit("speaker-1", "tern/door")
    assert Shop(as_left_by(path, FORMAT - 1)).fit("speaker-1", "tern/door") == now


def tables(path: Path) -> set[str]:
    with duckdb.connect(str(path), read_only=True) as con:
        return {name for (name,) in con.execute("select table_name from duckdb_tables() where not internal").fetchall()}


def format_of(path: Path) -> int:
    with duckdb.connect(str(path), read_only=True) as con:
        ((found,),) = con.execute("select format from meta").fetchall()
    return int(found)


def test_the_formats_follow_each_other() -> None:
    assert sorted({*ADDED, *ADDED_FIGURES, *ADDED_FAMILIES}) == [*range(2, FORMAT + 1)]


@pytest.mark.parametrize("number", [1, FORMAT - 1])
def test_an_older_store_is_asked_as_it_is(tmp_path: Path, number: int) -> None:
    old = as_left_by(store_file(tmp_path / "shop.duckdb", speaker(), vehicle(door())), number)
    before = old.read_bytes()
    shop = Shop(old)
    assert shop.fit("speaker-1", "tern/door").verdict == "fits"
    assert {entry.what for entry in shop.log().entries} == (set() if number == 1 else {"vehicle load"})
    assert old.read_bytes() == before
    assert [path.name for path in old.parent.iterdir()] == ["shop.duckdb"]


def test_a_question_finds_what_it_lacks_unknown(tmp_path: Path) -> None:
    old = as_left_by(store_file(tmp_path / "shop.duckdb", part("accessory", part_id="plank", w_mm=400)), 4)
    sizes = "select part_id, w_mm, w_mm_tol from accessory"
    with Shop(old).store.reading() as con:
        assert con.execute(sizes).fetchall() == [("plank", None, None)]
        with holding_only(con, ["plank"]):
            assert con.execute(sizes).fetchall() == [("plank", None, None)]
        with looking_back(con, 0):
            assert con.execute(sizes).fetchall() == []
        assert con.execute(sizes).fetchall() == [("plank", None, None)]
    Shop(old).set("labour_rate", 50)
    with Shop(old).store.reading() as con:
        assert con.execute(sizes).fetchall() == [("plank", None, None)]


def test_its_first_change_brings_it_up_to_date_and_keeps_the_old_file(old: Path) -> None:
    before = old.read_bytes()
    shop = Shop(old)
    shop.set("labour_rate", 50, by="Ada")
    assert (format_of(old), tables(old) >= NEW) == (FORMAT, True)
    kept = migrate.backup_path(old, 1)
    assert (kept.name, kept.read_bytes() == before) == ("shop.duckdb.format1.bak", True)
    assert [(one.by, one.what) for one in shop.log().entries] == [("Ada", "setting")]
    assert shop.fit("speaker-1", "tern/door").verdict == "fits"


def test_the_kept_file_is_a_store_like_any_other(old: Path, tmp_path: Path) -> None:
    Shop(old).set("labour_rate", 50)
    back = Path(shutil.copyfile(migrate.backup_path(old, 1), tmp_path / "back.duckdb"))
    assert Shop(back).settings()["labour_rate"] == 0
    assert Shop(back).fit("speaker-1", "tern/door").verdict == "fits"


def test_a_change_that_fails_leaves_the_older_store(old: Path) -> None:
    shop = Shop(old)
    with pytest.raises(InputError), shop.store.changing():
        raise InputError("stopped on the way")
    assert (format_of(old), tables(old) & NEW) == (1, set())
    shop.set("labour_rate", 50)
    assert format_of(old) == FORMAT


def test_nothing_is_changed_if_no_copy_can_be_kept(old: Path) -> None:
    migrate.backup_path(old, 1).mkdir()
    with pytest.raises(InputError, match="no copy of it can be kept"):
        Shop(old).set("labour_rate", 50)
    assert format_of(old) == 1
    assert {path.name for path in old.parent.iterdir()} == {"shop.duckdb", "shop.duckdb.format1.bak"}


def test_a_newer_store_is_refused_with_what_would_do(old: Path) -> None:
    with duckdb.connect(str(old)) as con:
        con.execute("update meta set format = ?", [FORMAT + 1])
    before = old.read_bytes()
    for use in (Shop(old).catalog.history, lambda: Shop(old).set("labour_rate", 50)):
        with pytest.raises(StoreFault) as refused:
            use()
        assert f"format {FORMAT + 1}" in str(refused.value)
        assert "newer program" in refused.value.fix
    assert old.read_bytes() == before


@pytest.mark.parametrize("number", range(1, FORMAT))
def test_a_migrated_store_is_made_like_a_new_one(tmp_path: Path, number: int) -> None:
    old = as_left_by(store_file(tmp_path / "old.duckdb", speaker()), number)
    assert Shop(old).log(since="2999-01-01").entries == []
    Shop(old).set("labour_rate", 50)
    assert migrate.backup_path(old, number).is_file()
    fresh = store_file(tmp_path / "fresh.duckdb", speaker())

    def columns(path: Path) -> list[tuple[str, str, str]]:
        with duckdb.connect(str(path), read_only=True) as con:
            return con.execute(
                "select table_name, column_name, data_type from duckdb_columns() where not internal order by all"
            ).fetchall()

    assert columns(old) == columns(fresh)
