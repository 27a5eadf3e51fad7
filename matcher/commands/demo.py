"""The demo: a new store of invented data, and the main job on it."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Annotated

import typer

from matcher.commands.base import print_table, say

MAIN_JOB = "tern-nocut"
REFUSED_JOB = "dunlin-radio"
STORE_NAME = "demo.duckdb"


def demo(
    folder: Annotated[Path, typer.Argument(help="Where the demo's store and answers go.")] = Path("boltback-demo"),
) -> None:
    """Make a new store from the demo's lists, vehicles and jobs, and answer its main job."""
    import data_demo
    from matcher.errors import InputError
    from matcher.shop import Shop

    started = time.monotonic()
    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder} is a file", cure="name a folder, or a name that is free")
    folder.mkdir(parents=True, exist_ok=True)
    store = folder / STORE_NAME
    for old in (store, store.with_suffix(".duckdb.wal")):
        old.unlink(missing_ok=True)
    shop = Shop(store)
    report = shop.load_families(data_demo.lists())
    say(
        f"{report.lines} lines of {len(report.files)} lists: {report.loaded} loaded, {len(report.problems)} kept as "
        f"problem rows, {sum(report.skipped.values())} skipped"
    )
    vehicles = shop.load_vehicles(*data_demo.vehicles())
    jobs = shop.load_jobs(*data_demo.jobs())
    for name, value in data_demo.SETTINGS.items():
        shop.set(name, value)
    say(f"vehicles {', '.join(vehicles)}; jobs {', '.join(jobs)}; {time.monotonic() - started:.1f} s")
    _answer(shop, folder, jobs)
    _next_steps(store)


def _answer(shop: object, folder: Path, jobs: list[str]) -> None:
    """The main job on the terminal and as papers, every job's answer as a file."""
    import json

    from matcher.commands.paper import write_papers
    from matcher.commands.show_options import show_options
    from matcher.shop import Shop
    from matcher.store.durable import write_file

    assert isinstance(shop, Shop)
    rows = []
    for job in jobs:
        answer = shop.options(job)
        file = folder / f"options-{job}.json"
        write_file(file, json.dumps(answer.to_dict(), ensure_ascii=False, indent=2) + "\n")
        best = answer.packages[0] if answer.packages else None
        outcome = f"{best.verdict}, {best.price.total:.2f}, {best.alteration}" if best else answer.clash[0].says
        rows.append([job, f"{answer.considered:,}", str(len(answer.packages)), outcome])
        if job == MAIN_JOB:
            show_options(answer)
            print()
            write_papers(shop.papers(job, options=answer), folder)
    print_table(["job", "combinations", "packages", "best, or why not"], rows, right=frozenset({1, 2}))


def _next_steps(store: Path) -> None:
    print(f"\nThe store is {store}, every answer and the papers of {MAIN_JOB} lie beside it. Next:")
    for command in (
        f"boltback options {REFUSED_JOB} --store {store}",
        f"boltback fit 00146 tern-8/dash-top --store {store}",
        f"boltback paper tern-spare proposal --store {store}",
        f"boltback vehicle show tern-8 --store {store}",
        f"boltback catalog problems --store {store}",
    ):
        print(f"  {command}")
