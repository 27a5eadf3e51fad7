"""The fit matrix beside the bare bucketed join of the same parts and openings, in one run.

Run it by hand: python tests/bench/bench_matrix.py [speakers] [openings] [times]

The join asks two things of each pair, the width of the hole and the depth, and keeps no margin: the floor, once
with counts alone and once with its pairs written as Parquet. The matrix asks every rule and writes verdict, least
alteration, worst rule, margin and tolerance. Both read the same published catalog with one thread; the matrix's part
and place numbers are there already, and what making them takes is told by itself.
"""

from __future__ import annotations

import json
import resource
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import duckdb

from matcher import Shop
from matcher.search.matrix import run, task
from tests.bench.instances import store_of

DRAWN = """
INSERT INTO opening_speaker (vehicle_id, opening_id, kind, basis, shape, count, hole_w_mm, hole_h_mm, depth_mm,
    front_mm, flat_w_mm, flat_h_mm, beside_mm, behind, bolt_circle_mm, bolt_count)
SELECT 'car-' || floor(n / 4)::INT, 'place-' || n, 'speaker', 'measured', shape, 2,
    cutout_w_mm + floor(random() * 6), cutout_h_mm + floor(random() * 6), 40 + floor(random() * 60),
    15 + floor(random() * 20), flange_w_mm + floor(random() * 12), flange_h_mm + floor(random() * 12),
    50 + floor(random() * 30), 'fixed', bolt_circle_mm, bolt_count
FROM (SELECT row_number() OVER () - 1 AS n, * FROM (SELECT * FROM speaker ORDER BY hash(part_id) LIMIT {openings}));
INSERT INTO vehicle (vehicle_id, document) SELECT DISTINCT vehicle_id, '{{}}' FROM opening_speaker
    WHERE vehicle_id LIKE 'car-%'
"""
"""Openings each drawn around a loudspeaker of the catalog: hardly two are alike."""
JOIN = """
WITH o AS (SELECT row_number() OVER () AS place_no, hole_w_mm + 1.5 AS hi, hole_w_mm - 20 AS lo, depth_mm - 1.5 AS deep
    FROM read_parquet('{snap}/opening_speaker.parquet')),
b AS (SELECT *, unnest(range(floor(lo)::INT, floor(hi)::INT + 1)) AS bucket FROM o)
SELECT {what} FROM read_parquet('{snap}/speaker.parquet') s JOIN b ON floor(s.cutout_w_mm)::INT = b.bucket
WHERE s.cutout_w_mm BETWEEN b.lo AND b.hi AND s.depth_mm <= b.deep {grouped}
"""


def main() -> None:
    """Time both so many times, and print the medians and their ratios."""
    speakers, openings, times = (int(text) for text in (*sys.argv[1:], *("100000", "1000", "3")[len(sys.argv) - 1 :]))
    with tempfile.TemporaryDirectory() as folder:
        shop = drawn(Path(folder), speakers, openings)
        out = Path(folder) / "out"
        prepared = median(lambda: prepare(shop, out), 1)
        snapshot = str(next((out / "catalog").glob("v*")))
        question = task.read_matrix_question(out)
        counted = JOIN.format(snap=snapshot, what="place_no, count(*) AS many", grouped="GROUP BY 1")
        written = JOIN.format(snap=snapshot, what="place_no, part_id", grouped="")
        taken = {
            "join, counts": median(lambda: join(counted, out), times),
            "join, pairs written": median(lambda: join(written, out), times),
            "matrix": median(lambda: every_share(question.tasks, snapshot, str(out)), times),
            "before it: publishing, numbering parts and places": prepared,
        }
        report(taken, run._told(out, question, 0), duckdb.sql(f"SELECT sum(many) FROM ({counted})").fetchall()[0][0])


class ReadyError(Exception):
    """The folder of a matrix is made ready."""


class NoEngine:
    """Runs no task at all."""

    def run(self, left: Sequence[int], tasks: int, snapshot: str, out: str) -> Iterator[str]:
        raise ReadyError


def prepare(shop: Shop, out: Path) -> None:
    """Publish the catalog, and number its parts and openings."""
    with suppress(ReadyError):
        shop.matrix(out, family="speaker", on=NoEngine())


def drawn(folder: Path, speakers: int, openings: int) -> Shop:
    """A store with so many drawn loudspeakers and openings."""
    path = folder / "shop.duckdb"
    shutil.copy(store_of(int(speakers / 0.4)), path)  # that share of a drawn catalog are loudspeakers
    shop = Shop(path)
    with shop.store.changing() as con:
        con.execute("SELECT setseed(0.5)")
        con.execute("DELETE FROM opening_speaker")
        con.execute(DRAWN.format(openings=openings))
    return shop


def every_share(tasks: int, snapshot: str, out: str) -> None:
    """The whole matrix, its catalog published and its openings numbered already."""
    for share in range(tasks):
        task.matrix_task(share, tasks, snapshot, out)


def join(sql: str, out: Path) -> None:
    """One bare join into a file."""
    with duckdb.connect(config={"threads": 1}) as con:
        con.execute(f"COPY ({sql}) TO '{out}/bare.parquet' (FORMAT parquet)")


def median(work: Callable[[], object], times: int) -> float:
    """The median of some runs, in seconds."""
    taken = []
    for _ in range(times):
        begun = time.process_time()
        work()
        taken.append(time.process_time() - begun)
    return statistics.median(taken)


def report(times: dict[str, float], made: run.Matrix, joined: int) -> None:
    """Print it, as JSON: seconds of processor time."""
    floor = times["join, pairs written"]
    print(
        json.dumps(
            {
                "openings": made.openings,
                "not_alike": made.places,
                "pairs": made.pairs,
                "pairs_of_the_join": joined,
                "verdicts": made.verdicts,
                "seconds": {name: round(taken, 2) for name, taken in times.items()},
                "matrix_over_join_counts": round(times["matrix"] / times["join, counts"], 1),
                "matrix_over_join_written": round(times["matrix"] / floor, 1),
                "tasks": made.tasks,
                "memory_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
            },
            indent=1,
        )
    )


if __name__ == "__main__":
    main()
