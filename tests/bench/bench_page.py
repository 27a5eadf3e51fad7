"""The page while rankings run beside it: what each light request takes of its processor, and how soon a click answers.

Run it by hand: python tests/bench/bench_page.py
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from matcher import Shop
from matcher.search.what_if.priced import is_outside
from tests.factories import demo_shop
from tests.web.conftest import Page, Visitor, start, stop

MOST_MS = 50
"""Of the page's own processor time for a light request, on a machine at rest; 20 of it open the store."""
MOST_FIT_MS = 150
"""The same for a fit check: some thirty rules as one statement, and the drawing."""
CLICK_MS = 300
"""From a click on a switch whose price is shown to the answer."""
TURNS = 20
BUSY = ("tern-spare", "auk-unmeasured", "tern-nocut", "skua-work")
"""Jobs that are ranked, drawn and looked through for what to measure."""
LIGHT = {
    "jobs": "/jobs",
    "job sheet": "/job?job=tern-nocut",
    "fit check": "/fit?vehicle=tern-8&opening=dash-top&part=00146",
    "opening": "/opening?vehicle=tern-8&opening=dash",
    "catalog search": "/catalog?words=ebb",
    "options, kept": "/options?job=skua-work",
    "choose": "/choose?job=skua-work",
}
CLICKED = ("skua-work", "tern-spare", "auk-unmeasured")
"""Jobs whose switches are moved."""


def spent_ms(process: int) -> float:
    """Processor time of a process so far, by Linux."""
    ticks = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[11:13]
    return sum(map(int, ticks)) * 1000 / os.sysconf("SC_CLK_TCK")


def until_there(visitor: Visitor, path: str, lacks: str) -> str:
    """A page once it lacks some words."""
    while lacks in (text := visitor.get(path).text):
        time.sleep(0.5)
    return text


def wall_ms(work: Callable[[], object]) -> float:
    """Milliseconds by the clock."""
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) * 1000


def light(page: Page, visitor: Visitor) -> dict[str, tuple[float, float]]:
    """For each light request, its mean processor time in the page and its median by the clock."""
    found = {}
    for name, path in LIGHT.items():
        visitor.get(path)
        before = spent_ms(page.process.pid)
        walls = [wall_ms(lambda path=path: visitor.get(path, HX_Request="true")) for _ in range(TURNS)]
        found[name] = (spent_ms(page.process.pid) - before) / TURNS, statistics.median(walls)
    return found


def clicks(visitor: Visitor, shop: Shop) -> list[float]:
    """By the clock: each switch with a price lifted by itself, its answer in full."""
    for job in CLICKED:
        until_there(visitor, f"/options?job={job}", "Ranking packages")
    time.sleep(60)  # as a salesperson reads; what is likely asked next is worked out meanwhile
    found = []
    for job in CLICKED:
        dear = [one.limit for one in shop.limits(job).limits if one.costs and not is_outside(one.limit)]
        for path in (f"/options?job={job}&lift={name}" for name in dear):
            found.append(wall_ms(lambda path=path: visitor.get(path)))
            assert "Ranking packages</h2>" not in visitor.get(path).text, path
    return found


def main() -> None:
    """Measure, print, and fail where it is too slow."""
    with tempfile.TemporaryDirectory() as folder:
        shop = demo_shop(Path(folder) / "shop.duckdb")
        page = start(shop.store.path)
        try:
            visitor, other = page.visitor(), page.visitor()
            clicked = clicks(visitor, shop)
            alone = light(page, visitor)
            for job in BUSY:
                other.get(f"/options?job={job}")
            beside = light(page, visitor)
            still = sum("Ranking packages</h2>" in other.get(f"/options?job={job}").text for job in BUSY)
        finally:
            said = stop(page)
    print("processor ms of the page a request, mean (by the clock, median): alone, and beside rankings")
    for name in LIGHT:
        print(
            f"{name:16} {alone[name][0]:6.1f} ({alone[name][1]:6.1f})  {beside[name][0]:6.1f} ({beside[name][1]:6.1f})"
        )
    print(f"rankings still worked on at the end: {still} of {len(BUSY)}")
    print(f"clicks on {len(clicked)} priced switches, ms by the clock: {', '.join(f'{ms:.0f}' for ms in clicked)}")
    print(f"the page said: {said.strip() or 'nothing'}")
    slow = [name for name in LIGHT if beside[name][0] > (MOST_FIT_MS if name == "fit check" else MOST_MS)]
    sys.exit(bool(slow or not still or max(clicked, default=0) > CLICK_MS))


if __name__ == "__main__":
    main()
