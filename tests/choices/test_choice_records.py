"""Who changed what, jobs that were signed off, and whole jobs carried from one store to another."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from matcher import Shop
from matcher.errors import InputError
from tests.choices.conftest import CAR, HEAD, JOB, SPEAKER, THINGS
from tests.factories import Row, empty_store, lay_part, plain, store_file, withdraw
from tests.postgres import on_both

Stand = Callable[[Path], Path]

stand = on_both

FILM = "part_id,maker,model,price,vlt_pct\n{},M,m,1,5\n"


def file(folder: Path, name: str, document: object) -> Path:
    path = folder / name
    path.write_text(document if isinstance(document, str) else json.dumps(document, default=plain), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A shop on disk with the car, its parts and the job; and the same with the job chosen, set up, signed off."""
    folder = tmp_path_factory.mktemp("shops")
    shop = Shop(held(folder / "fresh.duckdb", *THINGS))
    shop.jobs.load(file(folder, "job.json", JOB), by="Ada")
    shutil.copyfile(folder / "fresh.duckdb", folder / "over.duckdb")
    over = Shop(folder / "over.duckdb")
    over.choices.choose("j1", 2, by="Ada")
    over.choices.choose("j1", 1, by="Bo", note="cheaper")
    over.readings.add("opening:tern/door", "depth_mm", 68, by="Bo")
    over.readings.add("part:speaker-1", "depth_mm", 59, tol=0.2, basis="caliper", by="Bo")
    over.choices.set_up("j1", values={"rest_ma": "9", "gain_v.door": "14"}, by="Bo")
    over.choices.sign("j1", by="Ada Ulvo", note="keys back", anyway=True)
    return {"fresh": folder / "fresh.duckdb", "over": folder / "over.duckdb"}


def held(path: Path, *things: Row) -> Path:
    store_file(path, *things)
    with Shop(path).store.changing() as con:
        con.execute("insert into load (version, made_at, what) values (1, '2020-01-01', 'load')")
    return path


@pytest.fixture
def shop(made_once: dict[str, Path], stand: Stand, tmp_path: Path) -> Shop:
    """A shop of one's own with the car, its parts and the job."""
    return Shop(stand(shutil.copyfile(made_once["fresh"], tmp_path / "shop.duckdb")))


@pytest.fixture
def over(made_once: dict[str, Path], stand: Stand, tmp_path: Path) -> Shop:
    """The same with the job chosen, set up and signed off."""
    return Shop(stand(shutil.copyfile(made_once["over"], tmp_path / "over.duckdb")))


@pytest.fixture(scope="module")
def whole(made_once: dict[str, Path]) -> Row:
    """That job as its file would be."""
    document: Row = json.loads(json.dumps(Shop(made_once["over"]).jobs.export("j1")))
    return document


def entries(shop: Shop, **asked: Any) -> list[tuple[str, str, str]]:
    return [(one.by, one.what, one.subject) for one in shop.log(**asked).entries]


WRITES: list[tuple[Callable[[Shop, Path], object], tuple[str, str]]] = [
    (
        lambda shop, folder: shop.catalog.load(file(folder, "f.csv", FILM.format("a")), family="film"),
        ("catalog load", "catalog"),
    ),
    (lambda shop, folder: shop.catalog.restore(0), ("catalog restore 0", "catalog")),
    (lambda shop, folder: shop.vehicles.load(file(folder, "v.json", CAR)), ("vehicle load", "vehicle:tern")),
    (lambda shop, folder: shop.jobs.load(file(folder, "j.json", JOB)), ("job load", "job:j1")),
    (lambda shop, folder: shop.set("labour_rate", 50), ("setting", "setting:labour_rate")),
    (lambda shop, folder: shop.readings.add("part:speaker-1", "depth_mm", 59), ("reading", "part:speaker-1")),
    (lambda shop, folder: shop.choices.choose("j1", 1), ("choose", "job:j1")),
    (lambda shop, folder: shop.choices.sign("j1", by=None, anyway=True, note="tried"), ("sign", "job:j1")),
    (lambda shop, folder: shop.jobs.supersede("j1", "j2"), ("superseded", "job:j1")),
]


