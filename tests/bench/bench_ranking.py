"""The ranking and its peers on the same instances: ``python tests/bench/bench_ranking.py [--quick] [--write]``.

Every cell runs in a process of its own, is warm before it is measured, and is killed when its time of the processors
is over, so that what else the machine does takes nothing from it. The floor and the ranking take turns on each
instance, so that ratios are of one run. With ``--write`` the table and the plot go into docs/performance.md;
``--quick`` measures the small sizes only.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from instances import BUDGETS, KEPT, job_of, store_of

ENGINES = Path(__file__).with_name("engines.py")
OURS = ("floor", "ranking", "options", "again")
"""In turns, on every instance."""
PEERS = {"cpsat": 1000, "join": 1000, "brute": 100}
"""Up to how many parts each is tried; none of them gets over it in time."""


class Cell(NamedTuple):
    """One engine on one instance."""

    engine: str
    parts: int
    openings: int
    budget: str


def cells(sizes: list[int]) -> Iterator[Cell]:
    """What is measured: two openings at every budget, other numbers of openings at the middling one."""
    for parts in sizes:
        for openings, budget in [*((2, one) for one in BUDGETS), *((some, "middling") for some in (1, 3, 4))]:
            if parts >= 1000:
                yield from (Cell(engine, parts, openings, budget) for engine in OURS)
                if (openings, budget) == (2, "middling"):
                    yield Cell("limits", parts, openings, budget)
            elif budget == "middling" and openings <= 2:
                yield Cell("ranking", parts, openings, budget)
            for engine, most in PEERS.items():
                if parts <= most and budget == "middling" and openings <= 2:
                    yield Cell(engine, parts, openings, budget)


def measure(cell: Cell, rounds: int, limit: float) -> dict[str, Any]:
    """What an engine tells; without ``seconds`` where its time was over."""
    store = store_of(cell.parts)
    job = job_of(store, cell.openings, cell.budget)
    words = [sys.executable, str(ENGINES), cell.engine, str(store), job, str(rounds), str(limit)]
    run = subprocess.run(words, capture_output=True, text=True, check=False)
    if run.returncode == -signal.SIGXCPU:
        return {"over": limit}
    if run.returncode != 0:
        print(run.stderr, file=sys.stderr)
        return {"failed": run.stderr.strip().splitlines()[-1:]}
    told: dict[str, Any] = json.loads(run.stdout)
    return told


def measured(sizes: list[int], rounds: int, limit: float) -> Iterator[dict[str, Any]]:
    """Every cell with what was told; what was over time at a smaller size is not tried at a larger one."""
    hopeless = set()
    for cell in cells(sizes):
        way = cell[:1] + cell[2:]
        found = {"over": limit} if way in hopeless else measure(cell, rounds, limit)
        if "over" in found:
            hopeless.add(way)
        seconds = (
            f"{found['seconds']:.3f} s"
            if "seconds" in found
            else f"over {limit:.0f} s"
            if "over" in found
            else "failed"
        )
        print(f"{cell.parts:>8} parts, {cell.openings} openings, {cell.budget:8} {cell.engine:8} {seconds}", flush=True)
        yield cell._asdict() | found


def main() -> None:
    """Measure, keep what was measured, and write the page if asked to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="sizes up to 10 000 parts")
    parser.add_argument("--write", action="store_true", help="write docs/performance.md and its plot")
    parser.add_argument("--from", dest="kept", action="store_true", help="write from what was measured last")
    parser.add_argument("--sizes", type=int, nargs="+")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--limit", type=float, default=60, help="seconds of the processors for a cell")
    told = parser.parse_args()
    sizes = told.sizes or [100, 1000, 10_000, *([] if told.quick else [100_000, 1_000_000])]
    kept = KEPT / "ranking.json"
    if not told.kept:
        started, load, found = time.monotonic(), os.getloadavg()[1], []
        for cell in measured(sizes, told.rounds, told.limit):
            found.append(cell)
            took = {"took_s": time.monotonic() - started, "load": [load, os.getloadavg()[1]], "limit": told.limit}
            kept.write_text(json.dumps({"cells": found} | took, indent=1), encoding="utf-8")  # a run may be broken off
    if told.write:
        from performance_page import write

        write(json.loads(kept.read_text(encoding="utf-8")))


if __name__ == "__main__":
    main()
