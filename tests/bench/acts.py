"""Every command that writes: what is typed in a round of `sudden_death.py`, and whether it has happened."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import duckdb

from catalog_schema.parts import FAMILIES
from matcher import Shop
from matcher.store.sharing.snapshots import current_snapshot
from tests.choices.conftest import JOB, THINGS
from tests.factories import plain, store_file, vehicle
from tests.factories import speaker_opening as a_door

ROWS, BAD = 3_000, 5
"""Rows of the list that is loaded, and those of them that no film can have."""


class BrokenPromise(AssertionError):
    """Something that was answered is not there, or is there in part."""


@dataclass
class Bench:
    """The store that is killed at, and where its files lie."""

    folder: Path

    @property
    def store(self) -> Path:
        return self.folder / "shop.duckdb"

    @property
    def shop(self) -> Shop:
        return Shop(self.store)

    def file(self, name: str, document: Any) -> str:
        """A file to load."""
        path = self.folder / name
        path.write_text(document if isinstance(document, str) else json.dumps(document, default=plain), "utf-8")
        return str(path)

    def ask(self, sql: str, *values: object) -> tuple[Any, ...]:
        """The one row of a question."""
        with self.shop.store.reading() as con:
            (row,) = con.execute(sql, list(values)).fetchall()
        return tuple(row)

    def whole(self, *counts: tuple[int, int]) -> bool:
        """Whether all of something is there; each count is (found, expected), and none may differ from the others."""
        there = {found == expected for found, expected in counts}
        gone = all(found == 0 for found, _ in counts)
        if there != {True} and not gone:
            raise BrokenPromise(f"in part: {counts}")
        return there == {True}


@dataclass(frozen=True)
class Act:
    """One way to change the store: what is typed in a round, and whether it has happened."""

    name: str
    typed: Callable[[Bench, int], list[str]]
    happened: Callable[[Bench, int], bool]
    answer: str = ""
    """What it says once it is done, where that is no JSON."""

    def words(self, bench: Bench, n: int) -> list[str]:
        """All that is typed in a round."""
        typed = self.typed(bench, n)
        if self is DEMO:
            return typed
        return [*typed, "--store", str(bench.store), *([] if self.answer else ["--json"])]

    def has_answered(self, out: str, err: str) -> bool:
        """Whether it has said that it is done."""
        return self.answer in err + out if self.answer else out.endswith("}\n")


def count(bench: Bench, sql: str, *values: object) -> int:
    return int(bench.ask(f"select count(*) from {sql}", *values)[0])


def load(bench: Bench, n: int) -> list[str]:
    rows = (
        f"k{n}-{i},M,m{i},{'much' if i < BAD else '9.50'},{1 + i % 69}{' %' if i % 9 == 0 else ''}" for i in range(ROWS)
    )
    return [
        "catalog",
        "load",
        bench.file(f"k{n}.csv", "part_id,maker,model,price,vlt_pct\n" + "\n".join(rows)),
        "--family",
        "film",
    ]


def loaded(bench: Bench, n: int) -> bool:
    return bench.whole(
        (count(bench, "film where starts_with(part_id, $1)", f"k{n}-"), ROWS - BAD),
        (count(bench, "load where list_contains(files, $1)", str(bench.folder / f"k{n}.csv")), 1),
        (count(bench, "problem where file = $1", str(bench.folder / f"k{n}.csv")), BAD),
    )


def read(bench: Bench, n: int) -> list[str]:
    return ["reading", "add", "part:speaker-1", "xmax_mm", str(_travel_mm(n)), "--note", f"k{n}"]


def _travel_mm(n: int) -> Decimal:
    """A usual peak travel, another one in each of 2,000 rounds."""
    return 1 + Decimal(n) / 100


def was_read(bench: Bench, n: int) -> bool:
    noted = count(bench, "reading where note = $1", f"k{n}")
    laid = count(bench, "speaker where part_id = 'speaker-1' and xmax_mm = $1", _travel_mm(n))
    return bench.whole((noted, 1), (laid, 1))


def read_list(bench: Bench, n: int) -> list[str]:
    rows = [f"opening:tern/door,{name},{_room_mm(n)}" for name in ("depth_mm", "front_mm", "beside_mm")]
    return ["reading", "load", bench.file(f"r{n}.csv", "subject,field,value\n" + "\n".join(rows) + "\n")]


def _room_mm(n: int) -> Decimal:
    """A usual room, another one in each of 2,000 rounds."""
    return 100 + Decimal(n) / 20


def list_was_read(bench: Bench, n: int) -> bool:
    noted = count(bench, "reading where subject = 'opening:tern/door' and value = $1", str(_room_mm(n)))
    laid = count(bench, "opening_speaker where depth_mm = $1 and front_mm = $1 and beside_mm = $1", _room_mm(n))
    return bench.whole((noted, 3), (laid, 1))


def fit_before(bench: Bench, n: int) -> list[str]:
    return ["reading", "fitted", "speaker-1", "tern/door", "--by", f"fitter{n}"]


def was_fitted(bench: Bench, n: int) -> bool:
    return bench.whole((count(bench, "reading where by_whom = $1", f"fitter{n}"), 1))


def void(bench: Bench, n: int) -> list[str]:
    wrong = bench.shop.readings.add("part:head_unit-1", "preout_v", _travel_mm(n), note=f"void{n}")
    return ["reading", "void", str(wrong.reading_id), "--note", f"void{n}"]


def was_voided(bench: Bench, n: int) -> bool:
    laid = count(bench, "head_unit where part_id = 'head_unit-1' and preout_v = $1", _travel_mm(n))
    return bench.whole((count(bench, "voided_reading where note = $1", f"void{n}"), 1), (1 - laid, 1))


def vehicles(bench: Bench, n: int) -> list[str]:
    cars = [vehicle(a_door(), vehicle_id=f"car{n}-{one}") for one in "ab"]
    return ["vehicle", "load", *(bench.file(f"car{n}{i}.json", car) for i, car in enumerate(cars))]


def vehicles_there(bench: Bench, n: int) -> bool:
    tables = ("vehicle", "opening_speaker")
    held = [(count(bench, f"{table} where starts_with(vehicle_id, $1)", f"car{n}-"), 2) for table in tables]
    return bench.whole(*held, (count(bench, "event where starts_with(subject, $1)", f"vehicle:car{n}-"), 2))


def take_job(bench: Bench, n: int) -> list[str]:
    return ["job", "load", bench.file(f"job{n}.json", JOB | {"job_id": f"job{n}"})]


def job_there(bench: Bench, n: int) -> bool:
    held = count(bench, "job where job_id = $1", f"job{n}")
    return bench.whole((held, 1), (count(bench, "event where what = 'job load' and subject = $1", f"job:job{n}"), 1))


def new_job(bench: Bench, n: int) -> list[str]:
    return ["job", "new", f"new{n}", "--vehicle", "tern", "--budget", str(100 + n)]


def edit_job(bench: Bench, n: int) -> list[str]:
    bench.shop.jobs.load(bench.file(f"edit{n}.json", JOB | {"job_id": f"edit{n}"}))
    return ["job", "edit", f"edit{n}", "--budget", str(100 + n)]


def is_on_terms(bench: Bench, n: int, name: str = "new") -> bool:
    values = f"{name}{n}", str(100 + n)
    held = count(bench, "job where job_id = $1 and document ->> '$.limits.budget' = $2", *values)
    told = "event where subject = 'job:' || $1 and what = 'job load' and document ->> '$.limits.budget' = $2"
    return bench.whole((held, 1), (count(bench, told, *values), 1))


def new_vehicle(bench: Bench, n: int) -> list[str]:
    return ["vehicle", "new", f"twin{n}", "--like", "tern"]


def is_taken_over(bench: Bench, n: int) -> bool:
    doors = count(bench, "opening_speaker where vehicle_id = $1 and basis = 'taken_over'", f"twin{n}")
    return bench.whole((doors, 1), (count(bench, "event where subject = $1", f"vehicle:twin{n}"), 1))


def put_away(bench: Bench, n: int) -> list[str]:
    _begin_job(bench, n)
    return ["archive", f"job:away{n}", "--note", f"away{n}"]


def is_away(bench: Bench, n: int) -> bool:
    return bench.whole((count(bench, "event where what = 'archive' and detail = $1", f"away{n}"), 1))


def bring_back(bench: Bench, n: int) -> list[str]:
    _begin_job(bench, n)
    bench.shop.archive.put_away(f"job:away{n}")
    return ["unarchive", f"job:away{n}"]


def is_back_again(bench: Bench, n: int) -> bool:
    return bench.whole((count(bench, "event where what = 'unarchive' and subject = $1", f"job:away{n}"), 1))


def delete(bench: Bench, n: int) -> list[str]:
    _begin_job(bench, n)
    return ["delete", f"job:away{n}"]


def is_deleted(bench: Bench, n: int) -> bool:
    told = count(bench, "event where what = 'delete' and subject = $1", f"job:away{n}")
    return bench.whole((1 - count(bench, "job where job_id = $1", f"away{n}"), 1), (told, 1))


def _begin_job(bench: Bench, n: int) -> None:
    bench.shop.jobs.save(JOB | {"job_id": f"away{n}"})


def bring_vehicle(bench: Bench, n: int) -> list[str]:
    return [
        "vehicle",
        "import",
        bench.file(f"measured{n}.json", bench.shop.vehicles.export("tern")),
        "--as",
        f"from{n}",
    ]


def attach_vehicles(bench: Bench, n: int) -> list[str]:
    other = Shop(bench.folder / f"other{n}.duckdb")
    other.vehicles.save(vehicle(a_door(), vehicle_id=f"from{n}"))
    other.sharing.publish(bench.folder / f"cars{n}")
    return ["vehicle", "attach", str(bench.folder / f"cars{n}")]


def is_from_there(bench: Bench, n: int) -> bool:
    doors = count(bench, "opening_speaker where vehicle_id = $1 and basis = 'taken_over'", f"from{n}")
    told = count(bench, "event where what = 'vehicle import' and subject = $1", f"vehicle:from{n}")
    return bench.whole((doors, 1), (told, 1))


def set_up_shop(bench: Bench, n: int) -> list[str]:
    return ["init", "--labour-rate", str(n + 1), "--shop-name", f"Shop {n}"]


def is_shop(bench: Bench, n: int) -> bool:
    rate = count(bench, "setting where name = 'labour_rate' and value = $1", n + 1)
    return bench.whole((rate, 1), (count(bench, "word_setting where word = $1", f"Shop {n}"), 1))


def setting(bench: Bench, n: int) -> list[str]:
    return ["settings", "labour_rate", str(n + 1)]


def is_set(bench: Bench, n: int) -> bool:
    held = count(bench, "setting where name = 'labour_rate' and value = $1", n + 1)
    told = count(bench, "event where what = 'setting' and starts_with(detail, $1)", f"{n + 1}")
    return bench.whole((held, 1), (told, 1))


def go_back(bench: Bench, n: int) -> list[str]:
    return ["catalog", "restore", "1", "--by", f"k{n}"]


def is_back(bench: Bench, n: int) -> bool:
    done = bench.whole((count(bench, "load where what = 'restore 1' and by_whom = $1", f"k{n}"), 1))
    if done and count(bench, "film"):
        raise BrokenPromise("the catalog is not that of version 1")
    return done


def choose(bench: Bench, n: int) -> list[str]:
    return ["choose", "j1", "1", "--by", f"k{n}"]


def is_chosen(bench: Bench, n: int) -> bool:
    return bench.whole((count(bench, "choice where by_whom = $1 and json_valid(document)", f"k{n}"), 1))


def set_up(bench: Bench, n: int) -> list[str]:
    return ["setup", "j1", "--drain", str(n + 1), "--by", f"k{n}"]


def is_set_up(bench: Bench, n: int) -> bool:
    made = count(bench, "setup where by_whom = $1 and json_valid(document)", f"k{n}")
    return bench.whole((made, 1), (count(bench, "reading where by_whom = $1", f"k{n}"), 1))


def sign(bench: Bench, n: int) -> list[str]:
    bench.shop.jobs.load(bench.file(f"sign{n}.json", JOB | {"job_id": f"sign{n}"}))
    return ["sign", f"sign{n}", "--by", f"k{n}", "--anyway", "--note", "nothing was chosen"]


def is_signed(bench: Bench, n: int) -> bool:
    signed = count(bench, "signature where job_id = $1", f"sign{n}")
    return bench.whole((signed, 1), (count(bench, "event where what = 'sign anyway' and by_whom = $1", f"k{n}"), 1))


def back_up(bench: Bench, n: int) -> list[str]:
    return ["store", "backup", str(bench.folder / f"copy{n}.duckdb")]


def is_backed_up(bench: Bench, n: int) -> bool:
    copy = bench.folder / f"copy{n}.duckdb"
    if copy.exists() and not Shop(copy).maintenance.check().sound:
        raise BrokenPromise("the copy is not sound")
    return copy.exists()


def index(bench: Bench, n: int) -> list[str]:
    with bench.shop.store.changing(own=True) as con:
        con.execute("delete from part_index")
    return ["store", "index"]


def is_indexed(bench: Bench, n: int) -> bool:
    return bench.whole((count(bench, "(select distinct family from part_index)"), len(FAMILIES)))


def take_back(bench: Bench, n: int) -> list[str]:
    copy = bench.shop.maintenance.back_up(bench.folder / f"back{n}.duckdb")
    Shop(copy).set("labour_rate", n + 1)
    return ["store", "restore", str(copy)]


def publish(bench: Bench, n: int) -> list[str]:
    return ["catalog", "publish", str(bench.folder / "hq"), "--keep", "2", "--by", f"k{n}"]


def is_published(bench: Bench, n: int) -> bool:
    if not (bench.folder / "hq" / "CURRENT").exists():
        return False
    snapshot = current_snapshot(bench.folder / "hq")
    snapshot.check()
    return snapshot.by == f"k{n}"


def attach(bench: Bench, n: int) -> list[str]:
    folder = bench.folder / f"hq{n}"
    if not folder.exists():
        refresh_list(bench, n, 2)
        Shop(bench.folder / f"chain{n}.duckdb").sharing.publish(folder)
    return ["catalog", "attach", str(folder)]


def is_attached(bench: Bench, n: int) -> bool:
    parts = count(bench, "film where starts_with(part_id, $1)", f"hq{n}-")
    told = count(bench, "event where what = 'catalog attached' and subject = $1", f"supplier:hq{n}")
    return bench.whole((parts, 2), (told, 1))


def supplier(bench: Bench, n: int) -> Shop:
    """A chain's shop that has published two films, and is attached."""
    chain, folder = Shop(bench.folder / f"chain{n}.duckdb"), bench.folder / f"hq{n}"
    if not folder.exists():
        refresh_list(bench, n, 2)
        chain.sharing.publish(folder)
        bench.shop.sharing.attach(folder)
    return chain