@pytest.mark.parametrize(("write", "told"), WRITES, ids=[told for _, (told, _) in WRITES])
def test_every_change_says_who_made_it(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, write: Any, told: tuple[str, str]
) -> None:
    monkeypatch.setenv("BOLTBACK_BY", "Cor")
    before = entries(shop)
    write(shop, tmp_path)
    assert ("Cor", *told) in set(entries(shop)) - set(before)


def test_without_a_name_it_is_whom_the_system_knows(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("BOLTBACK_BY")
    monkeypatch.setattr("getpass.getuser", lambda: "bench")
    shop.set("labour_rate", 50)
    assert entries(shop)[-1] == ("bench", "setting", "setting:labour_rate")


def test_a_failed_change_is_not_in_the_log(shop: Shop, tmp_path: Path) -> None:
    before = entries(shop)
    for wrong in (
        lambda: shop.set("labour_rat", 50),
        lambda: shop.choices.choose("j1", 9),
        lambda: shop.jobs.load(file(tmp_path, "j.json", JOB | {"keep": ["roof"]})),
    ):
        with pytest.raises(InputError):
            wrong()
    assert entries(shop) == before


def test_the_log_of_one_job_has_its_car_and_leaves_out_the_rest(over: Shop) -> None:
    steps = ["vehicle load", "job load", *["choose"] * 2, *["reading"] * 5, "setup", "sign anyway", "sign"]
    # The log goes by the clock, which may step: the order of its entries is not asked.
    assert sorted(what for _, what, _ in entries(over, job_id="j1")) == sorted(steps)
    assert "part:speaker-1" not in {subject for _, _, subject in entries(over, job_id="j1")}


@pytest.mark.parametrize(("since", "count"), [("2020-01-02", 2), ("2999-01-01 10:00", 0)])
def test_the_log_from_a_moment_on(shop: Shop, since: str, count: int) -> None:
    assert len([what for _, what, _ in entries(shop, since=since) if what != "chain joined"]) == count


def test_a_moment_that_is_none(shop: Shop) -> None:
    with pytest.raises(InputError, match="2026-03-01"):
        shop.log(since="yesterday")


ALTERING: dict[str, Callable[[Shop, Path], object]] = {
    "terms": lambda shop, folder: shop.jobs.load(file(folder, "j.json", JOB)),
    "choice": lambda shop, folder: shop.choices.choose("j1", 1),
    "setup": lambda shop, folder: shop.choices.set_up("j1", values={"rest_ma": "3"}),
    "reading": lambda shop, folder: shop.readings.add("job:j1", "rest_ma", 3),
    "readings": lambda shop, folder: shop.readings.load(
        file(folder, "r.csv", "subject,field,value\njob:j1,rest_ma,3\n")
    ),
    "void": lambda shop, folder: shop.readings.void(
        next(one.reading_id for one in shop.readings.all() if one.subject == "job:j1"), note="wrong"
    ),
    "signature": lambda shop, folder: shop.choices.sign("j1", by="Bo"),
}


@pytest.mark.parametrize("alter", ALTERING.values(), ids=ALTERING)
def test_a_job_that_was_signed_off_stays_as_it_is(over: Shop, tmp_path: Path, alter: Any) -> None:
    before = over.jobs.export("j1")
    with pytest.raises(InputError) as refused:
        alter(over, tmp_path)
    assert "signed off by Ada Ulvo" in str(refused.value)
    assert "boltback job supersede j1 NEW" in str(refused.value)
    assert over.jobs.export("j1") == before


def test_asking_a_signed_job_again_leaves_it_as_it_is(over: Shop, tmp_path: Path) -> None:
    answered = over.jobs.get("j1").to_dict()["answered_on"]
    over.catalog.load(file(tmp_path, "f.csv", FILM.format("a")), family="film")
    over.options("j1")
    assert over.jobs.get("j1").to_dict()["answered_on"] == answered


def test_nobody_signs_without_a_name(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("BOLTBACK_BY")
    with pytest.raises(InputError, match="nobody is named"):
        shop.choices.sign("j1", by=None)


def test_another_job_takes_the_place_of_a_signed_one(over: Shop) -> None:
    over.jobs.supersede("j1", "j2", by="Cor")
    old, new = over.jobs.get("j1").to_dict(), over.jobs.get("j2").to_dict()
    assert (old["superseded_by"], old["signed"]["by"]) == (["j2"], "Ada Ulvo")
    assert (new["supersedes"], new["signed"], new["setup"]) == ("j1", None, None)
    assert over.choices.chosen("j2").package == over.choices.chosen("j1").package
    over.choices.choose("j2", 2)
    assert (over.choices.chosen("j1").rank, over.choices.chosen("j2").rank) == (1, 2)


@pytest.mark.parametrize(("new", "word"), [("j1", "already"), ("j2", "no job 'j0'")])
def test_a_job_that_cannot_take_the_place(shop: Shop, new: str, word: str) -> None:
    with pytest.raises(InputError, match=word):
        shop.jobs.supersede("j1" if new == "j1" else "j0", new)


def test_a_job_may_say_itself_what_it_takes_the_place_of(shop: Shop, tmp_path: Path) -> None:
    shop.jobs.load(file(tmp_path, "j2.json", JOB | {"job_id": "j2", "supersedes": "j1"}))
    assert shop.jobs.get("j1").to_dict()["superseded_by"] == ["j2"]
    with pytest.raises(InputError, match="another job of this store"):
        shop.jobs.load(file(tmp_path, "j3.json", JOB | {"job_id": "j3", "supersedes": "j9"}))


def test_a_whole_job_goes_round(over: Shop, whole: Row, stand: Stand, tmp_path: Path) -> None:
    there = Shop(stand(empty_store(tmp_path / "there.duckdb")))
    found = there.jobs.import_file(file(tmp_path, "whole.json", whole), by="Dag")
    assert (found.vehicle_is_new, found.parts_new, found.parts_kept) == (True, 4, 0)
    assert (found.readings, found.choices, found.setups) == (6, 2, 1)  # two of them written by signing: fitted
    assert there.jobs.export("j1") == whole
    assert there.choices.all("j1") == over.choices.all("j1")
    assert there.choices.setup_record("j1") == over.choices.setup_record("j1")
    assert there.jobs.get("j1").to_dict()["signed"]["by"] == "Ada Ulvo"
    assert there.catalog.part("speaker-1").figures["depth_mm"] == 59  # as it was measured
    changes = there.choices.changes("j1").changes
    assert {(one.what, one.name) for one in changes} == {("reading", "depth_mm")}


def test_equal_documents_do_not_conflict(whole: Row, stand: Stand, tmp_path: Path) -> None:
    there = Shop(stand(held(tmp_path / "there.duckdb", CAR, HEAD)))
    found = there.jobs.import_file(file(tmp_path, "whole.json", whole))
    assert (found.vehicle_is_new, found.parts_new, found.parts_kept) == (False, 3, 1)
    assert there.jobs.export("j1")["choices"] == whole["choices"]


CONFLICTS: dict[str, tuple[list[Row], str, str]] = {
    "a car with other figures": ([CAR | {"year": 1990}], "vehicle tern is here already", "vehicle.year"),
    "a part with another figure": ([SPEAKER | {"depth_mm": 61}], "parts of the job", "part:speaker-1.depth_mm"),
    "a part with another price": ([SPEAKER | {"price": 99}], "parts of the job", "part:speaker-1.price"),
    "a part of another family": ([HEAD | {"part_id": "speaker-1"}], "parts of the job", "part:speaker-1.part_id"),
}


@pytest.mark.parametrize(("things", "word", "place"), CONFLICTS.values(), ids=CONFLICTS)
def test_a_conflict_is_named_and_nothing_comes_in(
    whole: Row, stand: Stand, tmp_path: Path, things: list[Row], word: str, place: str
) -> None:
    there = Shop(stand(held(tmp_path / "there.duckdb", *things)))
    parts = [one.parts for one in there.catalog.holdings()]
    with pytest.raises(InputError) as refused:
        there.jobs.import_file(file(tmp_path, "whole.json", whole))
    assert word in str(refused.value)
    assert place in [one.column for one in refused.value.problems]
    assert there.jobs.all().to_dict()["jobs"] == []
    assert ([one.parts for one in there.catalog.holdings()], there.readings.all()) == (parts, [])


def test_a_part_that_is_here_may_stay_as_it_is(whole: Row, stand: Stand, tmp_path: Path) -> None:
    there = Shop(stand(held(tmp_path / "there.duckdb", SPEAKER | {"price": 99})))
    found = there.jobs.import_file(file(tmp_path, "whole.json", whole), keep_parts=True)
    assert (found.parts_new, found.parts_kept) == (3, 1)
    assert {(one.what, one.name) for one in there.choices.changes("j1").changes} >= {("price", "price")}


def test_a_reading_that_was_voided_comes_in_voided(shop: Shop, stand: Stand, tmp_path: Path) -> None:
    shop.choices.choose("j1", 1)
    shop.readings.add("opening:tern/door", "depth_mm", 16, sure=True)
    there = Shop(stand(empty_store(tmp_path / "there.duckdb")))
    there.jobs.import_file(file(tmp_path, "whole.json", shop.jobs.export("j1")))
    shop.readings.void(1, note="digits swapped", by="Ada")
    told = [(one.value, one.counts, one.voided) for one in shop.readings.all()]
    assert [value for value, *_ in told] == ["16"]
    another = Shop(stand(empty_store(tmp_path / "another.duckdb")))
    another.jobs.import_file(file(tmp_path, "voided.json", shop.jobs.export("j1")))
    assert [(one.value, one.counts, one.voided) for one in another.readings.all()] == told
    assert there.readings.all()[0].counts


def test_a_job_that_is_here_is_not_taken_in_again(shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is here already"):
        shop.jobs.import_file(file(tmp_path, "whole.json", shop.jobs.export("j1")))


def without(name: str) -> Callable[[Row], Row]:
    return lambda whole: {key: value for key, value in whole.items() if key != name}


SPOILED: dict[str, tuple[Callable[[Row], object], str]] = {
    "another kind": (lambda whole: whole | {"kind": "song"}, "no whole job"),
    "another edition": (lambda whole: whole | {"edition": 1}, "another program"),
    "a list": (lambda whole: [whole], "no whole job"),
    "no readings": (without("readings"), "readings"),
    "a reading of nothing": (lambda whole: whole | {"readings": [{}]}, "a list of readings"),
    "a reading of a strange field": (
        lambda whole: whole | {"readings": [whole["readings"][0] | {"field": "color"}]},
        "no field of",
    ),
    "a choice that is none": (lambda whole: whole | {"choices": [{"number": 1}]}, "no whole job"),
    "choices out of order": (lambda whole: whole | {"choices": whole["choices"][::-1]}, "numbered from 1"),
    "a choice of another job": (
        lambda whole: whole | {"choices": [whole["choices"][0] | {"job_id": "j9"}]},
        "at odds with itself",
    ),
    "a part of no family": (lambda whole: whole | {"parts": [whole["parts"][0] | {"family": "boat"}]}, "parts"),
    "a part without a maker": (
        lambda whole: whole | {"parts": [whole["parts"][0] | {"row": {"part_id": "x"}}]},
        "maker",
    ),
    "a job of another car": (lambda whole: whole | {"job": whole["job"] | {"vehicle_id": "gull"}}, "gull"),
    "a signature of nobody": (lambda whole: whole | {"signature": {}}, "no whole job"),
    "a vehicle that is none": (lambda whole: whole | {"vehicle": []}, "a vehicle"),
}


@pytest.mark.parametrize(("spoil", "word"), SPOILED.values(), ids=SPOILED)
def test_a_file_that_is_no_whole_job(whole: Row, stand: Stand, tmp_path: Path, spoil: Any, word: str) -> None:
    there = Shop(stand(held(tmp_path / "there.duckdb")))
    with pytest.raises(InputError) as refused:
        there.jobs.import_file(file(tmp_path, "whole.json", spoil(whole)))
    assert word in str(refused.value)
    assert (there.jobs.all().to_dict()["jobs"], there.catalog.holdings()) == ([], [])


def test_a_withdrawn_part_goes_along_as_it_was_last_claimed(shop: Shop, stand: Stand, tmp_path: Path) -> None:
    shop.choices.choose("j1", 1)
    with shop.store.changing() as con:
        withdraw(con, "speaker", "speaker-1")
        lay_part(con, SPEAKER | {"part_id": "other"})
    there = Shop(stand(empty_store(tmp_path / "there.duckdb")))
    there.jobs.import_file(file(tmp_path, "whole.json", shop.jobs.export("j1")))
    assert there.catalog.part("speaker-1").figures["depth_mm"] == 60
