"""Typing at random rhythms into the forms that are saved as one goes, in a real browser: is what is typed stored?"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field

from playwright.sync_api import Browser, Page, expect

from tests.web.conftest import Visitor
from tests.web.counters import sheet_of

Values = dict[str, str]

AMOUNTS = ("343", "1250", "1999.5", "87", "640", "12345")
LENGTHS = ("61", "131.5", "61 ± 0.5", "2 3/8 in", "148", "70.25")
AHS = ("45", "63", "100", "72.5")
WORDS = ("two of us", "blue, with a dent", "x", "Ferry day: 7:15", "line one")
FORMS: dict[str, dict[str, tuple[str, ...]]] = {
    "/job?job=skua-work": {"budget": AMOUNTS, "screen_min_in": ("7", "9.5"), "notes": WORDS, "label": WORDS},
    "/opening?vehicle=skua-p&opening=door": {
        "box:depth_mm": LENGTHS,
        "box:front_mm": LENGTHS,
        "box:label": WORDS,
        "box:beside_mm": LENGTHS,
    },
    "/vehicle?vehicle=auk-e": {"box:label": WORDS, "box:electrical.battery_ah": AHS, "box:notes": WORDS},
}
"""By the address of the form: the boxes that are typed into, and what may be typed there."""
SAVED = "Saved."
SETTLED_MS = 30_000
"""A form that has not said by then that all is stored is stuck."""


@dataclass
class Tally:
    """What was tried, and every difference that was found."""

    runs: int = 0
    values: int = 0
    keys: int = 0
    looks: int = 0
    """How often it was looked at the store in between."""
    wrong: list[str] = field(default_factory=list)


@dataclass
class Typist:
    """Somebody at one tab: what each box holds in whole, and which box is being typed into."""

    tab: Page
    boxes: dict[str, tuple[str, ...]]
    chance: random.Random
    whole: dict[str, list[str]] = field(default_factory=dict)
    """By box, every whole value that it has had, the latest last."""
    inside: str = ""
    keys: int = 0

    def type(self, values: int) -> Iterator[None]:
        """Type some values, one key at each step."""
        pace_ms = self.chance.choice((0, 20, 60, 100, 150))
        for _ in range(values):
            box = self.chance.choice(sorted(self.boxes))
            text = self.chance.choice([one for one in self.boxes[box] if one != self.whole[box][-1]])
            self._enter(box)
            for key in self._keys(text):
                self.tab.keyboard.press(key) if len(key) > 1 else self.tab.keyboard.type(key)
                self.keys += 1
                self.tab.wait_for_timeout(pace_ms * self.chance.uniform(0.3, 2))
                yield
            yield from self._leave(box, text)

    def _enter(self, box: str) -> None:
        self.inside = box
        place = self.tab.locator(f"[name='{box}']")
        place.click() if self.chance.random() < 0.5 else place.focus()
        place.select_text()

    def _keys(self, text: str) -> Iterator[str]:
        for letter in text:
            if self.chance.random() < 0.06:
                yield self.chance.choice("0147")  # a slip of the finger
                yield "Backspace"
            yield letter

    def _leave(self, box: str, text: str) -> Iterator[None]:
        is_area = box.endswith("notes")
        key = self.chance.choice(["Tab", "Tab", "Shift+Tab", *([] if is_area else ["Enter"])])
        self.whole[box].append(text)
        self.inside = ""
        self.tab.keyboard.press(key)
        if self.chance.random() < 0.3:
            self.tab.wait_for_timeout(self.chance.choice((50, 200, 280, 400)))
        yield

    @property
    def says(self) -> str:
        """What the page says of saving."""
        return self.tab.locator("#said .saved").inner_text()


def stored(visitor: Visitor, address: str) -> Values:
    """What the store has in each box of a form."""
    return {name: values[0] for name, values in sheet_of(visitor.get(address)).items()}


def trial(browser: Browser, url: str, visitor: Visitor, seed: int, tally: Tally) -> None:
    """One form typed into, by one or two at once who type into different boxes."""
    chance = random.Random(seed)
    address = chance.choice(sorted(FORMS))
    boxes = list(FORMS[address].items())
    chance.shuffle(boxes)
    tabs = chance.choice((1, 1, 2))
    before = stored(visitor, address)
    context = browser.new_context()
    typists = []
    for own in [boxes] if tabs == 1 else [boxes[:2], boxes[2:]]:
        tab = context.new_page()
        tab.set_default_timeout(SETTLED_MS)
        tab.goto(url + address)
        tab.evaluate("document.querySelectorAll('details').forEach(fold => { fold.open = true; })")
        typists.append(Typist(tab, dict(own), chance, {name: [before[name]] for name, _ in own}))
    _take_turns(typists, visitor, address, tally, chance, seed)
    _end(typists, visitor, address, tally, seed)
    context.close()
    tally.runs += 1
    tally.keys += sum(typist.keys for typist in typists)


def _take_turns(
    typists: list[Typist], visitor: Visitor, address: str, tally: Tally, chance: random.Random, seed: int
) -> None:
    turns = [typist.type(chance.randint(2, 4)) for typist in typists]
    while turns:
        turn = chance.choice(turns)
        if next(turn, turns) is turns:
            turns.remove(turn)
        if chance.random() < 0.05:
            _look(typists, visitor, address, tally, seed)


def _look(typists: list[Typist], visitor: Visitor, address: str, tally: Tally, seed: int) -> None:
    """In between the store has whole values alone, and a page that says "Saved" has nothing that is not in it."""
    tally.looks += 1
    says = [typist.says for typist in typists]
    held = stored(visitor, address)
    for typist, said in zip(typists, says, strict=True):
        for box, values in typist.whole.items():
            if held[box] not in values:
                tally.wrong.append(f"seed {seed}: {box} has {held[box]!r} stored, of {values} typed in whole")
            elif said == SAVED and held[box] != values[-1]:
                tally.wrong.append(f"seed {seed}: {box} says saved, typed {values[-1]!r}, stored {held[box]!r}")


def _end(typists: list[Typist], visitor: Visitor, address: str, tally: Tally, seed: int) -> None:
    """At the end every page says that all is stored, and it is."""
    for typist in typists:
        try:
            expect(typist.tab.locator("#said .saved")).to_have_text(SAVED, timeout=SETTLED_MS)
        except AssertionError:
            tally.wrong.append(f"seed {seed}: never saved: {typist.tab.locator('main').inner_text()[:300]!r}")
    held = stored(visitor, address)
    for typist in typists:
        for box, values in typist.whole.items():
            tally.values += len(values) - 1
            if held[box] != values[-1]:
                tally.wrong.append(f"seed {seed}: {box} typed {values[-1]!r}, stored {held[box]!r}")
            shown = typist.tab.locator(f"[name='{box}']").input_value()
            if shown != values[-1]:
                tally.wrong.append(f"seed {seed}: {box} typed {values[-1]!r}, shown {shown!r}")