def refresh_list(bench: Bench, n: int, parts: int) -> None:
    """Give the chain so many films."""
    rows = "".join(f"hq{n}-{at},M,m,1,5\n" for at in range(parts))
    path = bench.file(f"chain{n}.csv", f"part_id,maker,model,price,vlt_pct\n{rows}")
    Shop(bench.folder / f"chain{n}.duckdb").catalog.load(path, family="film")


def refresh(bench: Bench, n: int) -> list[str]:
    chain = supplier(bench, n)
    refresh_list(bench, n, 5)
    chain.sharing.publish(bench.folder / f"hq{n}")
    return ["catalog", "refresh", f"hq{n}"]


def is_refreshed(bench: Bench, n: int) -> bool:
    parts = count(bench, "film where starts_with(part_id, $1)", f"hq{n}-")
    told = count(bench, "event where what = 'catalog refreshed' and subject = $1", f"supplier:hq{n}")
    return bench.whole((parts - 2, 3), (told, 1))


def detach(bench: Bench, n: int) -> list[str]:
    supplier(bench, n)
    return ["catalog", "detach", f"hq{n}"]


def is_detached(bench: Bench, n: int) -> bool:
    parts = count(bench, "film where starts_with(part_id, $1)", f"hq{n}-")
    told = count(bench, "event where what = 'catalog detached' and subject = $1", f"supplier:hq{n}")
    return bench.whole((2 - parts, 2), (told, 1))


