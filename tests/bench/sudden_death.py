"""Every command that writes, and the page, killed at random moments; then the store is held to what was answered.

Each round starts one command in a process of its own, ends it with SIGKILL at a random moment, and
looks at what is left. What was answered is there, all of it; what was not is there as a whole or not at
all; the store opens, takes the same command again, and `store check` finds nothing.
"""

from __future__ import annotations

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
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from select import select

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import catalog_schema
import matcher
from tests.bench.acts import ACTS, DEMO, Act, Bench, BrokenPromise, count, make_bench
from tests.choices.conftest import SPEAKER

SOONEST_S, LATEST_S = 0.01, 3.0
"""A kill comes between these, as likely in each tenfold: some commands take 0.05 s, some seconds."""
LONG = 200
"""Kills from which on the demo is killed, too."""


def preload() -> None:
    """Import what the commands import, so that a child is killed at its work and not while it starts."""
    for package in (matcher, catalog_schema):
        for module in walk_packages(package.__path__, f"{package.__name__}."):
            import_module(module.name)


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
    for name in ("out", "err"):
        (folder / name).write_bytes(b"")
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


def run(act: Act, typed: list[str], bench: Bench, after: float | None) -> Ended:
    """A command, killed after so many seconds; without, to its end."""
    (bench.folder / "tmp").mkdir(exist_ok=True)
    with child(typed, bench.folder) as number:
        if after is None:
            _, status = os.waitpid(number, 0)
            if os.waitstatus_to_exitcode(status) != 0:
                raise BrokenPromise(f"{typed}: {(bench.folder / 'err').read_text('utf-8')[-2000:]}")
        else:
            process = os.pidfd_open(number)
            select([process], [], [], after)
            os.close(process)
    out, err = ((bench.folder / name).read_text("utf-8") for name in ("out", "err"))
    return Ended(act.has_answered(out, err), err)


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


def one_kill(bench: Bench, act: Act, number: int, tally: Tally, *, check: bool) -> None:
    """One round: start, kill, look, and do it again where it did not happen."""
    typed = act.words(bench, number)
    ended = run(act, typed, bench, SOONEST_S * (LATEST_S / SOONEST_S) ** random.random())
    if "Traceback" in ended.said:
        raise BrokenPromise(ended.said[-2000:])
    happened = act.happened(bench, number)
    tally.note(act.name, ended.answered, happened)
    if not happened and act is not DEMO:  # that one wants a folder without a store
        run(act, typed, bench, None)
        if not act.happened(bench, number):
            raise BrokenPromise("it cannot be done again")
    if check:
        tally.checks += 1
        found = bench.shop.maintenance.check()
        if not found.sound:
            raise BrokenPromise(f"store check: {found.problems[:3]}")


def kill_commands(bench: Bench, kills: int, tally: Tally, *, check_each: int = 8) -> None:
    """Kill each command in turn."""
    rounds = [ACTS[number % len(ACTS)] for number in range(kills)]
    if kills >= LONG:
        rounds[-2:] = [DEMO, DEMO]
    for number, act in enumerate(rounds):
        try:
            one_kill(bench, act, 1000 + number, tally, check=number % check_each == check_each - 1)
        except Exception as error:
            tally.broken.append(f"{act.name}, round {number}: {type(error).__name__}: {error}")


def kill_pages(bench: Bench, kills: int, tally: Tally) -> None:
    """Kill the page while a reading is sent to it."""
    for number in range(kills):
        try:
            _one_page(bench, f"page{number}", number + 50, random.uniform(0, 0.6), tally)
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
        killer = os.fork()
        if killer == 0:  # who kills it while the answer is waited for
            time.sleep(after)
            os.kill(number, signal.SIGKILL)
            os._exit(0)
        head = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
        try:
            connection.request("POST", "/reading", form, head)
            status = connection.getresponse().status
        except (HTTPException, OSError):
            status = 0
        os.waitpid(killer, 0)
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


def sudden_death(folder: Path, kills: int, pages: int, seed: int, *, check_each: int = 8) -> Tally:
    """So many kills of commands and of the page, then a last check."""
    random.seed(seed)
    tally = Tally()
    preload()
    bench = make_bench(folder)
    kill_commands(bench, kills, tally, check_each=check_each)
    kill_pages(bench, pages, tally)
    if not bench.shop.maintenance.check().sound:
        tally.broken.append("store check at the end")
    tally.checks += 1
    return tally
