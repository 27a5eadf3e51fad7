"""The four pages that count most, in the light, in the dark, on a phone and printed; and the users' tasks."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect
from playwright.sync_api import Page as Tab

from matcher.drawings.pens import PLAIN
from tests.papers.conftest import poppler  # noqa: F401
from tests.papers.test_sheets import dark_lines_mm
from tests.web.conftest import Page
from tests.web.tasks import DESK, PHONE, TASKS, WAIT_MS, played
from tests.web.test_counter import AXE, SCHEMES, violations
from tests.web.test_papers import made_link

PAGES = {
    "packages": "/options?job=tern-nocut",
    "fit": "/fit?vehicle=tern-8&opening=dash-top&part=00146",
    "car": "/vehicle?vehicle=tern-8",
    "customer": "",
}
"""By name: the address; a customer's page has one of its own."""
MOST_SHEETS = {"packages": 2, "fit": 2, "car": 1, "customer": 2}
FOR_SCREENS = ("Quick check", "Archive or delete", "Show D", "See it drawn", "Saved as you go", "Looking for figures")
CUT_OFF = """() => [...document.querySelectorAll('main *')].filter(one =>
    !one.closest('svg, .scroll, .unseen, [class*=unseen]') && one.checkVisibility() && one.clientWidth > 0
    && !['INPUT', 'SELECT', 'TEXTAREA'].includes(one.tagName)
    && [...one.childNodes].some(node => node.nodeType === 3 && node.data.trim())
    && one.scrollWidth > one.clientWidth + 1).map(one => one.outerHTML.slice(0, 120))"""
"""Elements whose text is wider than they are."""


@pytest.fixture(scope="module")
def link(page: Page) -> str:
    """A customer's link."""
    return made_link(page)


def opened(browser: Browser, page: Page, name: str, link: str, **options: Any) -> Tab:
    """A page in a window of its own, once nothing of it is being worked out."""
    tab = browser.new_context(bypass_csp=True, **options).new_page()
    tab.goto(page.url + (PAGES[name] or link))
    if name == "packages":
        expect(tab.locator("#in-car figure").first).to_be_visible(timeout=WAIT_MS)
    return tab


def kept(tab: Tab, folder: Path, name: str) -> None:
    """Take a picture that is not of one color; it stays in the test's folder."""
    assert len(tab.screenshot(path=folder / f"{name}.png", full_page=True)) > 20_000


@pytest.fixture(scope="module", params=PAGES)
def named(request: pytest.FixtureRequest, browser: Browser, page: Page, link: str) -> Iterator[tuple[str, Tab]]:
    """Each of the pages by its name, opened once for the tests that only look at it."""
    tab = opened(browser, page, request.param, link, color_scheme="light", reduced_motion="reduce", viewport=DESK)
    yield request.param, tab
    tab.context.close()


def test_page_passes_accessibility_audit_and_fits_desk_and_phone(named: tuple[str, Tab], tmp_path: Path) -> None:
    name, tab = named
    tab.evaluate(AXE)
    for scheme, rules in SCHEMES.items():
        tab.emulate_media(color_scheme=scheme)
        assert violations(tab, rules) == {}, scheme
        assert tab.evaluate(CUT_OFF) == []
        kept(tab, tmp_path, f"{name}-{scheme}")
    tab.set_viewport_size(PHONE)  # type: ignore[arg-type]
    assert tab.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert tab.evaluate(CUT_OFF) == []
    kept(tab, tmp_path, f"{name}-phone")


def test_print_begins_with_its_content_and_has_no_words_for_screens(
    named: tuple[str, Tab],
    poppler: Callable[..., bytes],  # noqa: F811
) -> None:
    name, tab = named
    tab.emulate_media(color_scheme="light")
    tab.set_viewport_size(DESK)  # type: ignore[arg-type]
    *sheets, rest = poppler("pdftotext", tab.pdf(format="A4"), "-", "-").decode().split("\f")
    told = [" ".join(sheet.split()) for sheet in sheets]
    heading = tab.get_by_role("heading", level=1).first.inner_text()
    assert " ".join(heading.split()) in told[0]
    assert len(told[0].split()) > 40  # more than its heading
    assert (len(sheets) <= MOST_SHEETS[name], rest) == (True, "")
    assert [words for words in FOR_SCREENS if words in " ".join(told)] == []


@pytest.mark.parametrize(
    ("fit", "paper", "bars"),
    [("dash-top&part=00133", "A4", 2), ("dash-top&part=00133", "Letter", 2), ("rear-shelf&part=00145", "A4", 0)],
)
def test_printed_template_has_its_size_or_is_left_out(
    browser: Browser,
    page: Page,
    poppler: Callable[..., bytes],  # noqa: F811
    fit: str,
    paper: str,
    bars: int,
) -> None:
    """In a column of the page, its bars of 100 mm were printed 80 mm long; 00145 has a template larger than a sheet."""
    tab = browser.new_page()
    tab.goto(f"{page.url}/fit?vehicle=tern-8&step=metal_cut&opening={fit}")
    expect(tab.get_by_role("region", name="Template 1:1")).to_be_visible()
    printed = tab.pdf(format=paper)
    assert (b"Print without scaling" in poppler("pdftotext", printed, "-", "-")) == bool(bars)
    last = poppler("pdfinfo", printed, "-").partition(b"Pages:")[2].split()[0].decode()
    lengths = dark_lines_mm(poppler, printed, last)
    bar = 100 + PLAIN.width  # from the outer edge of one tick to that of the other
    assert sum(any(abs(one - bar) < 0.2 for one in across) for across in lengths) == bars
    tab.close()


@pytest.mark.parametrize("task", TASKS)
def test_task_takes_no_more_than_its_clicks_and_fields(browser: Browser, page: Page, link: str, task: str) -> None:
    _, _, clicks, fields = TASKS[task]
    hand, _ = played(browser, task, page.url + (link if task == "accept" else ""))
    assert (hand.clicks, hand.fields) == (clicks, fields)
