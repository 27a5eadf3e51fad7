"""How long a fresh `boltback fit` and `boltback options` take, over a fresh command that only opens the store.

Run it by hand: ``python tests/bench/bench_start.py [--rounds N] [--parts N] [--only fit]``. The commands take
turns, so that what else the machine does falls on all of them. It prints medians and ratios, in wall time and in
the time of the processors, which what else the machine does disturbs less.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

from instances import KEPT, store_of

BOLTBACK = (sys.executable, "-c", "from matcher.commands import main; main()")
FLOOR = (sys.executable, str(Path(__file__).with_name("floor.py")))
AS_INSTALLED = {name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"} | {
    "PYTHONPYCACHEPREFIX": str(KEPT / "bytecode")
}
"""Bytecode lies on the disk, as an installer leaves it there; here beside the stores, for the project and its peers."""
HOPELESS_S = 20
"""A command that takes longer than that is not measured."""
GOALS = {"fit": 1.2, "options": 1.4}


def commands(parts: int) -> dict[str, list[str]]:
    """What is typed, by what is measured."""
    asked = {
        "floor": (*FLOOR, "SP0000001"),
        "fit": (*BOLTBACK, "fit", "SP0000001", "tern-8/dash-top"),
        "options": (*BOLTBACK, "options", "tern-nocut"),
    }
    return {what: [*words, "--store", str(store_of(parts)), "--json"] for what, words in asked.items()}


def spent(words: list[str]) -> tuple[float, float]:
    """Wall and processor seconds of one command, from a fresh process to its end."""
    before, started = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    subprocess.run(words, check=True, env=AS_INSTALLED, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    wall, after = time.monotonic() - started, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def measured(parts: int, rounds: int, only: list[str]) -> dict[str, tuple[float, float]]:
    """The medians of each command, wall and processor seconds, all run in turns."""
    typed = {what: words for what, words in commands(parts).items() if what in ("floor", *only)}
    for what, words in list(typed.items()):
        if spent(words)[0] > HOPELESS_S:  # the first run also brings files into the cache, and bytecode onto the disk
            del typed[what]
    turns = [{what: spent(words) for what, words in typed.items()} for _ in range(rounds)]
    return {what: tuple(statistics.median(turn[what][side] for turn in turns) for side in (0, 1)) for what in typed}  # type: ignore[misc]


def main() -> None:
    """Measure in turns, and print the medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--parts", type=int, default=10_000)
    parser.add_argument("--only", nargs="+", choices=GOALS, default=list(GOALS))
    told = parser.parse_args()
    found = measured(told.parts, told.rounds, told.only)
    kept = KEPT / "start.json"
    before = json.loads(kept.read_text(encoding="utf-8")) if kept.is_file() else {}
    kept.write_text(json.dumps(before | dict.fromkeys(told.only, ()) | found), encoding="utf-8")
    floor = found["floor"]
    for what in [one for one in told.only if one not in found]:
        print(f"{what:8} over {HOPELESS_S} s")
    for what, (wall, worked) in found.items():
        goal = f", goal {GOALS[what]}" if what in GOALS else ""
        print(
            f"{what:8} {wall * 1000:5.0f} ms, processors {worked * 1000:5.0f} ms; "
            f"over the floor {wall / floor[0]:.2f}, processors {worked / floor[1]:.2f}{goal}"
        )


if __name__ == "__main__":
    main()