def drop(bench: Bench, n: int) -> list[str]:
    path = bench.file(f"drop{n}.csv", f"part_id,maker,model,price,vlt_pct\ndrop{n},M,m,much,5\n")
    bench.shop.catalog.load(path, family="film")
    (number,) = bench.ask("select problem_id from problem where file = $1", path)
    return ["catalog", "problems", "--drop", str(number)]


def is_dropped(bench: Bench, n: int) -> bool:
    path = str(bench.folder / f"drop{n}.csv")
    number, mended = bench.ask("select problem_id, mended_in is not null from problem where file = $1", path)
    told = count(bench, "event where what = 'problems drop' and detail = $1", f"rows {number}")
    return bench.whole((int(mended), 1), (told, 1))


def give_prefix(bench: Bench, n: int) -> list[str]:
    with bench.shop.store.changing(own=True) as con:
        con.execute("insert or ignore into supplier values ($1, '')", [f"sup{n}"])
    return ["catalog", "supplier", f"sup{n}", "--prefix", f"S{n}-"]


def has_prefix(bench: Bench, n: int) -> bool:
    kept = count(bench, "supplier where name = $1 and id_prefix = $2", f"sup{n}", f"S{n}-")
    return bench.whole((kept, 1), (count(bench, "event where subject = $1", f"supplier:sup{n}"), 1))


