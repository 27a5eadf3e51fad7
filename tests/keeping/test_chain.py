"""Counters of a chain: what one keeps all see, nothing is lost, and what the database itself refuses."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from catalog_schema.columns import columns_of
from catalog_schema.parts import FAMILIES
from catalog_schema.vehicles import OPENINGS, Electrical, Runs
from matcher import Shop
from matcher.errors import ChainGone, ChangedMeanwhile, FileRefused, InputError, StoreBusy, StoreFault
from matcher.store.chain.address import password_of, read_address
from matcher.store.chain.session import Session, gone
from matcher.store.chain.shared_tables import KEPT
from tests.factories import Row, job, plain, speaker, speaker_opening, store_file, vehicle
from tests.postgres import CERTIFICATE, Postgres, programs
from tests.soak import first


def load(shop: Shop, kind: str, document: dict[str, object]) -> None:
    path = shop.store.path.with_name(f"{kind}.json")
    path.write_text(json.dumps(document, default=plain), encoding="utf-8")
    getattr(shop, f"{kind}s").load(path)


@pytest.fixture
def address(lend: Callable[[], str]) -> str:
    """A database without anything in it."""
    return lend()


def held(path: Path, *things: Row) -> Shop:
    shop = Shop(store_file(path, *things))
    with shop.store.changing() as con:
        con.execute("insert into load (version, made_at, what) values (1, '2020-01-01', 'load')")
    return shop


@pytest.fixture(scope="module")
def one_speaker(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store by itself with a loudspeaker, to be copied."""
    return held(tmp_path_factory.mktemp("speaker") / "shop.duckdb", speaker()).store.path


@pytest.fixture
def counter(address: str, one_speaker: Path, tmp_path: Path) -> Callable[[str], Shop]:
    """A counter of the chain, by the name of its store; each has the same loudspeaker in its catalog."""

    def make(name: str) -> Shop:
        shop = Shop(shutil.copyfile(one_speaker, tmp_path / f"{name}.duckdb"))
        shop.sharing.join(address)
        return shop

    return make


@pytest.fixture
def two(counter: Callable[[str], Shop]) -> tuple[Shop, Shop]:
    """Two counters of a chain with a car and a job."""
    one, other = counter("one"), counter("other")
    load(one, "vehicle", vehicle(speaker_opening()))
    load(one, "job", job(choose=["door"]))
    return one, other


def test_a_change_at_one_counter_is_seen_at_the_other(two: tuple[Shop, Shop]) -> None:
    one, other = two
    other.readings.add("part:speaker-1", "depth_mm", 72, by="Ada")
    other.set("labour_rate", 50)
    other.set("units", "in")
    assert one.fit("speaker-1", "tern/door").verdict == "no"
    assert (one.settings()["labour_rate"], one.settings().word("units")) == (50, "in")
    one.options("j1", top=1)
    assert other.jobs.get("j1").to_dict() == one.jobs.get("j1").to_dict()
    link = one.page.add_link("j1", "options", "<p>seen</p>", days=3)
    assert (seen := other.page.open_link(link)) and seen.page == "<p>seen</p>"
    assert other.page.ask(link, "Is it loud?")
    one.page.answer("j1", "Yes.", by="Ada")
    assert [(note.kind, note.text) for note in other.page.notes("j1")] == [
        ("question", "Is it loud?"),
        ("answer", "Yes."),
    ]
    other.page.revoke_link(other.page.links("j1")[0].name)
    assert one.page.open_link(link) is None
    assert one.log("j1").entries == other.log("j1").entries
    one.choices.sign("j1", by="Ada", anyway=True, note="tried")
    with pytest.raises(InputError, match="signed off by Ada"):
        load(other, "job", job(keep=["door"]))
    assert one.maintenance.check().problems == other.maintenance.check().problems == []


def test_tolerances_are_the_same_at_every_counter(two: tuple[Shop, Shop], counter: Callable[[str], Shop]) -> None:
    one, other = two
    load(one, "vehicle", vehicle(speaker_opening(depth_mm={"value": 70, "basis": "caliper"})))
    one.readings.add("part:speaker-1", "depth_mm", 58, basis="caliper")
    other.set("tolerance_mm.caliper", 2)
    tols = {
        check.tol
        for shop in (one, other, counter("late"))
        for check in shop.fit("speaker-1", "tern/door").checks
        if check.rule == "speaker.depth"
    }
    assert tols == {4}


