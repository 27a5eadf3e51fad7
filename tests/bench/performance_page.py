"""Write docs/performance.md and its plot from the last measurements."""

from __future__ import annotations

import os
import platform
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any

from tests.bench.fresh import COMMANDS, GOALS
from tests.bench.instances import BUDGETS, PLACES
from tests.bench.plot import Line, plot

DOCS = Path(__file__).resolve().parents[2] / "docs"
BASS, PLAIN = "tern-nocut", "bench-2-middling"
NAMES = {
    BASS: "main job, with bass",
    "bench-1-middling": "one place",
    PLAIN: "two places",
    "bench-4-middling": "four places",
}
ENGINES = {
    "floor": "floor",
    "options": "options",
    "again": "another question",
    "limits": "limits",
    "cpsat": "CP-SAT",
    "join": "one SQL join",
    "brute": "brute force",
}
SECONDS = {
    ("options", BASS): (0.10, 0.25, 0.70),
    ("options", PLAIN): (0.08, 0.20, 0.60),
    ("again", BASS): (0.05, 0.10, 0.30),
}
"""Goals in seconds at 10,000, 100,000 and 1,000,000 parts, for orientation on two idle cores."""
LARGE = (10_000, 100_000, 1_000_000)

PAGE = """<!-- Written by tests/bench/bench_ranking.py --write: do not edit here. -->

# Performance

Whole catalogs drawn by the demo's generator, under all rules. The *main job* asks for a head unit, loudspeakers,
an amplifier, bass in a box, film, security and accessories. The other jobs ask for a head unit and
loudspeakers at one to four places ({places}) at {money} for the head unit and for each place. Ten packages each.

![Seconds over parts](performance.svg)

Measured in one run of {minutes:.0f} min on {machine}; load average over five minutes {load} at start and end. Each cell
ran in a process of its own, warm, and was ended after {limit:.0f} s of processor time; an engine that was ended is not
tried on a larger catalog. Medians of wall seconds.

{table}

*Floor*: open the store and read the index of the job's families into arrays. *Another question*: other wishes, in a
process that has answered before. The peers get the candidates and verdicts ready-made; only their own time counts.
CP-SAT proves the best score alone, with two workers. {scores}

## Fresh commands

The demo's store, from a fresh process to its end, over a fresh command that imports Typer, NumPy and DuckDB and
opens the store.

| command | wall s | over the floor | processor s | over the floor | goal |
|---|---:|---:|---:|---:|---:|
{fresh}

## Goals

| figure | goal | measured | |
|---|---|---|---|
{goals}
"""


class Run:
    """The document of one run."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        self.cells = {(one["engine"], one["parts"], one["job"]): one for one in document["cells"]}
        self.instances = list(dict.fromkeys((parts, job) for _, parts, job in self.cells if job in NAMES))

    def of(self, engine: str, parts: int, job: str) -> dict[str, Any]:
        """A cell; empty where it was not measured."""
        return self.cells.get((engine, parts, job), {})

    def seconds(self, engine: str, parts: int, job: str) -> str:
        """A cell's seconds, as the table shows them."""
        cell = self.of(engine, parts, job)
        if "seconds" in cell:
            return f"{cell['seconds']:.3g}"
        return f"over {cell['over']:.0f}" if "over" in cell else "-"

    def ratio(self, above: tuple[str, int, str], below: tuple[str, int, str], key: str = "seconds") -> float | None:
        """One cell's figure over another's."""
        top, bottom = self.of(*above).get(key), self.of(*below).get(key)
        return top / bottom if top and bottom else None


def write(document: dict[str, Any]) -> None:
    """Write the page and its plot."""
    run = Run(document)
    lines = {
        f"{ENGINES[engine]}, {NAMES[job]}": line
        for engine, job in (("options", BASS), ("again", BASS), ("floor", BASS), ("options", PLAIN), ("cpsat", PLAIN))
        if len(line := _line(run, engine, job)) > 1
    }
    svg = plot(lines, "Seconds for the ten best packages, proven, over the parts in the catalog")
    (DOCS / "performance.svg").write_text(svg, encoding="utf-8")
    (DOCS / "performance.md").write_text(_page(run), encoding="utf-8")


def _line(run: Run, engine: str, job: str) -> Line:
    cells = [run.of(engine, parts, each) for parts, each in run.instances if each == job]
    return [
        (cell["parts"], cell.get("seconds", cell.get("over")), "seconds" not in cell)
        for cell in cells
        if "seconds" in cell or "over" in cell
    ]


def _page(run: Run) -> str:
    apart = _apart(run)
    return PAGE.format(
        places=", ".join(PLACES),
        money=f"{BUDGETS['middling']}",
        minutes=run.document["took_s"] / 60,
        machine=_machine(),
        load=" and ".join(f"{one:.1f}" for one in run.document["load"]),
        limit=run.document["limit"],
        table="\n".join(_table(run)),
        scores=f"BEST SCORES DIFFER: {', '.join(apart)}" if apart else "Where several ended, their best scores agree.",
        fresh="\n".join(_fresh(run.document["fresh"])),
        goals="\n".join(f"| {' | '.join(row)} |" for row in _goals(run)),
    )


