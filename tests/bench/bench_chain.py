"""What a chain costs a counter, in processor time: ``python tests/bench/bench_chain.py [READINGS [CARS [JOBS]]]``.

It starts a PostgreSQL of its own, fills a chain, and asks and changes at a counter with the chain and without. The
server's own time is not in the figures, nor is the way to it: both are on this machine.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from matcher import Shop
from tests.factories import job, plain, speaker, speaker_opening, store_file, vehicle
from tests.postgres import PASSWORD, thrown_away

ROUNDS = 30


def processor_s(work: Callable[[], object], rounds: int = 1) -> float:
    """Seconds of this process's processor time for one round, the middle one of all."""
    taken = []
    for _ in range(rounds):
        started = time.process_time()
        work()
        taken.append(time.process_time() - started)
    return statistics.median(taken)


def filled(folder: Path, readings: int, cars: int, jobs: int) -> Shop:
    """A shop by itself with so many readings, cars and jobs."""
    shop = Shop(store_file(folder / "filled.duckdb", speaker()))
    paths: dict[str, list[Path]] = {"vehicle": [], "job": []}
    documents = [("vehicle", vehicle(speaker_opening(), vehicle_id=f"v{number}")) for number in range(cars)]
    documents += [("job", job(job_id=f"j{number}", vehicle_id=f"v{number % cars}")) for number in range(jobs)]
    for number, (kind, document) in enumerate(documents):
        path = folder / f"{number}.json"
        path.write_text(json.dumps(document, default=plain), encoding="utf-8")
        paths[kind].append(path)
    shop.vehicles.load_all(*paths["vehicle"], by="bench")
    shop.jobs.load_all(*paths["job"], by="bench")
    with shop.store.changing() as con:
        con.execute(
            "insert into reading (subject, field, value, basis, by_whom, read_at) "
            "select 'opening:v' || (n % $2) || '/door', 'depth_mm', (60 + n % 20)::varchar, 'measured', 'bench', now() "
            "from range($1) r(n)",
            [readings, cars],
        )
    return shop


def main(readings: int = 20_000, cars: int = 500, jobs: int = 2_000) -> None:
    os.environ["PGPASSWORD"], os.environ["BOLTBACK_BY"] = PASSWORD, "bench"
    with thrown_away() as server, server.lent() as lend, tempfile.TemporaryDirectory() as name:
        folder, address = Path(name), lend()
        shop = filled(folder, readings, cars, jobs)

        def change() -> None:
            shop.readings.add("part:speaker-1", "depth_mm", 58)

        print(f"{readings:,} readings, {cars:,} cars, {jobs:,} jobs; seconds of the counter's processor time")
        print(f"a question by itself     {processor_s(shop.settings, ROUNDS):.4f}")
        print(f"a change by itself       {processor_s(change, ROUNDS):.4f}")
        print(f"joined with all of it    {processor_s(lambda: shop.sharing.join(address)):.1f}")
        print(f"a question in the chain  {processor_s(shop.settings, ROUNDS):.4f}")
        print(f"a change in the chain    {processor_s(change, ROUNDS):.4f}")
        other = Shop(store_file(folder / "other.duckdb", speaker()))
        print(f"a new counter takes all  {processor_s(lambda: other.sharing.join(address)):.1f}")

        def others() -> float:
            change()
            return processor_s(other.settings)

        taken = statistics.median(others() for _ in range(ROUNDS))
        print(f"a question after another's change  {taken:.4f}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