def test_a_stale_document_is_refused_at_another_counter(two: tuple[Shop, Shop]) -> None:
    one, other = two
    seen, also = one.jobs.document("j1"), other.jobs.document("j1")
    one.jobs.save(seen.document | {"notes": "mine"}, seen.mark)
    with pytest.raises(ChangedMeanwhile):
        other.jobs.save(also.document | {"notes": "theirs"}, also.mark)
    assert other.jobs.document("j1").document["notes"] == "mine"


def test_the_clock_of_the_chain_counts(two: tuple[Shop, Shop], monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two readings the later one counts, however late a counter's own clock is."""
    one, other = two
    with one.store.changing() as con:
        ((first, own),) = con.execute("select now(), get_current_timestamp()").fetchall()
    time.sleep(0.01)
    with other.store.changing() as con:
        ((second,),) = con.execute("select now()").fetchall()
    assert first < second
    assert abs((first - own).total_seconds()) < 60


WRITER = """
import sys
from pathlib import Path
from matcher import Shop
shop = Shop(sys.argv[1])
for number in range(int(sys.argv[2])):
    kept = shop.readings.add("part:speaker-1", "depth_mm", 50 + number, note=f"{shop.store.path.stem} {number}")
    print(kept.reading_id, kept.note, flush=True)
"""


def test_many_counters_write_at_once_and_nothing_is_lost(counter: Callable[[str], Shop], address: str) -> None:
    counters, each = [counter(f"c{number}") for number in range(3)], 8
    runs = [
        subprocess.Popen([sys.executable, "-c", WRITER, one.store.path, str(each)], stdout=subprocess.PIPE, text=True)
        for one in counters
    ]
    told = {line for run in runs for line in run.communicate(timeout=300)[0].splitlines()}
    assert [run.returncode for run in runs] == [0] * len(runs)
    assert len(told) == len(counters) * each
    for one in counters:
        readings = one.readings.all()
        assert {f"{reading.reading_id} {reading.note}" for reading in readings} == told
        assert readings == sorted(readings, key=lambda reading: reading.read_at)
        assert one.maintenance.check().sound


def test_a_server_with_other_habits_makes_no_difference(
    counter: Callable[[str], Shop], postgres: Postgres, address: str
) -> None:
    name = read_address(address).database
    habit = "alter database {} {} default_transaction_isolation{}"
    postgres.run(habit.format(name, "set", " = 'serializable'"))
    try:
        one, other = counter("one"), counter("other")
        threads = [
            threading.Thread(target=shop.readings.add, args=["part:speaker-1", "depth_mm", 50 + number])
            for number in range(3)
            for shop in (one, other)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(one.readings.all()) == len(other.readings.all()) == 6
    finally:
        postgres.run(habit.format(name, "reset", ""))


def test_a_writer_that_is_killed_leaves_the_chain_whole(
    counter: Callable[[str], Shop], postgres: Postgres, address: str
) -> None:
    watching, dying = counter("watching"), counter("dying")
    told: set[str] = set()
    for round_ in range(4):
        run = subprocess.Popen(
            [sys.executable, "-c", WRITER, dying.store.path, "1000"], stdout=subprocess.PIPE, text=True
        )
        assert run.stdout is not None
        told.add(run.stdout.readline().strip())
        time.sleep(0.05 * round_)
        run.send_signal(signal.SIGKILL)
        told |= {line for line in run.communicate()[0].splitlines(keepends=True) if line.endswith("\n")}
        held = {f"{one.reading_id} {one.note}" for one in watching.readings.all()}
        assert {line.strip() for line in told} <= held, "what was answered is kept"
        assert held == {f"{one.reading_id} {one.note}" for one in dying.readings.all()}
    turns = postgres.run("select count(*), max(number) from boltback.turn", address=address)
    assert turns == [(len(watching.readings.all()), len(watching.readings.all()))], (
        "a turn for each change, and none without"
    )
    assert watching.maintenance.check().problems == dying.maintenance.check().problems == []


def test_a_reading_voided_at_one_counter_counts_at_none(two: tuple[Shop, Shop]) -> None:
    one, other = two
    for subject in ("part:speaker-1", "opening:tern/door"):
        before = one.fit("speaker-1", "tern/door")
        reading = one.readings.add(subject, "depth_mm", 35)
        assert other.fit("speaker-1", "tern/door") == one.fit("speaker-1", "tern/door") != before
        other.readings.void(reading.reading_id, note="of another", by="Bo")
        assert one.fit("speaker-1", "tern/door") == other.fit("speaker-1", "tern/door") == before
    assert [reading.voided and reading.voided.note for reading in one.readings.all()] == ["of another", "of another"]
    assert one.maintenance.check().problems == other.maintenance.check().problems == []


def test_a_change_that_fails_is_nowhere(two: tuple[Shop, Shop], postgres: Postgres, address: str) -> None:
    one, other = two
    before = postgres.run("select max(number) from boltback.turn", address=address)
    with pytest.raises(ZeroDivisionError), one.store.changing() as con:
        con.execute("insert into reading (subject, field, value, read_at) values ('part:x', 'y', 'z', now())")
        raise ZeroDivisionError
    assert (one.readings.all(), other.readings.all()) == ([], [])
    assert postgres.run("select max(number) from boltback.turn", address=address) == before


def test_a_file_that_did_not_take_its_own_change_takes_it_from_the_chain(
    two: tuple[Shop, Shop], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever dies between the chain's last word and the file's has kept the change."""
    one, other = two
    monkeypatch.setattr(one.store, "_commit", lambda con, kept_in_chain: con.execute("rollback"))
    one.readings.add("part:speaker-1", "depth_mm", 58)
    monkeypatch.undo()
    assert one.readings.all() == other.readings.all() != []
    assert one.maintenance.check().sound


CUT = (
    "select pg_terminate_backend(pid) from pg_stat_activity "
    "where application_name = 'boltback' and pid <> pg_backend_pid()"
)
"""Cuts every connection but the one that says it."""

REFUSED_BY_THE_DATABASE = [
    "delete from boltback.reading",
    "update boltback.reading set value = '1'",
    "truncate boltback.reading",
    "update boltback.event set by_whom = 'nobody'",
    "delete from boltback.event",
    "delete from boltback.job",
    "update boltback.turn set counter = 'other'",
    "truncate boltback.turn cascade",
    "delete from boltback.chain",
    "update boltback.signature set by_whom = 'Bo'",
    "update boltback.job set document = '{}' where job_id = 'j1'",
    "insert into boltback.choice values ('j1', 1, now(), 'Bo', 1, 1, '{}')",
    "insert into boltback.setup values ('j1', 1, now(), 'Bo', '{}')",
    "insert into boltback.reading values (9, 'job:j1', 'rest_ma', '3', null, 'measured', 'Bo', now())",
]


def test_the_database_itself_refuses(two: tuple[Shop, Shop], postgres: Postgres, address: str) -> None:
    one, _ = two
    one.readings.add("opening:tern/door", "depth_mm", 71)
    one.choices.sign("j1", by="Ada", anyway=True, note="tried")
    for statement in REFUSED_BY_THE_DATABASE:
        with pytest.raises(InputError, match="the chain's database refuses it"):
            postgres.run(statement, address=address)
    assert one.maintenance.check().sound


def test_a_row_written_by_hand_is_a_turn(two: tuple[Shop, Shop], postgres: Postgres, address: str) -> None:
    one, other = two
    postgres.run("insert into boltback.setting values ('labour_rate', 70)", address=address)
    assert (one.settings()["labour_rate"], other.settings()["labour_rate"]) == (70, 70)
    found = postgres.run("select counter, by_whom from boltback.turn order by number desc limit 1", address=address)
    assert found == [("by hand", "owner")]


def test_the_counters_need_no_more_than_to_ask_and_write(
    two: tuple[Shop, Shop], postgres: Postgres, address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    postgres.run("create role counters login password 'theirs'", address=address)
    grants = ["usage on schema boltback", "select, insert, update on all tables in schema boltback"]
    monkeypatch.setenv("PGPASSWORD", "theirs")
    theirs = address.replace("owner@", "counters@")
    third = Shop(tmp_path / "third.duckdb")
    with pytest.raises(InputError, match="does not allow it to counters") as refused:
        third.sharing.join(theirs)
    assert "usage on schema boltback" in refused.value.fix
    monkeypatch.setenv("PGPASSWORD", "tests' own: no secret")
    postgres.run(*(f"grant {grant} to counters" for grant in grants), address=address)
    monkeypatch.setenv("PGPASSWORD", "theirs")
    third.sharing.join(theirs)
    third.readings.add("opening:tern/door", "depth_mm", 71)
    assert [reading.value for reading in two[0].readings.all()] == ["71"]


# Joining and leaving.


def test_a_store_brings_what_it_holds_and_nothing_twice(two: tuple[Shop, Shop], address: str, tmp_path: Path) -> None:
    one, _ = two
    own = held(tmp_path / "own.duckdb", speaker(), vehicle(speaker_opening(), vehicle_id="gull"))
    load(own, "job", job(job_id="g1", vehicle_id="gull", choose=["door"]))
    own.readings.add("opening:gull/door", "depth_mm", 66, by="Ada")
    own.choices.sign("g1", by="Ada", anyway=True, note="tried")
    before = own.log("g1").entries
    done = own.sharing.join(address)
    assert {name: done.moved[name] for name in ("vehicle", "job", "reading", "signature")} == dict.fromkeys(
        ("vehicle", "job", "reading", "signature"), 1
    )
    assert one.log("g1").entries == own.log("g1").entries == before
    assert own.jobs.all().to_dict() == one.jobs.all().to_dict()
    assert own.sharing.join(address).moved == {}
    own.sharing.leave()
    assert own.sharing.join(address).moved == {}
    assert own.maintenance.check().problems == one.maintenance.check().problems == []


MOVER = """
import sys
import pg8000.native
import matcher.store.chain.join
from matcher import Shop
shop = Shop(sys.argv[1])
print("ready", flush=True)
shop.sharing.join(sys.argv[2]) if len(sys.argv) > 2 else shop.sharing.leave()
"""


def moved_and_killed(shop: Shop, *address: str, after_s: float) -> None:
    """Join a chain, or leave one, in a process that is killed in the midst of it, or has just ended."""
    run = subprocess.Popen(
        [sys.executable, "-c", MOVER, shop.store.path, *address], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    assert run.stdout is not None
    run.stdout.readline()
    time.sleep(after_s)
    run.send_signal(signal.SIGKILL)
    run.communicate()


@pytest.mark.parametrize("rounds", first(1, [4, 8]))
def test_a_kill_while_joining_or_leaving_loses_nothing(
    two: tuple[Shop, Shop], address: str, tmp_path: Path, rounds: int
) -> None:
    one, _ = two
    own = held(tmp_path / "own.duckdb", speaker(), vehicle(speaker_opening(), vehicle_id="gull"))
    load(own, "job", job(job_id="g1", vehicle_id="gull", choose=["door"]))
    own.readings.add("opening:gull/door", "depth_mm", 66, by="Ada")
    log = own.log("g1").entries
    for round_ in range(rounds):
        moved_and_killed(own, address, after_s=0.16 * round_ / rounds)
        found = own.maintenance.check()
        assert (found.problems, found.chain) in (([], None), ([], address))
        assert (own.log("g1").entries, one.maintenance.check().problems) == (log, [])
    own.sharing.join(address)
    assert one.log("g1").entries == own.log("g1").entries == log
    for round_ in range(rounds - 1):
        moved_and_killed(own, after_s=0.16 * round_ / rounds)
        assert (own.maintenance.check().problems, own.log("g1").entries) == ([], log)
        own.sharing.join(address)
    assert len(one.readings.all()) == len(own.readings.all()) == 1


CONFLICTS: dict[str, tuple[Callable[[Shop], object], str]] = {
    "a car with another figure": (
        lambda own: load(own, "vehicle", vehicle(speaker_opening(depth_mm=71))),
        "vehicle tern",
    ),
    "a job with other terms": (
        lambda own: (load(own, "vehicle", vehicle(speaker_opening())), load(own, "job", job(keep=["door"]))),
        "job j1",
    ),
    "a setting of its own": (lambda own: own.set("labour_rate", 50), "setting labour_rate"),
}


@pytest.mark.parametrize(("differ", "place"), CONFLICTS.values(), ids=CONFLICTS)
def test_a_store_that_says_otherwise_does_not_come_in(
    two: tuple[Shop, Shop], address: str, tmp_path: Path, differ: Callable[[Shop], object], place: str
) -> None:
    one, _ = two
    own = held(tmp_path / "own.duckdb", speaker())
    differ(own)
    before = own.maintenance.check().rows
    with pytest.raises(FileRefused) as refused:
        own.sharing.join(address)
    assert [one.file for one in refused.value.problems] == [place]
    assert all(one.fix for one in refused.value.problems)
    assert (own.maintenance.check().rows, own.maintenance.check().chain) == (before, None)
    assert one.maintenance.check().sound


def test_a_counter_that_leaves_has_everything_and_goes_its_own_way(two: tuple[Shop, Shop], tmp_path: Path) -> None:
    one, other = two
    one.sharing.publish(tmp_path / "published")
    one.sharing.attach(tmp_path / "published", "chain")
    one.readings.add("part:speaker-1", "depth_mm", 58)
    other.readings.all()
    assert "chain" in {found.supplier for found in one.sharing.attached()}
    one.sharing.leave()
    one.readings.add("part:speaker-1", "depth_mm", 59)
    one.set("labour_rate", 60)
    one.sharing.detach("chain")
    assert [reading.reading_id for reading in one.readings.all()] == [1, 2]
    assert one.sharing.attached() == []
    assert (len(other.readings.all()), other.settings()["labour_rate"]) == (1, 0)
    assert one.maintenance.check().problems == other.maintenance.check().problems == []
    with pytest.raises(InputError, match="stands in no chain"):
        one.sharing.leave()


def test_a_counter_that_comes_back_brings_its_changes(two: tuple[Shop, Shop], address: str) -> None:
    one, other = two
    assert other.sharing.leave().unknown == ""
    other.readings.add("part:speaker-1", "depth_mm", 58)
    load(other, "job", job(job_id="j2", choose=["door"]))
    other.choices.sign("j1", by="Ada", anyway=True, note="tried")
    one.readings.add("part:speaker-1", "depth_mm", 57)
    done = other.sharing.join(address)
    assert {name: count for name, count in done.moved.items() if name != "event"} == {
        "job": 1,
        "reading": 1,
        "signature": 1,
    }
    assert [reading.value for reading in one.readings.all()] == ["57", "58"]
    assert one.catalog.part("speaker-1").figures["depth_mm"] == 57  # it was read later
    assert one.jobs.get("j1").to_dict()["signed"]["by"] == "Ada"
    assert one.maintenance.check().problems == other.maintenance.check().problems == []


def test_each_counter_has_its_own_catalog(two: tuple[Shop, Shop], tmp_path: Path) -> None:
    one, other = two
    (tmp_path / "films.csv").write_text("part_id,maker,model,price,vlt_pct\nF1,M,m,1,5\n", encoding="utf-8")
    before = [entry for entry in other.log().entries if entry.subject == "catalog"]
    own = one.catalog.load(tmp_path / "films.csv", family="film")
    other.readings.add("part:speaker-1", "depth_mm", 58)
    assert (own.new, len(one.readings.all())) == (1, 1)
    assert [entry for entry in other.log().entries if entry.subject == "catalog"] == before
    for _ in range(3):  # what is supposed has numbers of its own, beyond those that came from elsewhere
        other.measure("j1")
    assert one.maintenance.check().problems == other.maintenance.check().problems == []


def test_counters_number_the_catalog_as_it_was_published(two: tuple[Shop, Shop], tmp_path: Path) -> None:
    one, other = two
    office = held(tmp_path / "office.duckdb", speaker(part_id="s2"))
    for _ in range(3):
        office.sharing.publish(tmp_path / "published")
    one.sharing.attach(tmp_path / "published")
    with office.store.changing() as con:
        con.execute("update speaker_rows set price = 90")
    office.sharing.publish(tmp_path / "published")
    one.sharing.refresh()
    other.sharing.attach(tmp_path / "published")
    assert (one.options("j1").catalog_version, other.options("j1").catalog_version) == (4, 4)


def test_a_chain_that_was_taken_back_takes_its_counters_back(
    two: tuple[Shop, Shop], postgres: Postgres, address: str, tmp_path: Path
) -> None:
    """From a dump of before, with other changes since: as many turns, and not the same ones."""
    one, other = two
    one.choices.sign("j1", by="Ada", anyway=True, note="tried")
    folder, dump, name = programs(), tmp_path / "chain.dump", read_address(address).database
    assert folder is not None
    subprocess.run([folder / "pg_dump", "-Fc", "-f", dump, address], check=True)
    one.readings.add("part:speaker-1", "depth_mm", 58)
    load(one, "vehicle", vehicle(speaker_opening(), vehicle_id="gull"))
    other.readings.all()
    postgres.run(CUT, f"drop database {name}", f"create database {name}")
    subprocess.run([folder / "pg_restore", "-d", address, dump], check=True)
    other.set("labour_rate", 50)
    other.set("labour_rate", 60)
    assert (one.readings.all(), one.settings()["labour_rate"]) == ([], 60)
    assert one.catalog.part("speaker-1").figures["depth_mm"] == 60
    assert [car["vehicle_id"] for car in one.vehicles.all().to_dict()["vehicles"]] == ["tern"]
    assert one.maintenance.check().problems == other.maintenance.check().problems == []
    with pytest.raises(InputError, match="signed off by Ada"):
        one.choices.choose("j1", 1)


OWN = {
    "meta",
    "load",
    "problem",
    "problem_outcome",
    "mended_row",
    "list_map",
    "supplier",
    "supplier_list",
    "supplier_terms",
    "page_note",
    "part_index",
}
OWN |= {"chain", "part"}
"""What each store has for itself: its catalog's lists, versions and rows, its suppliers, and what its page keeps."""
LAID_OUT = {"keep_clear", "pane", "no_fasten"}
"""What a store makes of a vehicle's document, its openings beside."""


def test_every_table_is_the_chains_or_the_stores_own(two: tuple[Shop, Shop], postgres: Postgres, address: str) -> None:
    """Whoever adds a table, or a column, says whose it is."""
    with two[0].store.reading() as con:
        query = "select table_name, column_name from duckdb_columns() where not internal and schema_name = 'main'"
        columns = set(con.execute(query).fetchall())
    query = "select table_name, column_name from information_schema.columns where table_schema = 'boltback'"
    theirs = {(table, column) for table, column in postgres.run(query, address=address) if column != "turn"}
    told = {(kept.name, column) for kept in KEPT for column in kept.columns}
    assert {column for column in theirs if column[0] not in ("chain", "turn")} == told
    families = {f"{family}{part}" for family in FAMILIES for part in ("", "_rows", "_patched")}
    own = OWN | LAID_OUT | families | {f"opening_{kind}" for kind in OPENINGS}
    assert {table for table, _ in columns} == own | {kept.name for kept in KEPT}
    supply = [
        name for column in (*columns_of(Electrical), *columns_of(Runs)) for name in (column.name, column.tol_name)
    ]
    made_of = {("vehicle", name) for name in ("label", "year", "body", "keys_on_wheel", *supply)}
    assert {column for column in columns if column[0] not in own} - made_of == told


FAULTS = {
    "a row of the file's alone": ("insert into setting values ('labour_rate', 9)", "setting labour_rate"),
    "a row lost": ("delete from signature", "signature j1"),
    "a row otherwise": ("update job set answered_on = 7", "job j1"),
}


@pytest.mark.parametrize(("sql", "place"), FAULTS.values(), ids=FAULTS)
def test_a_file_that_says_otherwise_than_its_chain(two: tuple[Shop, Shop], address: str, sql: str, place: str) -> None:
    one, _ = two
    one.choices.sign("j1", by="Ada", anyway=True, note="tried")
    with one.store.changing_alone() as con:
        con.execute(sql)
    found = one.maintenance.check()
    assert (found.chain, [fault.file for fault in found.problems]) == (address, [place])
    assert f"boltback store join {address}" in found.problems[0].fix
    one.sharing.join(address)
    assert one.maintenance.check().sound


def test_a_guard_that_somebody_took_off_is_told(two: tuple[Shop, Shop], postgres: Postgres, address: str) -> None:
    postgres.run("alter table boltback.job disable trigger signed", address=address)
    (found,) = two[0].maintenance.check().problems
    assert (found.file, "enable trigger signed" in found.fix) == ("the chain's job", True)


# What a server does to its counters.


def test_a_server_that_is_gone_is_told(two: tuple[Shop, Shop], postgres: Postgres, address: str) -> None:
    one, _ = two
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        nowhere = address.replace(str(postgres.port), str(held.getsockname()[1]))
        with one.store.changing_alone() as con:
            con.execute("update chain set address = ?", [nowhere])
        for use in (one.readings.all, lambda: one.set("labour_rate", 50)):
            with pytest.raises(ChainGone, match="does not answer") as told:
                use()
            assert nowhere in str(told.value) and told.value.fix
    left = one.sharing.leave()
    assert (left.address, "does not answer" in left.unknown) == (nowhere, True)
    assert one.jobs.get("j1").to_dict()["job_id"] == "j1"


def test_a_connection_that_was_cut_is_opened_again(two: tuple[Shop, Shop], postgres: Postgres) -> None:
    one, _ = two
    one.readings.all()
    postgres.run(CUT)
    assert one.readings.all() == []
    one.set("labour_rate", 50)


def test_a_connection_that_is_cut_in_a_change_leaves_nothing(two: tuple[Shop, Shop], postgres: Postgres) -> None:
    one, other = two
    with pytest.raises(ChainGone), one.store.changing() as con:
        con.execute("insert into setting values ('labour_rate', 50)")
        postgres.run(CUT)
    assert (one.settings()["labour_rate"], other.settings()["labour_rate"]) == (0, 0)


def test_a_last_word_that_was_heard_counts_though_no_answer_came(
    two: tuple[Shop, Shop], monkeypatch: pytest.MonkeyPatch
) -> None:
    one, other = two
    ask = Session.ask

    def cut_off(self: Session, sql: str, **values: object) -> list[tuple[object, ...]]:
        rows = ask(self, sql, **values)
        if sql == "commit":
            self.whole = False
            raise gone(self.address, "cut off")
        return rows

    monkeypatch.setattr(Session, "ask", cut_off)
    one.set("labour_rate", 50)
    monkeypatch.undo()
    assert (one.settings()["labour_rate"], other.settings()["labour_rate"]) == (50, 50)
    assert one.maintenance.check().sound


def test_a_change_waits_for_its_turn_and_then_says_so(two: tuple[Shop, Shop], monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = two
    monkeypatch.setattr("matcher.store.chain.session.TURN_S", 0.2)
    other.store = type(other.store)(other.store.path)  # with a connection that knows of it
    with one.store.changing():
        with pytest.raises(StoreBusy, match="another counter"):
            other.set("labour_rate", 50)
        assert other.settings()["labour_rate"] == 0  # who asks waits for nobody
    other.set("labour_rate", 50)


def test_the_threads_of_a_page_share_a_store_in_a_chain(two: tuple[Shop, Shop]) -> None:
    one, other = two
    failed: list[Exception] = []

    def work(number: int) -> None:
        try:
            for each in range(4):
                one.readings.add("part:speaker-1", "depth_mm", 50, note=f"{number} {each}")
                one.fit("speaker-1", "tern/door")
        except Exception as error:
            failed.append(error)

    threads = [threading.Thread(target=work, args=[number]) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert len({reading.note for reading in other.readings.all()}) == 16


REFUSED: dict[str, tuple[Callable[[str], str], str]] = {
    "a password in it": (lambda address: address.replace("owner@", "owner:secret@"), "holds no password"),
    "no scheme": (lambda address: "127.0.0.1/chain", "postgresql://USER@HOST/DATABASE"),
    "no user": (lambda address: "postgresql://127.0.0.1/chain", "postgresql://USER@HOST/DATABASE"),
    "no database": (lambda address: "postgresql://me@127.0.0.1", "postgresql://USER@HOST/DATABASE"),
    "a port that is none": (lambda address: "postgresql://me@127.0.0.1:x/chain", "postgresql://USER@HOST/DATABASE"),
    "another option": (lambda address: f"{address}?options=-c", "sslmode and sslrootcert alone"),
    "another sslmode": (lambda address: f"{address}?sslmode=maybe", "disable, require, verify-full"),
    "another database": (lambda address: f"{address}x", "there is no database"),
    "another user": (lambda address: address.replace("owner@", "ghost@"), "does not let ghost in"),
}


@pytest.mark.parametrize(("spoil", "word"), REFUSED.values(), ids=REFUSED)
def test_an_address_that_leads_nowhere(address: str, tmp_path: Path, spoil: Callable[[str], str], word: str) -> None:
    with pytest.raises(InputError, match=word) as refused:
        Shop(tmp_path / "shop.duckdb").sharing.join(spoil(address))
    assert "secret" not in str(refused.value)
    assert not (tmp_path / "shop.duckdb").exists()


def test_a_missing_password_is_reported_with_its_place(
    address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PGPASSWORD")
    monkeypatch.setenv("PGPASSFILE", str(tmp_path / "none"))
    with pytest.raises(InputError, match="does not let owner in") as refused:
        Shop(tmp_path / "shop.duckdb").sharing.join(address)
    assert ".pgpass" in refused.value.fix


TLS: list[tuple[str, str, str]] = [
    ("127.0.0.1", "sslmode=verify-full&sslrootcert={root}", ""),
    ("127.0.0.1", "sslmode=require", ""),
    ("127.0.0.1", "sslmode=verify-full", "is not known: self-signed certificate"),
    ("localhost", "sslmode=verify-full&sslrootcert={root}", "is not known: hostname mismatch"),
    ("127.0.0.1", "sslmode=verify-full&sslrootcert=/none", "sslrootcert /none cannot be read"),
]


@pytest.mark.parametrize(("host", "query", "word"), TLS)
def test_a_server_is_spoken_to_as_the_address_says(
    address: str, postgres: Postgres, tmp_path: Path, host: str, query: str, word: str
) -> None:
    shop = Shop(tmp_path / "shop.duckdb")
    asked = f"{address.replace('127.0.0.1', host)}?{query.format(root=postgres.folder / CERTIFICATE)}"
    if word:
        with pytest.raises((ChainGone, InputError), match=word):
            shop.sharing.join(asked)
        return
    shop.sharing.join(asked)
    query = "select ssl from pg_stat_ssl where pid = pg_backend_pid()"
    assert (postgres.run(query, address=asked), postgres.run(query)) == ([(True,)], [(False,)])
    assert shop.jobs.all().to_dict()["jobs"] == []


def test_a_server_that_speaks_no_tls_is_told_nothing(tmp_path: Path) -> None:
    said: list[bytes] = []
    with socket.create_server(("127.0.0.1", 0)) as held:

        def refuse() -> None:
            caller, _ = held.accept()
            with caller:
                said.append(caller.recv(8))
                caller.sendall(b"N")
                said.append(caller.recv(1))

        thread = threading.Thread(target=refuse)
        thread.start()
        with pytest.raises(ChainGone, match="server refuses ssl"):
            Shop(tmp_path / "shop.duckdb").sharing.join(
                f"postgresql://me@127.0.0.1:{held.getsockname()[1]}/x?sslmode=require"
            )
        thread.join()
    assert said == [bytes.fromhex("0000000804d2162f"), b""], "no more than whether it speaks TLS"


def test_a_chain_of_another_format_is_refused(
    two: tuple[Shop, Shop], postgres: Postgres, address: str, tmp_path: Path
) -> None:
    postgres.run("update boltback.chain set format = 99", address=address)
    with pytest.raises(StoreFault, match="format 99") as refused:
        Shop(tmp_path / "third.duckdb").sharing.join(address)
    assert "same version" in refused.value.fix


def test_another_chain_is_not_taken_for_ones_own(two: tuple[Shop, Shop], lend: Callable[[], str]) -> None:
    one, _ = two
    elsewhere = lend()
    with pytest.raises(InputError, match="another chain"):
        one.sharing.join(elsewhere)
    with one.store.changing_alone() as con:
        con.execute("update chain set address = ?", [elsewhere])
    with pytest.raises(StoreFault, match="another chain"):
        one.readings.all()


LINES = [
    ("db.example:5432:chain:counter:one", "one"),
    ("*:*:*:counter:two", "two"),
    ("# db.example:5432:chain:counter:no\n*:*:*:*:th\\:ree\\\\", "th:ree\\"),
    ("db.example:5433:chain:counter:no", None),
    ("half a line", None),
]


@pytest.mark.parametrize(("text", "word"), LINES)
def test_the_password_stands_where_other_programs_find_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, word: str | None
) -> None:
    path = tmp_path / "pgpass"
    path.write_text(text, encoding="utf-8")
    path.chmod(0o600)
    monkeypatch.delenv("PGPASSWORD", raising=False)
    monkeypatch.setenv("PGPASSFILE", str(path))
    address = read_address("postgresql://counter@db.example/chain")
    assert password_of(address) == word
    path.chmod(0o644)
    with pytest.raises(InputError, match="others may read it"):
        password_of(address)
    os.environ["PGPASSWORD"] = "told"
    assert password_of(address) == "told"
