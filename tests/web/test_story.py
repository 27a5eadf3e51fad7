"""A new shop's first day on the page, in a real browser: two raw lists, a car and a tape, a customer, a signed job."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser

from matcher import Shop
from tests.story import PAGE, Desk, on_the_page, page_text


def test_first_day_ends_with_a_signed_job_and_takes_what_the_docs_tell(browser: Browser, tmp_path: Path) -> None:
    by_page, by_commands = tmp_path / "page", tmp_path / "commands"
    by_page.mkdir()
    by_commands.mkdir()
    desk = Desk(by_commands)
    desk.begin()
    assert desk.end()["by"] == "Ida"
    hand, store = on_the_page(browser, by_page)
    shop = Shop(store)
    (state,) = shop.jobs.states()
    assert (state.signed, state.ordered) == (True, True)
    chosen, by_hand = (one.choices.chosen(name) for one, name in ((shop, state.job_id), (Shop(desk.store), "g1")))
    assert {part.part_id for part in chosen.parts} == {part.part_id for part in by_hand.parts} == {"R1", "S2"}
    assert PAGE.read_text("utf-8") == page_text(desk, hand), "python -m tests.story writes it"