def keep_emptied(bench: Bench, n: int) -> list[str]:
    for light in ("5", ""):
        rows = "".join(f"e{n}-{i},M,m,1,{light}\n" for i in range(3))
        path = bench.file(f"e{n}.csv", "part_id,maker,model,price,vlt_pct\n" + rows)
        bench.shop.catalog.load(path, family="film")
    return ["catalog", "keep-emptied"]


def is_kept(bench: Bench, n: int) -> bool:
    noted = count(bench, "reading where starts_with(subject, $1)", f"part:e{n}-")
    laid = count(bench, "film where starts_with(part_id, $1) and vlt_pct = 5", f"e{n}-")
    return bench.whole((noted, 3), (laid, 3))


def supersede(bench: Bench, n: int) -> list[str]:
    return ["job", "supersede", "j1", f"after{n}"]


def is_superseded(bench: Bench, n: int) -> bool:
    chosen = count(bench, "choice where job_id = $1 and json_valid(document)", f"after{n}")
    return bench.whole((count(bench, "job where job_id = $1", f"after{n}"), 1), (chosen, 1))


def bring_job(bench: Bench, n: int) -> list[str]:
    whole = (bench.folder / "whole.json").read_text("utf-8").replace('"j1"', f'"whole{n}"')
    return ["job", "import", bench.file(f"whole{n}.json", whole)]


