"""How long a load of a million canonical rows takes, over DuckDB reading the same file into typed columns.

Run it by hand: ``python tests/bench/bench_load.py [--rows N] [--rounds N]``. It prints medians and their ratio,
in wall time and in the time of the processors, and the greatest memory of the load.
"""

from __future__ import annotations

import argparse
import json
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import duckdb

from catalog_schema.columns import family_columns
from catalog_schema.kinds import CountKind, FigureKind, MoneyKind
from matcher.store.database.opening import Store
from matcher.store.importing.loading import load_lists

FAMILY = "speaker"
CHOICES = {
    "shape": ("round", "oval"),
    "kind": ("coaxial", "component"),
    "sens_basis": ("1w", "2v83"),
    "basis": ("maker",),
    "bolt_patterns": ("4x92.5", "4x117;2x130", ""),
}
SPANS = {
    "rms_w": (20, 150, 0),
    "impedance_ohm": (2, 8, 0),
    "sens_db": (84, 94, 1),
    "qts": (0.3, 1, 3),
    "price": (20, 500, 2),
}


def write_list(path: Path, rows: int) -> None:
    """A canonical list of loudspeakers, a fifth of its figures unknown."""
    draw = random.Random(1984)
    columns = [column for column in family_columns(FAMILY) if column.name not in ("source", "notes")]
    with path.open("w", encoding="utf-8") as stream:
        stream.write(",".join(column.name for column in columns) + "\n")
        for number in range(rows):
            stream.write(",".join(_cell(column, number, draw) for column in columns) + "\n")


def _cell(column: object, number: int, draw: random.Random) -> str:
    name, kind = column.name, column.kind  # type: ignore[attr-defined]
    if name == "part_id":
        return f"S{number:07d}"
    if name in CHOICES:
        return draw.choice(CHOICES[name])
    if isinstance(kind, FigureKind | MoneyKind):
        low, high, digits = SPANS.get(name, (60, 160, 1))
        unknown = not column.required and draw.random() < 0.2  # type: ignore[attr-defined]
        return "" if unknown else f"{draw.uniform(low, high):.{digits}f}"
    if isinstance(kind, CountKind):
        return str(draw.randint(kind.least or 1, 4))
    return f"{name} {draw.randrange(1000)}"


def floor(path: Path) -> tuple[float, float]:
    """Wall and processor seconds of DuckDB reading the file into a table of typed columns."""
    columns = {column.name: column.kind.sql_type.removesuffix("[]") for column in family_columns(FAMILY)}
    heads = path.open(encoding="utf-8").readline().strip().split(",")
    types = {name: columns[name] for name in heads}
    with tempfile.TemporaryDirectory() as folder, duckdb.connect(str(Path(folder) / "floor.duckdb")) as con:
        started, worked = time.monotonic(), time.process_time()
        con.execute(
            f"create temp table t as select * from read_csv('{path}', auto_detect=false, header=true, "
            f"delim=',', quote='\"', columns={types})"
        )
        return time.monotonic() - started, time.process_time() - worked


def load(path: Path) -> tuple[float, float, float]:
    """Wall and processor seconds and greatest memory in MB of a load into a new store."""
    with tempfile.TemporaryDirectory() as folder:
        started, worked = time.monotonic(), time.process_time()
        report = load_lists(Store(Path(folder) / "shop.duckdb"), [path], FAMILY, sure=True)
        spent = time.monotonic() - started, time.process_time() - worked
        assert report.new == report.lines - 1
    return *spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _alone(what: str, path: Path) -> list[float]:
    """One measurement in a process of its own."""
    run = subprocess.run(
        [sys.executable, __file__, "--only", what, str(path)], capture_output=True, text=True, check=True
    )
    found: list[float] = json.loads(run.stdout)
    return found


def main() -> None:
    """Measure in turns, and print the medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--only", nargs=2)
    told = parser.parse_args()
    if told.only:
        print(json.dumps({"floor": floor, "load": load}[told.only[0]](Path(told.only[1]))))
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "speakers.csv"
        write_list(path, told.rows)
        turns = [(_alone("floor", path), _alone("load", path)) for _ in range(told.rounds)]
    for place, what in enumerate(("wall", "processors")):
        least, whole = (statistics.median(turn[side][place] for turn in turns) for side in (0, 1))
        print(f"{what}: floor {least:.2f} s, load {whole:.2f} s, ratio {whole / least:.2f} (goal 6)")
    print(f"memory of the load: {max(turn[1][2] for turn in turns):.0f} MB (goal 1500)")


if __name__ == "__main__":
    main()
