"""Several counters at work on one page at once, each remembering what it was told was done."""

from __future__ import annotations

import random
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from html.parser import HTMLParser

from matcher import Shop
from tests.web.conftest import Answered, Page, Visitor

SHARED = "tern-nocut"
"""A job that all work on; each has boxes of his own in it."""
BOXES = ("budget", "tiers", "screen_min_in", "at_rest_ma", "notes")


class Sheet(HTMLParser):
    """The form with the id ``sheet``, as a browser would send it."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.form: dict[str, list[str]] = {}
        self._inside = False
        self._area = self._select = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "form":
            self._inside = told.get("id") == "sheet"
        name = told.get("name")
        if not self._inside:
            return
        if tag == "input" and name and (told.get("type") not in ("radio", "checkbox") or "checked" in told):
            self.form.setdefault(name, []).append(told.get("value") or "")
        elif tag == "textarea" and name:
            self._area = name
            self.form[name] = [""]
        elif tag == "select" and name:
            self._select = name
        elif tag == "option" and "selected" in told:
            self.form[self._select] = [told.get("value") or ""]

    def handle_data(self, data: str) -> None:
        if self._area:
            self.form[self._area][0] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = ""


def sheet_of(answer: Answered) -> dict[str, list[str]]:
    """The sheet on a page, to be filled in and sent."""
    return Sheet(answer.text).form


@dataclass
class Counter:
    """One counter: what it did, what it was told, and what went wrong."""

    number: int
    visitor: Visitor
    readings: list[str] = field(default_factory=list)
    own_budget: str = ""
    shared: dict[str, str] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)
    done: int = 0

    @property
    def job(self) -> str:
        """The job that this counter alone works on."""
        return f"counter-{self.number}"

    def begin(self) -> None:
        """Open a job of its own."""
        self._told(self.visitor.send("/jobs", vehicle="tern-8", label=self.job), 303)

    def turn(self, chance: random.Random) -> None:
        """One thing out of what a counter does all day."""
        act = chance.choice((self._read, self._own, self._share, self._share, self._look))
        act(chance)
        self.done += 1

    def _read(self, chance: random.Random) -> None:
        note = f"{self.number}-{self.done}"
        form = {"subject": "opening:skua-p/door", "field": "depth_mm", "value": chance.randrange(40, 90), "by": note}
        if self._told(self.visitor.send("/fit/reading", vehicle="skua-p", **form), 303):
            self.readings.append(note)

    def _own(self, chance: random.Random) -> None:
        budget = str(chance.randrange(500, 5000))
        if self._save(self.job, "budget", budget):
            self.own_budget = budget

    def _share(self, chance: random.Random) -> None:
        if self.number < len(BOXES):
            box, value = BOXES[self.number], str(chance.randrange(2, 21))  # usual of each of them
            if self._save(SHARED, box, value):
                self.shared[box] = value

    def _look(self, chance: random.Random) -> None:
        paths = (
            "/jobs",
            "/catalog?words=ebb",
            "/fit?vehicle=tern-8&opening=dash-top&part=00146",
            f"/job?job={self.job}",
            f"/options?job={self.job}",
        )
        self._told(self.visitor.get(chance.choice(paths)), 200)

    def _save(self, job: str, box: str, value: str) -> bool:
        form = sheet_of(self.visitor.get(f"/job?job={job}")) | {box: [value]}
        return self._told(self.visitor.post(f"/job?job={job}", form), 200)

    def _told(self, answer: Answered, expected: int) -> bool:
        if answer.status != expected:
            self.wrong.append(f"{answer.status}: {answer.text[-600:]}")
        return answer.status == expected


def work(page: Page, count: int, goes_on: Callable[[Counter], bool], *others: Page) -> list[Counter]:
    """Let counters work side by side, each as long as it is to go on; where there are more pages, at all of them."""
    pages = [page, *others]
    counters = [Counter(number, pages[number % len(pages)].visitor()) for number in range(count)]

    def day(counter: Counter) -> None:
        chance = random.Random(counter.number)
        counter.begin()
        while goes_on(counter):
            counter.turn(chance)

    with ThreadPoolExecutor(count) as pool:
        list(pool.map(day, counters))
    return counters


def lost(page: Page, counters: list[Counter]) -> list[str]:
    """What a counter was told was done, and the store does not have."""
    shop = Shop(page.store)
    held = {reading.by for reading in shop.readings.all("opening:skua-p/door")}
    found = [f"reading {note}" for counter in counters for note in counter.readings if note not in held]
    for counter in counters:
        limits = shop.jobs.document(counter.job).document.get("limits") or {}
        if counter.own_budget and str(limits.get("budget")) != counter.own_budget:
            found.append(f"{counter.job}: budget {counter.own_budget}, held {limits.get('budget')}")
    shared = shop.jobs.document(SHARED).document
    now = {**shared["limits"], "notes": shared.get("notes"), "tiers": ", ".join(map(str, shared.get("tiers") or ()))}
    told = {box: value for counter in counters for box, value in counter.shared.items()}
    return found + [f"{box} {value}, held {now.get(box)}" for box, value in told.items() if str(now.get(box)) != value]
