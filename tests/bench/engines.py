"""One engine on one instance, in a process of its own: ``python engines.py ENGINE STORE JOB ROUNDS LIMIT``.

It prints one JSON document, or dies when its time of the processors is over, gathering and all rounds included. The
document tells the median of so many rounds after a first one in seconds, the greatest memory in MB, the
best score in hundredths of a point where the engine finds one, and what more there is to tell.
"""

from __future__ import annotations

import itertools
import json
import resource
import statistics
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from matcher import Shop
from matcher.search.fits.looks import Look
from matcher.search.fits.sweep import Sweeps
from matcher.search.gathering import gather_field
from matcher.search.options import rank
from matcher.search.question import read_question
from matcher.shop.base import shop_settings
from matcher.store.documents import stored_job

TOP = 10


def options(store: Path, job: str) -> dict[str, Any]:
    """The whole answer, as the command gives it: ranked, explained, every part of every package asked again."""
    answer = Shop(store).options(job, top=TOP)
    return {"considered": answer.considered, "packages": len(answer.packages)}


class Sitting:
    """Questions in one sitting: each round asks with other wishes, so that only what goes in is known from before."""

    def __init__(self) -> None:
        self._open = ExitStack()
        self._wishes = itertools.cycle([{"price": 1}, {"price": 3, "bass": 2}, {"loudness": 3}, {"bass": 5}])
        self._shop: Shop | None = None

    def __call__(self, store: Path, job: str) -> dict[str, Any]:
        if self._shop is None:
            self._shop = Shop(store)
            self._open.enter_context(self._shop.sitting())
        answer = self._shop.options(job, top=TOP, wishes=next(self._wishes))
        return {"considered": answer.considered, "packages": len(answer.packages)}


def limits(store: Path, job: str) -> dict[str, Any]:
    """What each limit costs: the job ranked again without each."""
    return {"limits": len(Shop(store).limits(job).limits)}


def ranking(store: Path, job: str) -> dict[str, Any]:
    """The ranking alone, from opening the store to the ten best packages and the best sure one."""
    with Shop(store).asked(job) as (sweeps, asked):
        found = rank(sweeps, asked, TOP).found
    return {"points": found[0].points if found else None}


def floor(store: Path, job: str) -> dict[str, Any]:
    """Scan and fetch: open the store, run every slot's own filter, fetch what a ranking needs of what passes."""
    from scan import scan

    return {"fetched": scan(store, job)}


def _instance(store: Path, job: str) -> Any:
    """The job in plain numbers."""
    from plain import Plain

    with Shop(store).store.reading() as con:
        sweeps = Sweeps(con, shop_settings(con))
        return Plain(
            gather_field(sweeps, read_question(con, stored_job(con, job), sweeps.settings), Look(TOP))
        ).instance()


def cpsat(store: Path, job: str) -> dict[str, Any]:
    """CP-SAT on the same candidates and rule codes: the best score alone, proven; its own time, without gathering."""
    instance = _instance(store, job)  # it finds the tests' own packages, too
    from tests.search.second_model import SecondModel

    started = time.perf_counter()
    model = SecondModel(instance)
    built = time.perf_counter() - started
    points = model.most_points(seconds=600, workers=2)
    return {"points": points, "built": built, "seconds": time.perf_counter() - started}


def join(store: Path, job: str) -> dict[str, Any]:
    """One SQL join of everything, sorted: its own time, without gathering and filling its tables."""
    from one_join import Join

    tables = Join(_instance(store, job))
    started = time.perf_counter()
    points = tables.best(TOP)
    return {"points": points, "seconds": time.perf_counter() - started}


def brute(store: Path, job: str) -> dict[str, Any]:
    """Brute force over the same plain numbers: its own time."""
    instance = _instance(store, job)
    from brute import best

    started = time.perf_counter()
    points = best(instance)
    return {"points": points, "seconds": time.perf_counter() - started}


ENGINES: dict[str, Callable[[Path, str], dict[str, Any]]] = {
    "options": options,
    "again": Sitting(),
    "limits": limits,
    "ranking": ranking,
    "floor": floor,
    "cpsat": cpsat,
    "join": join,
    "brute": brute,
}


def main() -> None:
    """Run an engine and tell; `worked` is the time of the processors, gathering included."""
    name, store, job, rounds, limit = sys.argv[1:]
    resource.setrlimit(resource.RLIMIT_CPU, (int(float(limit)), -1))
    spent: list[float] = []
    worked: list[float] = []
    told: dict[str, Any] = {}
    for _ in range(int(rounds) + 1):
        started, busy = time.perf_counter(), time.process_time()
        told = ENGINES[name](Path(store), job)
        worked.append(time.process_time() - busy)
        spent.append(told.get("seconds", time.perf_counter() - started))
        if len(spent) > 1 and time.process_time() > float(limit) / 4:
            break  # slow enough for what there is to tell
    told["seconds"] = statistics.median(spent[1:] or spent)
    told["worked"] = statistics.median(worked[1:] or worked)
    told["memory_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps(told))


if __name__ == "__main__":
    main()