def _machine() -> str:
    names = Path("/proc/cpuinfo").read_text().splitlines()
    cpu = next((line.partition(":")[2].strip() for line in names if "model name" in line), platform.processor())
    packages = ", ".join(f"{name} {version(name)}" for name in ("duckdb", "numpy", "ortools"))
    return f"{os.cpu_count()} cores of {cpu}, {platform.system()}, Python {platform.python_version()}, {packages}"


def _table(run: Run) -> Iterator[str]:
    yield f"| parts | job | {' | '.join(ENGINES.values())} | options over floor | memory of options, MB |"
    yield "|---:|---|" + "---:|" * (len(ENGINES) + 2)
    for parts, job in run.instances:
        seconds = " | ".join(run.seconds(engine, parts, job) for engine in ENGINES)
        over = run.ratio(("options", parts, job), ("floor", parts, job))
        memory = run.of("options", parts, job).get("memory_mb")
        yield (
            f"| {parts:,} | {NAMES[job]} | {seconds} | {'-' if over is None else f'{over:.1f}'} "
            f"| {'-' if memory is None else f'{memory:.0f}'} |"
        )


def _fresh(fresh: dict[str, dict[str, float]]) -> Iterator[str]:
    floor = fresh["floor"]
    for name, one in fresh.items():
        typed = f"`boltback {COMMANDS[name].split(' --')[0]}`" if name in COMMANDS else name
        over = [f"{one[key] / floor[key]:.2f}" for key in ("wall", "worked")]
        goal = f"{GOALS[name]:g}" if name in GOALS else ""
        yield f"| {typed} | {one['wall']:.2f} | {over[0]} | {one['worked']:.2f} | {over[1]} | {goal} |"


def _apart(run: Run) -> list[str]:
    """Instances on which two engines give different best scores."""
    scores: dict[tuple[int, str], set[int]] = {}
    for (_, parts, job), cell in run.cells.items():
        if cell.get("points") is not None:
            scores.setdefault((parts, job), set()).add(cell["points"])
    return [f"{parts} parts, {job}" for (parts, job), found in scores.items() if len(found) > 1]


def _goals(run: Run) -> Iterator[tuple[str, str, str, str]]:
    for (engine, job), most in SECONDS.items():
        for parts, goal in zip(LARGE, most, strict=True):
            found = run.of(engine, parts, job).get("seconds")
            yield _goal(f"{ENGINES[engine]}, {NAMES[job]}, {parts:,} parts, seconds", goal, found)
    for parts in LARGE[1:]:
        over = run.ratio(("options", parts, BASS), ("floor", parts, BASS))
        yield _goal(f"options, {NAMES[BASS]}, {parts:,} parts, over the floor", 3, over)
    growth = run.ratio(("options", LARGE[2], BASS), ("options", LARGE[1], BASS))
    yield _goal("growth from 100,000 to 1,000,000 parts, bass included", 3, growth)
    for parts in LARGE:
        over = run.ratio(("limits", parts, BASS), ("options", parts, BASS))
        yield _goal(f"limits over one options, {NAMES[BASS]}, {parts:,} parts", 2, over)
    for job in ("bench-1-middling", PLAIN):
        yield _peer(run, job)
    yield _goal("peak memory at 1,000,000 parts, MB", 250, run.of("options", LARGE[2], BASS).get("memory_mb"))
    yield _goal(
        "`measure tern-spare`, 10,000 parts, seconds", 3, run.of("measure", 10_000, "tern-spare").get("seconds")
    )
    fresh = run.document["fresh"]
    for name, most_s in (("why", 0.5), ("measure", 1), ("paper", 1.2)):
        yield _goal(f"`boltback {name}`, fresh, demo, seconds", most_s, fresh[name]["wall"])
    yield _goal("`boltback demo`, processor seconds", 4, fresh["demo"]["worked"])
    for name, times in GOALS.items():
        yield _goal(
            f"`boltback {name}`, fresh, demo, over the floor", times, fresh[name]["wall"] / fresh["floor"]["wall"]
        )


def _peer(run: Run, job: str) -> tuple[str, str, str, str]:
    """How many times as long CP-SAT takes for the best package alone."""
    name, goal = f"CP-SAT's best alone over our ten, 1,000 parts, {NAMES[job]}", 100
    peer, ours = run.of("cpsat", 1000, job), run.of("options", 1000, job)
    if "seconds" not in ours or not peer:
        return name, f"at least {goal}", "not measured", "not known"
    least = peer.get("seconds", peer.get("over")) / ours["seconds"]
    shown = f"{'over ' if 'over' in peer else ''}{least:.3g}"
    return name, f"at least {goal}", shown, "met" if least >= goal else f"missed by {goal / least:.3g} times"


def _goal(name: str, goal: float, found: float | None) -> tuple[str, str, str, str]:
    if found is None:
        return name, f"at most {goal:g}", "not measured", "not known"
    missed = f"missed by {found / goal:.3g} times" if found > goal else "met"
    return name, f"at most {goal:g}", f"{found:.3g}", missed
