"""What is typed is what is stored, at any rhythm, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Browser, expect
from playwright.sync_api import Page as Tab

from matcher import Shop
from tests.soak import first
from tests.web.conftest import Page
from tests.web.typists import Tally, trial


@pytest.mark.parametrize("runs", first(1, [2, 200]))
def test_typed_values_are_stored(browser: Browser, page: Page, runs: int) -> None:
    tally = Tally()
    for seed in range(runs):
        trial(browser, page.url, page.visitor(), seed, tally)
    assert (tally.runs, tally.wrong) == (runs, [])
    assert tally.values > runs


@pytest.fixture
def tab(browser: Browser) -> Any:
    """A tab of its own."""
    context = browser.new_context(viewport={"width": 900, "height": 600})
    yield context.new_page()
    context.close()


def budget(page: Page) -> object:
    """The budget of the job that is typed into."""
    return Shop(page.store).jobs.document("skua-work").document["limits"].get("budget")


def type_budget(tab: Tab, page: Page, value: str) -> None:
    """Type a budget into the job's sheet, and stay in its box."""
    tab.goto(f"{page.url}/job?job=skua-work")
    tab.locator("#budget").select_text()
    tab.keyboard.type(value)


def test_half_a_value_is_not_said_to_be_saved(tab: Tab, page: Page) -> None:
    before = budget(page)
    type_budget(tab, page, "34")
    expect(tab.locator("#said")).to_contain_text("Not saved yet")
    tab.locator("#step-bolt_in").check()  # by a pointer: the box is left
    expect(tab.locator("#said .saved")).to_have_text("Saved.")
    assert (before != 34, budget(page)) == (True, 34)


BAD = "a lot"


def bad_budget(tab: Tab, page: Page, leave: Callable[[], None]) -> None:
    """A budget that cannot be read is marked at its box, in view and focused; the old one stays stored."""
    before = budget(page)
    type_budget(tab, page, BAD)
    leave()
    box = tab.locator("#budget")
    expect(box).to_have_attribute("aria-invalid", "true")
    expect(tab.locator("#budget-remark")).to_contain_text(f"Found “{BAD}”; expected an amount")
    expect(box).to_be_focused()
    expect(box).to_be_in_viewport()
    expect(box).to_have_value(BAD)
    assert budget(page) == before


@pytest.mark.parametrize("name", ["Next: packages", "Save"])
def test_a_value_that_cannot_be_read_is_not_ranked_without(tab: Tab, page: Page, name: str) -> None:
    bad_budget(tab, page, lambda: tab.get_by_role("button", name=name, exact=True).click())
    assert tab.url.endswith("/job?job=skua-work")


def test_a_link_waits_until_what_was_typed_is_stored(tab: Tab, page: Page) -> None:
    type_budget(tab, page, "2750")
    tab.get_by_role("link", name="Choose").click()
    tab.wait_for_url("**/choose?job=skua-work")
    assert budget(page) == 2750
    bad_budget(tab, page, lambda: tab.get_by_role("link", name="Packages").click())


def test_beside_a_box_that_cannot_be_read_all_others_are_saved(tab: Tab, page: Page) -> None:
    type_budget(tab, page, BAD)
    tab.locator("#notes").fill("quick")
    tab.locator("#notes").press("Tab")
    expect(tab.locator("#said .saved")).to_contain_text("Everything is saved except: Budget")
    expect(tab.locator("#notes")).to_have_value("quick")
    assert Shop(page.store).jobs.document("skua-work").document["notes"] == "quick"
    tab.locator("#budget").fill("1999")
    tab.locator("#budget").press("Enter")
    expect(tab.locator("#said .saved")).to_have_text("Saved.")
    expect(tab.locator("#budget")).not_to_have_attribute("aria-invalid", "true")
    assert budget(page) == 1999


def test_without_a_script_the_box_is_marked_and_focused_too(browser: Browser, page: Page) -> None:
    context = browser.new_context(java_script_enabled=False)
    tab = context.new_page()
    bad_budget(tab, page, lambda: tab.get_by_role("button", name="Next: packages").click())
    tab.locator("#budget").fill("1888")
    tab.get_by_role("button", name="Next: packages").click()
    tab.wait_for_url("**/options?job=skua-work")
    assert budget(page) == 1888
    context.close()


def test_a_page_that_is_gone_gets_what_was_typed_when_it_is_back(tab: Tab, page: Page) -> None:
    tab.goto(f"{page.url}/job?job=skua-work")
    tab.context.set_offline(True)
    tab.locator("#budget").fill("3131")
    tab.locator("#budget").press("Tab")
    expect(tab.locator("#said")).to_contain_text("does not answer")
    tab.locator("#notes").fill("offline")
    tab.locator("#notes").press("Tab")
    assert budget(page) != 3131
    tab.context.set_offline(False)
    expect(tab.locator("#said .saved")).to_have_text("Saved.", timeout=20_000)
    document = Shop(page.store).jobs.document("skua-work").document
    assert (document["limits"]["budget"], document["notes"]) == (3131, "offline")


def test_an_ambiguous_value_is_taken_by_a_button_and_not_by_enter(tab: Tab, page: Page) -> None:
    type_budget(tab, page, "1.500")
    tab.keyboard.press("Enter")
    box = tab.locator("#budget")
    expect(box).to_have_attribute("aria-invalid", "true")
    tab.locator("#notes").fill("both")
    tab.locator("#label").press("Enter")  # Enter saves; it presses none of the buttons
    expect(tab.locator("#said .saved")).to_contain_text("Everything is saved except: Budget")
    assert budget(page) not in (1500, 1.5)
    tab.get_by_role("button", name="1500", exact=True).click()
    expect(tab.locator("#said .saved")).to_have_text("Saved.")
    expect(box).to_have_value("1500")
    expect(box).not_to_have_attribute("aria-invalid", "true")
    assert budget(page) == 1500


def test_an_unusual_figure_is_taken_with_a_tick(tab: Tab, page: Page) -> None:
    tab.goto(f"{page.url}/opening?vehicle=skua-p&opening=door")
    box = tab.locator("[name='box:depth_mm']")
    box.fill("530")
    box.press("Tab")
    expect(tab.locator("[id='box:depth_mm-remark']")).to_contain_text("expected a usual")
    tab.get_by_label("Yes, 530 mm is right").check()
    expect(tab.locator("#said .saved")).to_have_text("Saved.")
    expect(tab.get_by_label("Yes, 530 mm is right")).to_have_count(0)
    tab.reload()
    expect(box).to_have_value("530")
