"""The demo: a new store of invented data, and the main job on it."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from matcher.commands.base import ForceOption, print_table, say

if TYPE_CHECKING:
    from matcher.shop import Shop

MAIN_JOB = "tern-nocut"
REFUSED_JOB = "dunlin-radio"
STORE_NAME = "demo.duckdb"
MADE = "demo"
"""Log entry at which a demo store is complete: later changes are the user's."""


def demo(
    folder: Annotated[Path, typer.Argument(help="Where the demo's store and answers go.")] = Path("boltback-demo"),
    force: ForceOption = False,
) -> None:
    """Make a new store from the demo's lists, vehicles and jobs, and answer its main job."""
    import data_demo
    from matcher.errors import InputError
    from matcher.shop import Shop

    started = time.monotonic()
    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder} is a file", fix="name a folder, or a name that is free")
    folder.mkdir(parents=True, exist_ok=True)
    store = folder / STORE_NAME
    shop = Shop(store)
    _clear_earlier(shop, force)
    shop.set_all(data_demo.SETTINGS)
    report = shop.catalog.load_families(data_demo.lists())
    say(
        f"{report.lines} lines of {len(report.files)} lists: {report.loaded} loaded, {len(report.problems)} kept as "
        f"problem rows, {sum(report.skipped.values())} skipped"
    )
    vehicles = shop.vehicles.load_all(*data_demo.vehicles())
    jobs = shop.jobs.load_all(*data_demo.jobs())
    shop.note_event(MADE, "store")
    say(f"vehicles {', '.join(vehicles)}; jobs {', '.join(jobs)}; {time.monotonic() - started:.1f} s")
    with shop.store.reading():  # the file stays open from one question to the next
        _answer(shop, folder, jobs, force)
    _next_steps(store)


def _clear_earlier(shop: Shop, force: bool) -> None:
    """Remove the store of an earlier demo; refuse, listing the user's own data, unless `force` is set."""
    from matcher.errors import InputError

    store = shop.store.path
    if not shop.store.exists():
        return
    held = f"{store} is there already: {_held(shop)}"
    if not force:
        raise InputError(held, fix="name another folder, or make the demo anew in this one with --force")
    say(f"{held}; it is made anew")
    for old in (store, store.with_suffix(".duckdb.wal")):
        old.unlink(missing_ok=True)


def _held(shop: Shop) -> str:
    from collections import Counter

    from matcher.errors import StoreFault

    try:
        entries = shop.log().entries
    except StoreFault:
        return "it cannot be read as a store"
    made = max((at for at, entry in enumerate(entries) if entry.what == MADE), default=None)
    if made is None:
        return f"a store of {len(entries)} changes that no demo finished"
    since = Counter(entry.what for entry in entries[made + 1 :])
    added = ", ".join(f"{count} x {what}" for what, count in since.items())
    return f"the demo, and what was done since: {added}" if added else "the demo as it was made"


def _answer(shop: Shop, folder: Path, jobs: list[str], force: bool) -> None:
    """Print the main job and write its papers, and write every job's answer to a file."""
    import json

    from matcher.commands.paper import write_papers
    from matcher.commands.show_options import show_options
    from matcher.store.database.durable import check_target, write_file

    rows = []
    for job in jobs:
        answer = shop.options(job)
        file = folder / f"options-{job}.json"
        check_target(file, force=force)
        write_file(file, json.dumps(answer.to_dict(), ensure_ascii=False) + "\n")
        best = answer.packages[0] if answer.packages else None
        outcome = f"{best.verdict}, {best.price.total:.2f}, {best.alteration}" if best else answer.conflicts[0].says
        rows.append([job, f"{answer.considered:,}", str(len(answer.packages)), outcome])
        if job == MAIN_JOB:
            show_options(answer)
            print()
            write_papers(shop.papers.many(job, options=answer), folder, force=force)
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
