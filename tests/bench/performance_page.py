"""docs/performance.md and its plot, from what the benchmarks measured last."""

from __future__ import annotations

import json
import os
import platform
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any

from instances import BUDGETS, KEPT, PLACES
from plot import Line, plot

DOCS = Path(__file__).resolve().parents[2] / "docs"
NAMES = {
    "floor": "scan and fetch",
    "ranking": "ranking",
    "options": "options",
    "again": "options again",
    "cpsat": "CP-SAT",
    "join": "one SQL join",
    "brute": "brute force",
}
MOST_OVER_FLOOR = {10_000: 1.5, 100_000: 2, 1_000_000: 2.5}
START_GOALS = {"fit": 1.2, "options": 1.4}
Key = tuple[str, int, int, str]


class Run:
    """A run of bench_ranking."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        self.cells: dict[Key, dict[str, Any]] = {
            (one["engine"], one["parts"], one["openings"], one["budget"]): one for one in document["cells"]
        }
        self.sizes = sorted({parts for _, parts, *_ in self.cells})

    def of(self, engine: str, parts: int, openings: int = 2, budget: str = "middling") -> dict[str, Any]:
        return self.cells.get((engine, parts, openings, budget), {})

    def told(self, *key: Any) -> str:
        """A cell's seconds, as the table shows them."""
        cell = self.of(*key)
        if "seconds" in cell:
            return f"{cell['seconds']:.3g}"
        return f"over {cell['over']:.0f}" if "over" in cell else "-"

    def ratio(self, above: dict[str, Any], below: dict[str, Any], what: str = "seconds") -> float | None:
        if what not in above or what not in below:
            return None
        return float(above[what] / below[what])


def write(document: dict[str, Any]) -> None:
    """Write both."""
    run = Run(document)
    lines = {NAMES[engine]: line for engine in NAMES if len(line := _line(run, engine)) > 1}
    title = "Seconds for the ten best packages, proven, over the parts in the catalog"
    (DOCS / "performance.svg").write_text(plot(lines, title), encoding="utf-8")
    (DOCS / "performance.md").write_text(_page(run), encoding="utf-8")


def _line(run: Run, engine: str) -> Line:
    cells = [run.of(engine, parts) for parts in run.sizes]
    return [
        (cell["parts"], cell.get("seconds", cell.get("over")), "seconds" not in cell)
        for cell in cells
        if "seconds" in cell or "over" in cell
    ]


PAGE = """<!-- Written by tests/bench/bench_ranking.py --write: do not edit here. -->

# Performance

A head unit, loudspeakers for one to four places and their amplification, from whole catalogs that the demo's generator
draws, under the full rules: fits, adapters, plans, links, line levels, money, drain and charging. The places are taken
up in the order {places}; the budget for the head unit and for each place is {money}. Ten packages are asked for.

![Seconds over parts, two places, middling budget](performance.svg)

Measured in one run of {minutes:.0f} min on {machine}; the load over five minutes was {load} at its start and end. Over
the number of cores the seconds are those of a shared machine: then the ratio of processor time, behind the ratio in
wall time, tells more. Each cell ran in a process of its own, warm, and was killed after {limit:.0f} s of
the processors; what was over that is not tried on a larger catalog. Medians, in seconds of wall time.

{table}

*Scan and fetch* opens the store, asks every slot's own rules of its whole family and fetches what passes: the floor.
*Ranking* is from opening the store to the ten best; *options* is the whole answer, in which every part of every
package is asked again. *Options again* is the same answer to other wishes in one sitting, as at the page or with
`Shop.sitting()`: what goes into each opening is known then. The peers get the same candidates and rule codes, without
those that ten others always beat; only their own time counts. CP-SAT proves the best score alone, with two workers.
{scores}

## Goals

| figure | goal | measured | |
|---|---|---|---|
{goals}
"""


def _page(run: Run) -> str:
    apart = _apart(run)
    return PAGE.format(
        places=", ".join(PLACES),
        money=", ".join(f"{amount} {name}" for name, amount in BUDGETS.items()),
        minutes=run.document["took_s"] / 60,
        machine=_machine(),
        load=" and ".join(f"{one:.1f}" for one in run.document["load"]),
        limit=run.document["limit"],
        table="\n".join(_table(run)),
        scores=f"BEST SCORES DIFFER: {', '.join(apart)}" if apart else "Where several ended, their best scores agree.",
        goals="\n".join(f"| {' | '.join(row)} |" for row in _goals(run)),
    )


