"""Three users' tasks, played in a real browser: every click and every field that is filled in counts."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Browser, Locator, expect
from playwright.sync_api import Page as Tab

WAIT_MS = 120_000
DESK, PHONE = {"width": 1280, "height": 800}, {"width": 360, "height": 740}


@dataclass
class Hand:
    """A user's hand over one window."""

    tab: Tab
    clicks: int = 0
    fields: int = 0

    def press(self, what: Locator) -> None:
        """Click a button, a link or a tile."""
        what.first.click(timeout=WAIT_MS)
        self.clicks += 1

    def fill(self, box: str | Locator, text: str) -> None:
        """Type into a box, by its label."""
        (self.tab.get_by_label(box, exact=True) if isinstance(box, str) else box).fill(text)
        self.fields += 1

    def button(self, name: str) -> Locator:
        """A button by its name."""
        return self.tab.get_by_role("button", name=name)


def sell(hand: Hand, url: str) -> None:
    """A salesperson: from a car that is measured to a chosen package and a page for the customer."""
    hand.tab.goto(f"{url}/vehicle?vehicle=tern-8")
    hand.fill(hand.tab.locator("#job-label"), "A screen for the Tern")
    hand.press(hand.button("Begin"))
    hand.fill("Budget, parts and fitting", "1800")
    hand.press(hand.tab.get_by_role("radio", name="Bolt on"))
    hand.press(hand.button("Next: packages"))
    hand.press(hand.tab.locator(".tier.best").get_by_role("button"))
    hand.press(hand.button("Make a page for the customer"))
    expect(hand.tab.get_by_text("Copy this address now")).to_be_visible(timeout=WAIT_MS)


def measure(hand: Hand, url: str) -> None:
    """An installer with a phone: a part that must be measured first, a reading, the verdict."""
    hand.tab.goto(f"{url}/fit?vehicle=auk-e")
    hand.fill("Part number", "GA-SP164")
    hand.press(hand.tab.locator(".tiles label", has_text="Front doors"))
    hand.press(hand.button("Does it fit?"))
    reading = hand.tab.locator("form.reading", has_text="Depth behind the panel")
    hand.fill(reading.get_by_label("What you measured"), "71")
    hand.press(reading.get_by_role("button", name="Save"))
    expect(hand.tab.get_by_text("Saved: Depth behind the panel, 71 mm")).to_be_visible(timeout=WAIT_MS)


def accept(hand: Hand, url: str) -> None:
    """A customer with the shop's link: looks at another package, goes back, accepts by name."""
    hand.tab.goto(url)
    hand.press(hand.tab.locator(".picks label"))
    hand.fill("Your name", "Ada")
    hand.press(hand.button("Accept"))
    expect(hand.tab.get_by_role("heading", name="Thank you")).to_be_visible(timeout=WAIT_MS)


TASKS: dict[str, tuple[Callable[[Hand, str], None], dict[str, int], int, int]] = {
    "sell": (sell, DESK, 5, 2),
    "measure": (measure, PHONE, 3, 2),
    "accept": (accept, PHONE, 2, 1),
}
"""By name: how it is played, the window, and the most clicks and fields that it may take."""


def played(browser: Browser, name: str, url: str) -> tuple[Hand, float]:
    """Play a task in a window of its own; the hand afterwards, and the seconds that it took."""
    play, size, _, _ = TASKS[name]
    tab = browser.new_page(viewport=size)  # type: ignore[arg-type]
    hand, begun = Hand(tab), time.monotonic()
    play(hand, url)
    tab.close()
    return hand, time.monotonic() - begun
