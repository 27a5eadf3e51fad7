"""The page of the page: the users' tasks, timed, and every component in the light, in the dark, narrow and printed.

Run it by hand: python tests/bench/page_looks.py
It writes docs/page.md and docs/pictures/page/.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from playwright.sync_api import Browser, sync_playwright

import data_demo
from tests.factories import demo_shop
from tests.web.conftest import Page, start, stop
from tests.web.tasks import PHONE, WAIT_MS, played
from tests.web.test_papers import made_link

SHARPNESS, MOST_HIGH = 0.7, 520
"""Pixels of a picture on one of the page, and the height at which a long component is cut."""
DESK = {"width": 1000, "height": 800}
DOCS = Path(__file__).resolve().parents[2] / "docs"
PICTURES = DOCS / "pictures" / "page"
MODES: dict[str, dict[str, Any]] = {
    "light": {"viewport": DESK},
    "dark": {"viewport": DESK, "color_scheme": "dark"},
    "narrow": {"viewport": PHONE},
    "printed": {"viewport": {"width": 720, "height": 1000}},
}
PACKAGES, CAR, FIT = "/options?job=tern-nocut", "/vehicle?vehicle=tern-8", "/fit?vehicle=tern-8&opening=dash-top"
COMPONENTS = {
    "path": (PACKAGES, ".path", "The steps of a job, on each of its pages. Not printed."),
    "sentence": (PACKAGES, ".sentence", "Limits (square) and wishes (round) of a job; each leads to its box."),
    "openings": (PACKAGES, "#in-car", "Every opening to scale, by verdict: color, shape and word."),
    "tier": (PACKAGES, ".tier.best", "A package beside others: total first, dash, bars, alteration, one button."),
    "larger": (PACKAGES, "section:has(> .chart)", "Larger loudspeakers: the area cut against the level gained."),
    "others": (PACKAGES, "section:has(> #others)", "Further packages, a line each: as the best one, but ..."),
    "fold": (PACKAGES, "details.fold >> nth=0", "Content that some need sometimes."),
    "conflict": ("/options?job=skua-clash", ".notice.no", "Why nothing meets every limit, as the proposal says it."),
    "stamp": (f"{FIT}&part=00146", ".stamp", "The verdict of a check: the only double border."),
    "checks": (f"{FIT}&part=00146", ".checks >> nth=0", "Every check with its margin as a bar; hatched: open."),
    "reading": ("/fit?vehicle=auk-e&opening=door&part=GA-SP164", "form.reading >> nth=0", "A figure to be measured."),
    "plan": (CAR, ".plan", "The car from above, a pin for each opening: measured, in part, not yet."),
    "body": (CAR, ".bodies", "The kinds of body."),
    "boxes": ("/opening?vehicle=tern-8&opening=dash-top", "#group-opening-0", "Figures: label, unit in the box, hint."),
    "ladder": ("/job?job=tern-nocut", ".ladder", "The alteration ladder, as pictures."),
    "slider": ("/job?job=tern-nocut", ".sliders", "The weights of the wishes."),
    "place": ("/job?job=tern-nocut", ".places", "What is done at each opening."),
}
"""By name: the address, the selector, and what it is for."""
SAYS = {
    "sell": "Salesperson: from a measured car to a chosen package and a page for the customer",
    "measure": "Installer, on a phone: a part to measure first, the reading, the verdict",
    "accept": "Customer, on a phone: look at another package, accept by name",
}

COMPARED = """Compared in turn on 2026-12-01, twice each, four processes waiting: the first version with these steps
(2026-11-30) took 7.4 and 4.3 s, 1.1 and 1.0 s, 0.7 and 0.6 s; this one 5.7 and 5.0 s, 1.2 and 1.1 s, 0.7 and 0.6 s.
Clicks and fields are the same, and seconds differ no more than two runs of one version. Older pages, which had other
steps, were not timed."""


def tasks(browser: Browser, page: Page) -> Iterator[str]:
    """The rows of the table of tasks."""
    for name, says in SAYS.items():
        hand, seconds = played(browser, name, page.url + (made_link(page) if name == "accept" else ""))
        yield f"| {says} | {hand.clicks} | {hand.fields} | {seconds:.1f} |"


def pictures(browser: Browser, page: Page) -> None:
    """Take every component in every mode."""
    shutil.rmtree(PICTURES, ignore_errors=True)
    PICTURES.mkdir(parents=True)
    for mode, options in MODES.items():
        tab = browser.new_context(**options, device_scale_factor=SHARPNESS).new_page()
        shown = ""
        for name, (path, selector, _) in COMPONENTS.items():
            if path != shown:
                tab.goto(page.url + path)
                shown = path
                tab.locator(".wait").first.wait_for(state="detached", timeout=WAIT_MS)
                if path == PACKAGES:
                    tab.locator("#in-car figure").first.wait_for(timeout=WAIT_MS)
            tab.emulate_media(media="print" if mode == "printed" else "screen")
            box = tab.locator(selector).first.bounding_box()
            if box is not None:
                area = {**box, "height": min(box["height"], MOST_HIGH)}
                tab.screenshot(path=PICTURES / f"{name}-{mode}.png", clip=area, full_page=True)
        tab.context.close()


def component(name: str, says: str) -> str:
    """A component with its pictures; one that is not printed has none of that."""
    taken = [mode for mode in MODES if (PICTURES / f"{name}-{mode}.png").exists()]
    cells = (f"![{name}, {mode}](pictures/page/{name}-{mode}.png)" for mode in taken)
    table = f"| {' | '.join(taken)} |\n|{' --- |' * len(taken)}\n| {' | '.join(cells)} |"
    return f"### {name}\n\n{says}\n\n{table}\n"


def main() -> None:
    """Play, photograph and write."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        shop = demo_shop(Path(folder) / "shop.duckdb")
        shop.set_all(data_demo.SETTINGS)
        page = start(shop.store.path)
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        try:
            pictures(browser, page)
            rows = "\n".join(tasks(browser, page))
        finally:
            browser.close()
            stop(page)
    load = f"{os.getloadavg()[0]:.0f} processes waiting for {os.cpu_count()} processors"
    components = "\n".join(component(name, says) for name, (_, _, says) in COMPONENTS.items())
    (DOCS / "page.md").write_text(
        f"""<!-- Made by tests/bench/page_looks.py: do not edit here. -->

# The page

## Three tasks

Played in a real browser on the demo's store, without pauses to read; {load}.
`tests/web/test_looks.py` holds the clicks and fields.

| task | clicks | fields | seconds |
| --- | --: | --: | --: |
{rows}

{COMPARED}

## Components

{components}""",
        encoding="utf-8",
    )


if __name__ == "__main__":
    main()
