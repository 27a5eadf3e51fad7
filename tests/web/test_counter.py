"""The counter's way through the page in a real browser, with a script and without."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Literal
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, expect
from playwright.sync_api import Page as Tab

from tests.web.conftest import Page

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
ANSWER_MS = 90_000
expect.set_options(timeout=20_000)  # rankings of other tests may still be worked on


class Watched:
    """A browser's window over the page, that notes what went wrong in it and whom it asked."""

    def __init__(self, context: BrowserContext, page: Page) -> None:
        self.tab: Tab = context.new_page()
        self.asked: set[str] = set()
        self.wrong: list[str] = []
        self.page = page
        context.on("request", lambda request: self.asked.add(urlsplit(request.url).netloc))
        self.tab.on("pageerror", lambda error: self.wrong.append(str(error)))
        self.tab.on("console", lambda said: self.wrong.append(said.text) if said.type == "error" else None)

    def go(self, path: str) -> Tab:
        """Open a screen."""
        self.tab.goto(f"{self.page.url}{path}")
        return self.tab

    def check(self) -> None:
        """Fail if an error occurred, or if anybody but the page was asked."""
        assert self.asked <= {f"127.0.0.1:{self.page.port}"}
        assert [line for line in self.wrong if "status of 4" not in line] == []


Open = Callable[..., Watched]


@pytest.fixture
def window(browser: Browser, page: Page) -> Iterator[Open]:
    """Windows that are to end without an error, and to have asked nobody but the page."""
    opened: list[tuple[BrowserContext, Watched]] = []

    def open_one(**options: Any) -> Watched:
        context = browser.new_context(**options)
        watched = Watched(context, page)
        opened.append((context, watched))
        return watched

    yield open_one
    for context, watched in opened:
        watched.check()
        context.close()


@pytest.fixture(scope="module")
def audited(browser: Browser, page: Page) -> Iterator[Watched]:
    """One window for all audits: a browser takes longer to open a window than to load a screen.

    A bare test window lets the checker in: it is put in by the driver, the page itself runs no foreign script.
    """
    context = browser.new_context(reduced_motion="reduce", bypass_csp=True)
    yield Watched(context, page)
    context.close()


SCREENS = [
    "/start",
    "/archive?subject=opening:tern-8/dash-top",
    "/jobs",
    "/job?job=tern-nocut",
    "/owned?job=tern-nocut&family=speaker",
    "/options?job=dunlin-radio",
    "/checks?job=skua-work",
    "/why?job=skua-work&part=00139",
    "/vehicles",
    "/vehicle?vehicle=auk-e&job=auk-unmeasured",
    "/opening?vehicle=tern-8&opening=dash",
    "/fit",
    "/fit?vehicle=auk-e&opening=door&part=nowhere",
    "/reading?subject=opening:auk-e/door&field=depth_mm",
    "/quick",
    "/quick?family=speaker&box:part.cutout_w_mm=127&box:part.depth_mm=60&box:opening.hole_w_mm=130&box:opening.depth_mm=x",
    "/choose?job=skua-work",
    "/choose?job=tern-spare",
    "/order?job=tern-spare",
    "/setup?job=tern-spare",
    "/catalog?words=ebb&family=speaker",
    "/part?part=00146",
    "/catalog/problems",
    "/catalog/problem?problem=1",
    "/catalog/history",
    "/name",
    "/nowhere",
]


WIDTHS_PX = (360, 1280)
SCHEMES: dict[Literal["light", "dark"], list[str]] = {"light": WCAG, "dark": ["color-contrast", "link-in-text-block"]}
"""What is audited in light, and once more in dark: the rules of colors."""


def violations(tab: Tab, rules: list[str]) -> dict[str, list[str]]:
    """Violations of accessibility rules with the first elements of each; the auditor has been loaded into the page."""
    found = tab.evaluate("rules => axe.run({runOnly: rules})", rules)
    return {one["id"]: [node["html"][:120] for node in one["nodes"]][:3] for one in found["violations"]}


@pytest.mark.parametrize("path", SCREENS)
def test_screen_passes_accessibility_audit_in_light_and_dark_and_fits_its_window(audited: Watched, path: str) -> None:
    tab = audited.go(path)
    if path.startswith("/options"):
        expect(tab.locator(".tiers, .notice.no").first).to_be_visible(timeout=ANSWER_MS)
    if path.startswith(("/order", "/setup")):
        expect(tab.get_by_text("Looking for open points")).to_have_count(0, timeout=ANSWER_MS)
    tab.evaluate(AXE)
    for scheme, rules in SCHEMES.items():
        tab.emulate_media(color_scheme=scheme)
        assert violations(tab, rules) == {}, scheme
    for width_px in WIDTHS_PX:
        tab.set_viewport_size({"width": width_px, "height": 740})
        assert tab.evaluate("document.documentElement.scrollWidth") <= width_px
    audited.check()