def is_brought(bench: Bench, n: int) -> bool:
    chosen = count(bench, "choice where job_id = $1 and json_valid(document)", f"whole{n}")
    told = count(bench, "event where what = 'job import' and subject = $1", f"job:whole{n}")
    return bench.whole((count(bench, "job where job_id = $1", f"whole{n}"), 1), (chosen, 1), (told, 1))


@dataclass(frozen=True)
class Written:
    """An act whose outcome is files: each is whole, or is not there at all."""

    words: tuple[str, ...]
    name: str
    """What ``--out`` names."""
    files: tuple[str, ...] = ()
    """The files in a folder; none where a file is named."""

    def typed(self, bench: Bench, n: int) -> list[str]:
        words = [word.format(folder=bench.folder) for word in self.words]
        return [*words, "--out", str(self._place(bench, n))]

    def happened(self, bench: Bench, n: int) -> bool:
        place = self._place(bench, n)
        paths = [place / name for name in self.files] or [place]
        for path in paths:
            if path.exists() and not is_whole(path):
                raise BrokenPromise(f"{path.name} is there in part")
        return all(path.exists() for path in paths)

    def _place(self, bench: Bench, n: int) -> Path:
        return bench.folder / f"out{n}-{self.name}"


def is_whole(path: Path) -> bool:
    """Whether a file ends as one of its kind does."""
    if path.suffix == ".xlsx":
        with ZipFile(path) as book:
            return book.testzip() is None
    if path.suffix == ".parquet":
        return bool(duckdb.sql(f"select count(*) from '{path}'").fetchall())
    if path.suffix == ".json":
        return isinstance(json.loads(path.read_text("utf-8")), dict)
    ends = {".svg": "</svg>", ".html": "</html>", ".csv": ""}[path.suffix]
    return path.read_text("utf-8").rstrip().endswith(ends)


