"""Run one engine on one instance, in a process of its own: ``python engines.py ENGINE STORE JOB ROUNDS LIMIT``.

It prints one JSON document with the median seconds of the rounds after a first one, the processor seconds, the peak
memory in MB, the best score in hundredths of a point where the engine finds one, and whatever else the engine counts.
The process is ended by the system at LIMIT seconds of processor time.
"""

from __future__ import annotations

import itertools
import json
import resource
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb

from matcher import Shop
from matcher.search.catalog.catalog import Catalog
from matcher.search.catalog.kept import forget
from matcher.search.options import rank
from matcher.shop.base import shop_settings
from matcher.store.database.index import NAMES, read_index
from matcher.store.database.kept_documents import stored_job

TOP = 10
FAMILIES = ("head_unit", "speaker", "amplifier", "adapter", "cable", "accessory")
BASS_FAMILIES = ("subwoofer", "enclosure")
WISHES = itertools.cycle([{"price": 1}, {"price": 3, "bass": 2}, {"loudness": 3}, {"bass": 5}])
Told = dict[str, Any]


def floor(store: Path, job: str) -> Told:
    """Open the store and read the index of the families that the job needs into arrays."""
    cells = 0
    with duckdb.connect(str(store), read_only=True) as con:
        (document,) = con.execute("SELECT document FROM job WHERE job_id = ?", [job]).fetchone() or ("",)
        for family in (*FAMILIES, *(BASS_FAMILIES if '"bass"' in document else ())):
            index = read_index(con, family)
            cells += sum(len(coded.cells[0][coded.numbers]) for name, coded in index.items() if name != NAMES)
    return {"cells": cells}


def options(store: Path, job: str) -> Told:
    """The whole answer, as a process gives it that has not yet read this catalog."""
    forget()
    answer = Shop(store).options(job, top=TOP)
    return {"considered": str(answer.considered), "packages": len(answer.packages)}


def again(store: Path, job: str) -> Told:
    """The same question with other wishes, in a process that has answered before: a slider moved on the page."""
    return {"packages": len(Shop(store).options(job, top=TOP, terms={"wish": next(WISHES)}).packages)}


def limits(store: Path, job: str) -> Told:
    """The price of each limit."""
    return {"limits": len(Shop(store).limits(job).limits)}


def why(store: Path, job: str) -> Told:
    """Why a job has no package: conflicts and relaxations."""
    Shop(store).why(job)
    return {}


def measure(store: Path, job: str) -> Told:
    """The figures to measure first, to the end."""
    return {"figures": len(Shop(store).measure(job).figures)}


def proposal(store: Path, job: str) -> Told:
    """The proposal as HTML and PDF."""
    shop = Shop(store)
    return {"files": len(shop.papers.many(job, ["proposal"]))}


def cpsat(store: Path, job: str) -> Told:
    """CP-SAT on the same candidates and verdicts: the best score alone, proven; its own time, without gathering."""
    from tests.bench.plain import instance_of
    from tests.search.second_model import SecondModel

    instance = instance_of(store, job)

    started = time.perf_counter()
    points = SecondModel(instance).most_points(seconds=600, workers=2)
    return {"points": points, "seconds": time.perf_counter() - started}


def join(store: Path, job: str) -> Told:
    """One SQL join of every combination, sorted: its own time, without gathering and filling its tables."""
    from tests.bench.one_join import Join
    from tests.bench.plain import instance_of

    tables = Join(instance_of(store, job))
    started = time.perf_counter()
    points = tables.best(TOP)
    return {"points": points, "seconds": time.perf_counter() - started}


def brute(store: Path, job: str) -> Told:
    """Every combination of the same plain numbers, one by one: its own time."""
    from tests.bench.brute import best
    from tests.bench.plain import instance_of

    instance = instance_of(store, job)

    started = time.perf_counter()
    points = best(instance)
    return {"points": points, "seconds": time.perf_counter() - started}


def best_points(store: Path, job: str) -> int | None:
    """The best score of the ranking as it counts: an answer's score is rounded to a whole point."""
    with Shop(store).store.reading() as con:
        found = rank(Catalog(con, shop_settings(con)), stored_job(con, job), 1).found
    return found[0].points if found else None


ENGINES: dict[str, Callable[[Path, str], Told]] = {
    engine.__name__: engine for engine in (floor, options, again, limits, why, measure, proposal, cpsat, join, brute)
}


def main() -> None:
    """Run an engine and print its document."""
    name, store, job, rounds, limit = sys.argv[1:]
    resource.setrlimit(resource.RLIMIT_CPU, (int(float(limit)), -1))
    spent: list[float] = []
    worked: list[float] = []
    told: Told = {}
    for _ in range(int(rounds) + 1):
        started, busy = time.perf_counter(), time.process_time()
        told = ENGINES[name](Path(store), job)
        worked.append(time.process_time() - busy)
        spent.append(told.get("seconds", time.perf_counter() - started))
        if len(spent) > 1 and time.process_time() > float(limit) / 4:
            break  # slow enough: more rounds would tell nothing new
    told["seconds"] = statistics.median(spent[1:] or spent)
    told["worked"] = statistics.median(worked[1:] or worked)
    told["memory_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if name == "options":
        told["points"] = best_points(Path(store), job)
    print(json.dumps(told))


if __name__ == "__main__":
    main()