SMALLEST = 24
"""Side in CSS pixels of what is to be hit, by WCAG 2.2 AA."""


@pytest.mark.parametrize(
    "path", ["/fit?vehicle=auk-e&opening=door&part=GA-SP164", "/jobs", "/job?job=tern-nocut", "/setup?job=tern-spare"]
)
def test_click_targets_have_their_least_size(window: Open, path: str) -> None:
    tab = window(viewport={"width": 360, "height": 740}).go(path)
    sides = tab.evaluate(
        "() => [...document.querySelectorAll('button, input:not([type=hidden]), select, summary, .tabs a, .cards a')]"
        ".filter(e => e.offsetParent && getComputedStyle(e).opacity !== '0')"
        ".map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect().height])"
    )
    assert [one for one in sides if one[1] < SMALLEST] == []


@pytest.mark.parametrize("script", [True, False], ids=["with a script", "without"])
def test_a_job_is_begun_limited_and_answered(window: Open, script: bool) -> None:
    tab = window(java_script_enabled=script).go("/jobs")
    tab.get_by_label("Vehicle", exact=True).select_option("skua-p")
    tab.get_by_label("Name at the counter").fill(f"Counter way {script}")
    tab.get_by_role("button", name="Begin").click()
    expect(tab.get_by_role("heading", level=1)).to_have_text(f"Counter way {script}")
    tab.get_by_label("Budget, parts and fitting").fill("900")
    tab.get_by_label("Budget, parts and fitting").press("Tab")
    tab.get_by_role("radio", name="Bolt in").check()
    if script:
        expect(tab.locator("#said")).to_contain_text("Saved.")  # not before the last change is
        tab.reload()
    else:
        tab.get_by_role("button", name="Save").click()
    expect(tab.get_by_label("Budget, parts and fitting")).to_have_value("900")
    expect(tab.get_by_role("radio", name="Bolt in")).to_be_checked()
    tab.get_by_role("button", name="Next: packages").click()
    expect(tab.locator(".tiers, .notice.no").first).to_be_visible(timeout=ANSWER_MS)


def test_lifting_a_limit_shows_what_would_be_and_saves_nothing(window: Open, page: Page) -> None:
    before = page.visitor().get("/job?job=skua-work").value_of("mark")
    tab = window().go("/options?job=skua-work")
    expect(tab.locator(".tiers").first).to_be_visible(timeout=ANSWER_MS)
    expect(tab.locator("#limits")).not_to_contain_text("being worked out", timeout=ANSWER_MS)
    tab.get_by_text("Try other wishes, or without a limit").click()
    if not tab.get_by_role("switch", name="budget").is_visible():
        tab.get_by_text("Limits that cost nothing").click()
    tab.get_by_role("switch", name="budget").check()
    expect(tab.get_by_text("The job is unchanged.")).to_be_visible(timeout=ANSWER_MS)
    expect(tab.locator(".tiers").first).to_be_visible(timeout=ANSWER_MS)
    assert "lift=budget" in tab.url  # it can be gone back to
    assert page.visitor().get("/job?job=skua-work").value_of("mark") == before


@pytest.mark.parametrize(
    ("script", "part", "opening"),
    [(True, "00134", "Front doors"), (False, "SK-SP021", "Load-space sides")],
    ids=["with a script", "without"],
)
def test_in_the_bay_a_reading_decides_a_fit(window: Open, script: bool, part: str, opening: str) -> None:
    tab = window(viewport={"width": 360, "height": 740}, java_script_enabled=script).go("/fit?vehicle=auk-e")
    tab.get_by_label("Part number", exact=True).fill(part)
    tab.locator(".tiles label", has_text=opening).click()
    tab.get_by_role("button", name="Does it fit?").click()
    expect(tab.get_by_role("heading", name="Measure first")).to_be_visible()
    reading = tab.locator("form.reading", has_text="Depth behind the panel")
    reading.get_by_label("What you measured").fill("41")
    reading.get_by_role("button", name="Save").click()
    expect(tab.get_by_text("Saved: Depth behind the panel, 41 mm")).to_be_visible()
    expect(tab.get_by_role("heading", name="Does not fit")).to_be_visible()
    expect(tab.locator(".stamp")).to_contain_text("short")