def _machine() -> str:
    cpu = next(
        (
            line.partition(":")[2].strip()
            for line in Path("/proc/cpuinfo").read_text().splitlines()
            if "model name" in line
        ),
        platform.processor(),
    )
    packages = ", ".join(f"{name} {version(name)}" for name in ("duckdb", "ortools", "typer"))
    return f"{os.cpu_count()} cores of {cpu}, {platform.system()}, Python {platform.python_version()}, {packages}"


def _table(run: Run) -> Iterator[str]:
    over_floor = "options over floor; in processor time"
    yield f"| parts | places | budget | {' | '.join(NAMES.values())} | {over_floor} | memory of options, MB |"
    yield "|---:|---:|---|" + "---:|" * (len(NAMES) + 2)
    for parts, openings, budget in dict.fromkeys(key[1:] for key in run.cells):
        seconds = " | ".join(run.told(engine, parts, openings, budget) for engine in NAMES)
        options = run.of("options", parts, openings, budget)
        floor = run.of("floor", parts, openings, budget)
        ratios = [run.ratio(options, floor, what) for what in ("seconds", "worked")]
        over = "; ".join(f"{one:.1f}" for one in ratios if one is not None) or "-"
        memory = f"{options['memory_mb']:.0f}" if "memory_mb" in options else "-"
        yield f"| {parts:,} | {openings} | {budget} | {seconds} | {over} | {memory} |"


def _apart(run: Run) -> list[str]:
    """Instances on which two engines tell different best scores."""
    scores: dict[tuple[Any, ...], set[int | None]] = {}
    for (_, *instance), cell in run.cells.items():
        if "points" in cell:
            scores.setdefault(tuple(instance), set()).add(cell["points"])
    return [str(instance) for instance, told in scores.items() if len(told) > 1]


def _goals(run: Run) -> Iterator[tuple[str, str, str, str]]:
    for parts, most in MOST_OVER_FLOOR.items():
        over = run.ratio(run.of("options", parts), run.of("floor", parts))
        told = f"options {run.told('options', parts)} s, floor {run.told('floor', parts)} s"
        yield _at_most(f"`options`, warm, {parts:,} parts, over scan and fetch", most, over, told)
        again = run.ratio(run.of("again", parts), run.of("floor", parts))
        yield _at_most(f"the same in one sitting, {parts:,} parts", most, again, "not measured")
        limits = run.ratio(run.of("limits", parts), run.of("options", parts))
        yield _at_most(f"`limits`, {parts:,} parts, over one `options`", 3, limits, "not measured")
    growth = run.ratio(run.of("options", 1_000_000), run.of("options", 100_000))
    yield _at_most("growth from 100,000 to 1,000,000 parts", 3, growth, "not both measured")
    for openings in (1, 2):
        peer, ours = run.of("cpsat", 1000, openings), run.of("ranking", 1000, openings)
        what = f"CP-SAT's best alone over our ten, 1,000 parts, places: {openings}"
        yield _at_least(what, 30, run.ratio(peer, ours), bool(peer.get("over")), peer.get("over"), ours.get("seconds"))
    memory = run.of("options", 1_000_000).get("memory_mb")
    yield _at_most("peak memory at 1,000,000 parts, MB", 250, memory, "not measured")
    start = KEPT / "start.json"
    found = json.loads(start.read_text(encoding="utf-8")) if start.is_file() else {}
    for command, most in START_GOALS.items():
        told = found.get(command)  # empty where its time was over
        over = told[0] / found["floor"][0] if told else None
        what = f"`boltback {command}`, fresh, 10,000 parts, over a fresh command that opens the store"
        yield _at_most(what, most, over, "over its time" if told == [] else "not measured")


def _at_most(what: str, goal: float, found: float | None, told: str) -> tuple[str, str, str, str]:
    if found is None:
        return what, f"at most {goal:g}", told, "missed" if "over" in told else "not known"
    missed = f"missed by {found / goal:.3g} times" if found > goal else "met"
    return what, f"at most {goal:g}", f"{found:.3g}", missed


def _at_least(
    what: str, goal: float, found: float | None, is_over: bool, limit: float | None, ours: float | None
) -> tuple[str, str, str, str]:
    if found is None and is_over and limit and ours:
        least = limit / ours
        return what, f"at least {goal:g}", f"over {least:.3g}", "met" if least >= goal else "not known"
    if found is None:
        return what, f"at least {goal:g}", "not measured", "not known"
    return what, f"at least {goal:g}", f"{found:.3g}", "met" if found >= goal else f"missed by {goal / found:.3g} times"
