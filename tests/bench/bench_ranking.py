"""Measure the ranking, its peers and fresh commands: ``python tests/bench/bench_ranking.py [--quick] [--write]``.

Every engine runs on each instance in a process of its own, warm, and is ended when its processor time is over. The
floor and the engines take turns on each instance, so that ratios are of one run. ``--write`` puts the tables and the
plot into docs/performance.md; ``--quick`` measures up to 10,000 parts.
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

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.bench.instances import KEPT, drawn_job, store_of

BASS = "tern-nocut"
"""The demo's main job: head unit, two places, amplifier, bass, film, security, accessories."""
JOBS = {
    BASS: (),
    "bench-1-middling": (1, "middling"),
    "bench-2-middling": (2, "middling"),
    "bench-4-middling": (4, "middling"),
}
PEERS = {"cpsat": 1000, "join": 1000, "brute": 100}
"""Up to how many parts each is tried: none of them gets further in time."""
ROOT = Path(__file__).resolve().parents[2]


class Cell(NamedTuple):
    """One engine on one instance."""

    engine: str
    parts: int
    job: str


def cells(sizes: list[int]) -> Iterator[Cell]:
    """Every measurement, the engines of an instance after each other."""
    for parts in sizes:
        for job in JOBS:
            if parts >= 1000:
                yield from (Cell(engine, parts, job) for engine in ("floor", "options", "again"))
                if job in (BASS, "bench-2-middling"):
                    yield Cell("limits", parts, job)
            elif job == "bench-2-middling":
                yield Cell("options", parts, job)
            if job in ("bench-1-middling", "bench-2-middling"):
                yield from (Cell(peer, parts, job) for peer, most in PEERS.items() if parts <= most)
        if parts == 10_000:
            yield Cell("measure", parts, "tern-spare")


def measure(cell: Cell, rounds: int, limit: float) -> dict[str, Any]:
    """The document of an engine; without ``seconds`` where its time was over."""
    store = store_of(cell.parts)
    if JOBS.get(cell.job):
        drawn_job(store, cell.job, *JOBS[cell.job])
    words = [sys.executable, "-m", "tests.bench.engines", cell.engine, str(store), cell.job, str(rounds), str(limit)]
    run = subprocess.run(words, capture_output=True, text=True, check=False, cwd=ROOT)
    if run.returncode == -signal.SIGXCPU:
        return {"over": limit}
    if run.returncode != 0:
        print(run.stderr, file=sys.stderr)
        return {"failed": run.stderr.strip().splitlines()[-1:]}
    told: dict[str, Any] = json.loads(run.stdout)
    return told


def measured(sizes: list[int], rounds: int, limit: float) -> Iterator[dict[str, Any]]:
    """Every cell with its document; an engine whose time was over is not tried on a larger catalog."""
    hopeless = set()
    for cell in cells(sizes):
        found = {"over": limit} if cell[::2] in hopeless else measure(cell, rounds, limit)
        if "over" in found:
            hopeless.add(cell[::2])
        shown = f"{found['seconds']:.3f} s" if "seconds" in found else "over time" if "over" in found else "failed"
        print(f"{cell.parts:>9,} parts  {cell.job:18} {cell.engine:8} {shown}", flush=True)
        yield cell._asdict() | found


def main() -> None:
    """Measure, keep the document, and write the page if asked to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="sizes up to 10,000 parts")
    parser.add_argument("--write", action="store_true", help="write docs/performance.md and its plot")
    parser.add_argument("--from", dest="kept", action="store_true", help="write from the last measurements")
    parser.add_argument("--sizes", type=int, nargs="+")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--limit", type=float, default=60, help="processor seconds for a cell")
    told = parser.parse_args()
    sizes = told.sizes or [100, 1000, 10_000, *([] if told.quick else [100_000, 1_000_000])]
    kept = KEPT / "ranking.json"
    if not told.kept:
        from tests.bench.fresh import measured as fresh_measured

        started, load = time.monotonic(), os.getloadavg()[1]
        document: dict[str, Any] = {"cells": list(measured(sizes, told.rounds, told.limit))}
        document["fresh"] = {name: one._asdict() for name, one in fresh_measured(told.rounds).items()}
        document |= {"took_s": time.monotonic() - started, "load": [load, os.getloadavg()[1]], "limit": told.limit}
        kept.write_text(json.dumps(document, indent=1), encoding="utf-8")
    if told.write:
        from tests.bench.performance_page import write

        write(json.loads(kept.read_text(encoding="utf-8")))


if __name__ == "__main__":
    main()
