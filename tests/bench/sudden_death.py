"""Every command that writes, and the page, killed at random moments; then the store is held to what was answered.

    python tests/bench/sudden_death.py --kills 200

Each round starts one command in a process of its own, ends it with SIGKILL at a moment drawn from the time that it
takes, and looks at what is left. What was answered is there, all of it; what was not is there as a whole or not at
all; the store opens, takes the same command again, and `store check` finds nothing. It ends with 1 where that failed.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


from matcher import Shop
from matcher.store.snapshots import current_snapshot
from tests.choices.conftest import JOB, SPEAKER, THINGS
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


def count(bench: Bench, sql: str, *values: object) -> int:
    return int(bench.ask(f"select count(*) from {sql}", *values)[0])


def load(bench: Bench, n: int) -> list[str]:
    rows = (
        f"k{n}-{i},M,m{i},{'much' if i < BAD else '9.50'},{i % 70}{' %' if i % 9 == 0 else ''}" for i in range(ROWS)
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
    return ["reading", "add", "part:speaker-1", "xmax_mm", str(n + 1), "--note", f"k{n}"]


def was_read(bench: Bench, n: int) -> bool:
    noted = count(bench, "reading where note = $1", f"k{n}")
    laid = count(bench, "speaker where part_id = 'speaker-1' and xmax_mm = $1", n + 1)
    return bench.whole((noted, 1), (laid, 1))


def read_list(bench: Bench, n: int) -> list[str]:
    rows = [f"opening:tern/door,{name},{n + 100}" for name in ("depth_mm", "front_mm", "beside_mm")]
    return ["reading", "load", bench.file(f"r{n}.csv", "subject,field,value\n" + "\n".join(rows) + "\n")]


def list_was_read(bench: Bench, n: int) -> bool:
    noted = count(bench, "reading where subject = 'opening:tern/door' and value = $1", str(n + 100))
    laid = count(bench, "opening_speaker where depth_mm = $1 and front_mm = $1 and beside_mm = $1", n + 100)
    return bench.whole((noted, 3), (laid, 1))


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
    bench.shop.load_job(bench.file(f"sign{n}.json", JOB | {"job_id": f"sign{n}"}))
    return ["sign", f"sign{n}", "--by", f"k{n}"]


def is_signed(bench: Bench, n: int) -> bool:
    return bench.whole((count(bench, "signature where job_id = $1", f"sign{n}"), 1))


def back_up(bench: Bench, n: int) -> list[str]:
    return ["store", "backup", str(bench.folder / f"copy{n}.duckdb")]


def is_backed_up(bench: Bench, n: int) -> bool:
    copy = bench.folder / f"copy{n}.duckdb"
    if copy.exists() and not Shop(copy).check_store().sound:
        raise BrokenPromise("the copy is not sound")
    return copy.exists()


def take_back(bench: Bench, n: int) -> list[str]:
    copy = bench.shop.back_up(bench.folder / f"back{n}.duckdb")
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


def refresh(bench: Bench, n: int) -> list[str]:
    folder = bench.folder / f"hq{n}"
    if not folder.exists():
        chain = Shop(bench.folder / f"chain{n}.duckdb")
        chain.load_lists(
            bench.file(f"chain{n}.csv", f"part_id,maker,model,price,vlt_pct\nhq{n}-1,M,m,1,5\nhq{n}-2,M,m,1,5\n"),
            family="film",
        )
        chain.publish(folder)
    return ["catalog", "attach", str(folder)]


def is_fresh(bench: Bench, n: int) -> bool:
    parts = count(bench, "film where starts_with(part_id, $1)", f"hq{n}-")
    told = count(bench, "event where what = 'catalog attached' and subject = $1", f"supplier:hq{n}")
    return bench.whole((parts, 2), (told, 1))


ACTS = [
    Act("catalog load", load, loaded),
    Act("reading add", read, was_read),
    Act("reading load", read_list, list_was_read),
    Act("vehicle load", vehicles, vehicles_there),
    Act("job load", take_job, job_there),
    Act("settings", setting, is_set),
    Act("catalog restore", go_back, is_back),
    Act("choose", choose, is_chosen),
    Act("setup", set_up, is_set_up),
    Act("sign", sign, is_signed),
    Act("store backup", back_up, is_backed_up),
    Act("store restore", take_back, is_set),
    Act("catalog publish", publish, is_published),
    Act("catalog attach", refresh, is_fresh),
]


def make_bench(folder: Path) -> Bench:
    """A store with a car, its parts, a job and a choice for it."""
    bench = Bench(folder)
    store_file(bench.store, *THINGS)
    with bench.shop.store.changing() as con:
        con.execute("insert into load (version, made_at, what) values (1, now(), 'load')")
        con.execute("update vehicle set vehicle_id = vehicle_id")
    bench.shop.load_job(bench.file("j1.json", JOB))
    bench.shop.choose("j1", 1, by="Ada")
    return bench


@dataclass
class Ended:
    """How a process ended: whether it had answered, and what it said."""

    answered: bool
    said: str


@contextmanager
def child(typed: list[str], folder: Path, before: Callable[[], object] = lambda: None) -> Iterator[int]:
    """A command in a process of its own, forked so that it starts at once; it is gone at the end.

    ``before`` is done in it first.
    """
    number = os.fork()
    if number == 0:
        _run(typed, folder, before)
    try:
        yield number
    finally:
        try:
            os.kill(number, signal.SIGKILL)
            os.waitpid(number, 0)
        except (ProcessLookupError, ChildProcessError):
            pass


def _run(typed: list[str], folder: Path, before: Callable[[], object]) -> None:
    """In the child: the command, its words in files; never returns."""
    code = 1
    try:
        for name, stream in (("out", 1), ("err", 2)):
            os.dup2(os.open(folder / name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), stream)
        sys.stdout, sys.stderr = os.fdopen(1, "w"), os.fdopen(2, "w")
        tempfile.tempdir = str(folder / "tmp")
        sys.argv = ["boltback", *typed]
        before()
        from matcher.commands import main

        main()
        code = 0
    except SystemExit as ended:
        code = int(ended.code or 0)
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def run(typed: list[str], bench: Bench, after: float | None) -> Ended:
    """A command, killed after so many seconds; without, to its end."""
    (bench.folder / "tmp").mkdir(exist_ok=True)
    with child([*typed, "--store", str(bench.store), "--json"], bench.folder) as number:
        if after is None:
            _, status = os.waitpid(number, 0)
            if os.waitstatus_to_exitcode(status) != 0:
                raise BrokenPromise(f"{typed}: {(bench.folder / 'err').read_text('utf-8')[-2000:]}")
        else:
            time.sleep(after)
    out = (bench.folder / "out").read_text("utf-8") if (bench.folder / "out").exists() else ""
    return Ended(out.endswith("}\n"), (bench.folder / "err").read_text("utf-8"))


@dataclass
class Tally:
    """What a run has come to."""

    kills: int = 0
    answered: int = 0
    kept: int = 0
    """Not answered, but there: killed between the change and the answer."""
    absent: int = 0
    checks: int = 0
    broken: list[str] = field(default_factory=list)
    acts: dict[str, int] = field(default_factory=dict)

    def note(self, act: str, answered: bool, happened: bool) -> None:
        self.kills += 1
        self.acts[act] = self.acts.get(act, 0) + 1
        self.answered += answered
        self.kept += happened and not answered
        self.absent += not happened
        if answered and not happened:
            raise BrokenPromise("it was answered, and is not there")


def one_kill(bench: Bench, act: Act, number: int, longest: float, tally: Tally, *, check: bool) -> None:
    """One round: start, kill, look, and do it again where it did not happen."""
    typed = act.typed(bench, number)
    ended = run(typed, bench, random.uniform(0, longest))
    if "Traceback" in ended.said:
        raise BrokenPromise(ended.said[-2000:])
    happened = act.happened(bench, number)
    tally.note(act.name, ended.answered, happened)
    if not happened:
        run(typed, bench, None)
        if not act.happened(bench, number):
            raise BrokenPromise("it cannot be done again")
    if check:
        tally.checks += 1
        found = bench.shop.check_store()
        if not found.sound:
            raise BrokenPromise(f"store check: {found.problems[:3]}")


def kill_commands(bench: Bench, kills: int, tally: Tally, *, check_each: int = 4) -> None:
    """Kill each command in turn; how long each takes is learned from its first run, which is not killed."""
    takes: dict[str, float] = {}
    for number, act in enumerate(ACTS):
        started = time.monotonic()
        run(act.typed(bench, number), bench, None)
        takes[act.name] = time.monotonic() - started
        if not act.happened(bench, number):
            raise BrokenPromise(f"{act.name} did nothing")
    for number in range(kills):
        act = ACTS[number % len(ACTS)]
        try:
            one_kill(bench, act, 1000 + number, takes[act.name], tally, check=number % check_each == check_each - 1)
        except Exception as error:
            tally.broken.append(f"{act.name}, round {number}: {type(error).__name__}: {error}")


def kill_pages(bench: Bench, kills: int, tally: Tally) -> None:
    """Kill the page while a reading is sent to it."""
    for number in range(kills):
        try:
            _one_page(bench, f"page{number}", number + 1, random.uniform(0, 0.6), tally)
        except Exception as error:
            tally.broken.append(f"the page, round {number}: {type(error).__name__}: {error}")


def _one_page(bench: Bench, note: str, value: int, after: float, tally: Tally) -> None:
    (bench.folder / "err").unlink(missing_ok=True)  # the page before this one told another port
    serve = ["serve", "--port", "0", "--store", str(bench.store)]
    with child(serve, bench.folder) as number, closing(_connected(bench)) as connection:
        connection.request("GET", "/name")
        answer = connection.getresponse()
        cookie = (answer.getheader("set-cookie") or "").partition(";")[0]
        token = re.search(r'name="token" value="(\w+)"', answer.read().decode())
        if token is None:
            raise BrokenPromise("the page gave no form")
        form = f"token={token[1]}&subject=part:{SPEAKER['part_id']}&field=magnet_mm&value={value}&note={note}"
        if os.fork() == 0:  # who kills it while the answer is waited for
            time.sleep(after)
            os.kill(number, signal.SIGKILL)
            os._exit(0)
        head = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
        try:
            connection.request("POST", "/reading", form, head)
            status = connection.getresponse().status
        except (HTTPException, OSError):
            status = 0
        os.wait()
    if status not in (0, 303):
        raise BrokenPromise(f"the page answered {status}")
    rows = count(bench, "reading where field = 'magnet_mm' and value = $1", str(value))
    laid = count(bench, "speaker where part_id = $1 and magnet_mm = $2", SPEAKER["part_id"], value)
    tally.note("POST to the page", status == 303, bench.whole((rows, 1), (laid, 1)))


def _connected(bench: Bench) -> HTTPConnection:
    return HTTPConnection("127.0.0.1", _port(bench.folder / "err"), timeout=60)


def _port(said: Path) -> int:
    for _ in range(600):
        found = re.search(r":(\d+)/", said.read_text("utf-8") if said.exists() else "")
        if found:
            return int(found[1])
        time.sleep(0.05)
    raise BrokenPromise("the page did not begin")


def sudden_death(folder: Path, kills: int, pages: int, seed: int, *, check_each: int = 4) -> Tally:
    """So many kills of commands and of the page, then a last check."""
    random.seed(seed)
    tally = Tally()
    bench = make_bench(folder)
    kill_commands(bench, kills, tally, check_each=check_each)
    kill_pages(bench, pages, tally)
    if not bench.shop.check_store().sound:
        tally.broken.append("store check at the end")
    tally.checks += 1
    return tally


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=200, help="commands to kill")
    parser.add_argument("--pages", type=int, default=10, help="pages to kill")
    parser.add_argument("--seed", type=int, default=random.randrange(10**6))
    told = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="sudden-death-") as folder:
        tally = sudden_death(Path(folder), told.kills, told.pages, told.seed)
    print(json.dumps({"seed": told.seed, **tally.__dict__}, indent=1))
    sys.exit(bool(tally.broken))


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    main()