def written(name: str, *words: str, out: str, files: tuple[str, ...] = (), answer: str = "") -> Act:
    """An act that writes files."""
    one = Written((*name.split(), *words), out, files)
    return Act(name, one.typed, one.happened, answer)


def make_demo(bench: Bench, n: int) -> list[str]:
    return ["demo", str(bench.folder / f"demo{n}")]


def is_made(bench: Bench, n: int) -> bool:
    """What of the demo is there is sound: it is made in several changes, the papers last."""
    folder = bench.folder / f"demo{n}"
    for store in folder.glob("*.duckdb"):
        if not Shop(store).maintenance.check().sound:
            raise BrokenPromise("the demo's store is not sound")
    broken = [path.name for path in folder.glob("*.json") if not is_whole(path)]
    if broken:
        raise BrokenPromise(f"in part: {broken}")
    return bool(list(folder.glob("handover-owner-*.pdf")))


DEMO = Act("demo", make_demo, is_made, "boltback catalog problems")
"""Makes a store of its own and takes as long as thirty others: it is killed twice in a long run."""
DRAWN = ("tern-door-speaker-1-front.svg", "tern-door-speaker-1-section.svg")
ACTS = [
    Act("catalog load", load, loaded),
    Act("reading add", read, was_read),
    Act("reading load", read_list, list_was_read),
    Act("reading fitted", fit_before, was_fitted),
    Act("reading void", void, was_voided),
    Act("vehicle load", vehicles, vehicles_there),
    Act("job load", take_job, job_there),
    Act("job new", new_job, is_on_terms),
    Act("job edit", edit_job, partial(is_on_terms, name="edit")),
    Act("vehicle new", new_vehicle, is_taken_over),
    Act("vehicle import", bring_vehicle, is_from_there),
    Act("vehicle attach", attach_vehicles, is_from_there),
    Act("init", set_up_shop, is_shop),
    Act("archive", put_away, is_away),
    Act("unarchive", bring_back, is_back_again),
    Act("delete", delete, is_deleted),
    Act("settings", setting, is_set),
    Act("catalog restore", go_back, is_back),
    Act("choose", choose, is_chosen),
    Act("setup", set_up, is_set_up),
    Act("sign", sign, is_signed),
    Act("store backup", back_up, is_backed_up),
    Act("store index", index, is_indexed),
    Act("store restore", take_back, is_set),
    Act("catalog publish", publish, is_published),
    Act("catalog attach", attach, is_attached),
    Act("catalog refresh", refresh, is_refreshed),
    Act("catalog detach", detach, is_detached),
    Act("catalog problems", drop, is_dropped),
    Act("catalog supplier", give_prefix, has_prefix),
    Act("catalog keep-emptied", keep_emptied, is_kept),
    Act("job supersede", supersede, is_superseded),
    Act("job import", bring_job, is_brought),
    written("vehicle export", "tern", out="vehicle.json", answer="takes it into another store"),
    written("job export", "j1", out="job.json", answer="takes it into another store"),
    written("catalog map", "{folder}/map.csv", "--family", "film", out="map.json"),
    written("order", "j1", out="order.xlsx"),
    written("compare", "j1", "--top", "2", out="compare.csv"),
    written("draw", "tern/door", "--part", "speaker-1", out="drawn", files=DRAWN),
    written("paper", "j1", "fitting", "--format", "html", "--quick", out="paper", files=("fitting-j1.html",)),
    written("matrix", out="matrix", files=("places.parquet", "fits/p00000.parquet", "refused/p00000.parquet")),
]


def make_bench(folder: Path) -> Bench:
    """A store with a car, its parts, a job and a choice for it."""
    bench = Bench(folder)
    store_file(bench.store, *THINGS)
    with bench.shop.store.changing() as con:
        con.execute("insert into load (version, made_at, what) values (1, now(), 'load')")
        con.execute("update vehicle set vehicle_id = vehicle_id")
    bench.shop.jobs.load(bench.file("j1.json", JOB))
    bench.shop.choices.choose("j1", 1, by="Ada")
    bench.file("whole.json", bench.shop.jobs.export("j1"))
    bench.file("map.csv", "Part no;Maker;Model;Price;VLT %\n" + "".join(f"m{n};M;m{n};9,50;{n}\n" for n in range(70)))
    return bench