def test_a_stale_sheet_shows_the_other_changes_and_overwrites_nothing(window: Open) -> None:
    one, other = (window().go("/job?job=tern-spare") for _ in range(2))
    for box, text in (("Notes", "theirs"), ("Budget, parts and fitting", "2100")):
        other.get_by_label(box, exact=True).fill(text)
        other.get_by_label(box, exact=True).press("Tab")
        expect(other.locator("#said")).to_contain_text("Saved.")
    one.get_by_label("Notes", exact=True).fill("mine")
    one.get_by_label("Notes", exact=True).press("Tab")
    expect(one.get_by_role("heading", name="Somebody else has changed this")).to_be_visible()
    expect(one.get_by_label("Notes", exact=True)).to_have_value("mine")
    expect(one.get_by_label("Budget, parts and fitting")).to_have_value("2100")  # it is shown what is there now
    one.get_by_role("button", name="Save").click()
    expect(one.locator("#said")).to_contain_text("Saved.")
    other.get_by_label("Screen of at least").fill("7")
    other.get_by_label("Screen of at least").press("Tab")
    expect(other.get_by_text("both changes are kept")).to_be_visible()
    expect(other.get_by_label("Notes", exact=True)).to_have_value("mine")
    expect(other.get_by_label("Screen of at least")).to_have_value("7")


READER = """
window.BarcodeDetector = class { async detect() { return [{rawValue: " 00134 "}]; } };
HTMLMediaElement.prototype.play = async () => {};
navigator.mediaDevices.getUserMedia = async () => document.createElement("canvas").captureStream(5);
"""
"""A camera that sees one code: Chromium reads none on this system."""


def test_the_camera_types_the_number_if_the_browser_reads_codes(window: Open) -> None:
    watched = window(viewport={"width": 360, "height": 740})
    watched.tab.add_init_script(READER)
    tab = watched.go("/fit")
    tab.get_by_role("button", name="Scan with the camera").click()
    expect(tab.get_by_label("Part number", exact=True)).to_have_value("00134")
    expect(tab.get_by_label("Part number", exact=True)).to_be_focused()


def test_a_part_that_is_not_known_by_number_is_found_by_name(window: Open) -> None:
    tab = window().go("/fit?vehicle=tern-8&opening=dash-top&part=fulmarsk ebb")
    tab.get_by_role("link", name="00139").click()
    expect(tab.locator(".stamp")).to_contain_text("00139 · tern-8/dash-top")


def test_a_drawing_follows_its_figures(window: Open) -> None:
    tab = window().go("/opening?vehicle=skua-p&opening=door")
    before = tab.locator("#drawings svg").first.inner_html()
    tab.get_by_role("textbox", name="Hole diameter (mm)").fill("131")
    tab.get_by_role("textbox", name="Hole diameter (mm)").press("Tab")
    expect(tab.locator("#said")).to_contain_text("Saved.")
    expect(tab.locator("#drawings")).to_contain_text("131")
    assert tab.locator("#drawings svg").first.inner_html() != before


def test_a_vehicle_is_added_with_an_opening_and_its_figures(window: Open) -> None:
    tab = window().go("/vehicles")
    tab.get_by_label("Name at the counter").fill("Dotterel van")
    tab.get_by_role("button", name="Add it").click()
    tab.locator("summary", has_text="Electrical system").click()
    tab.get_by_label("Nominal voltage").fill("12")
    tab.get_by_label("Nominal voltage").press("Tab")
    expect(tab.locator("#said")).to_contain_text("Saved.")
    tab.get_by_label("Name", exact=True).fill("Left door")
    tab.get_by_label("Kind", exact=True).select_option("speaker")
    tab.get_by_role("button", name="Add it").click()
    expect(tab.get_by_role("heading", level=1)).to_have_text("Left door")
    tab.get_by_label("Depth behind the panel").fill("2 3/8 in")
    tab.get_by_label("Depth behind the panel").press("Tab")
    expect(tab.locator("#drawings")).to_contain_text("60.5")
    tab.get_by_role("link", name="Dotterel van").click()
    expect(tab.get_by_label("Nominal voltage")).to_have_value("12")


def test_the_keyboard_reaches_the_sheet_at_once(window: Open) -> None:
    tab = window().go("/jobs")
    tab.keyboard.press("Tab")
    expect(tab.get_by_role("link", name="To the sheet")).to_be_focused()
    tab.keyboard.press("Enter")
    expect(tab.locator("main")).to_be_focused()
