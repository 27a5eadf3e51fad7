"""How long fresh commands take, over a fresh command that imports the same libraries and opens the store.

The commands take turns, so that whatever else the machine does falls on all of them alike.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

import data_demo
from tests.bench.instances import KEPT
from tests.factories import demo_shop

BOLTBACK = (sys.executable, "-c", "from matcher.commands import main; main()")
FLOOR = (sys.executable, str(Path(__file__).with_name("floor.py")), "00146")
AS_INSTALLED = {name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"} | {
    "PYTHONPYCACHEPREFIX": str(KEPT / "bytecode")
}
"""Bytecode is kept on the disk, as an installer leaves it there."""
COMMANDS = {
    "fit": "fit 00146 tern-8/dash-top --json",
    "options": "options tern-nocut --json",
    "options, in conflict": "options skua-clash --json",
    "limits": "limits tern-nocut --json",
    "why": "why skua-clash --json",
    "measure": "measure auk-unmeasured --json",
    "paper": "paper tern-nocut proposal --format html,pdf --out {folder}",
}
GOALS = {"fit": 1.2, "options": 2.5}
"""Times the floor."""


class Spent(NamedTuple):
    """Seconds of a command, from a fresh process to its end."""

    wall: float
    worked: float


def spent(words: list[str]) -> Spent:
    """The seconds of one run."""
    before, started = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    run = subprocess.run(words, env=AS_INSTALLED, capture_output=True, text=True, check=False)
    if run.returncode:
        raise RuntimeError(f"{' '.join(words)}: {run.stderr}")
    wall, after = time.monotonic() - started, resource.getrusage(resource.RUSAGE_CHILDREN)
    return Spent(wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def measured(rounds: int) -> dict[str, Spent]:
    """Medians of each command on the demo's store, all run in turns; the demo itself is measured once."""
    with tempfile.TemporaryDirectory() as scratch:
        shop = demo_shop(Path(scratch) / "shop.duckdb")
        shop.set_all(data_demo.SETTINGS)

        def turn() -> dict[str, Spent]:
            """Every command once; a paper goes into a folder of its own, since nothing is written over."""
            folder = tempfile.mkdtemp(dir=scratch)
            typed = {"floor": [*FLOOR, "--json"]}
            typed |= {name: [*BOLTBACK, *text.format(folder=folder).split()] for name, text in COMMANDS.items()}
            return {name: spent([*words, "--store", str(shop.store.path)]) for name, words in typed.items()}

        turn()  # the first one brings files into the cache and bytecode onto the disk
        turns = [turn() for _ in range(rounds)]
        found = {
            name: Spent(*(statistics.median(one[name][at] for one in turns) for at in (0, 1))) for name in turns[0]
        }
        return found | {"demo": spent([*BOLTBACK, "demo", str(Path(scratch) / "demo")])}
