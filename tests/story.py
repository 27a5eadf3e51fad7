"""A new shop's first day, by commands and on the page: two raw lists, a car and a tape, a customer, a signed job.

`python -m tests.story` plays both, and writes what each step took into docs/first_day.md.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Locator, expect, sync_playwright
from typer.testing import CliRunner

from matcher.commands.main import app
from tests.web.conftest import start, stop

RADIOS = """Part no;Description;Brand;Model;Price EUR;Body W mm;Body H mm;Body D mm;Face W mm;Face H mm;Days
R1;head unit;Orlebar;OR 1;120,00;178;50;100;190;60;2
R2;head unit;Skelder;SK 2;150,00;178;50;110;190;60;9
"""
SPEAKERS = """part_id,family,maker,model,price,shape,size,cutout_w_mm,depth_mm,flange_w_mm,bolt_circle_mm,bolt_count,\
magnet_mm,front_mm,kind,impedance_ohm,rms_w,sens_db,high_hz,lead_days
S1,speaker,Dunmallet,DM 16,60,round,165 mm,140,55,165,155,4,90,5,coaxial,4,40,92,20000,3
S2,speaker,Tarrowby,TB 16,80,round,165 mm,140,58,165,155,4,90,5,coaxial,4,40,90,20000,3
"""
TAPE = {
    "opening:gull/dash": {"shape": "rect", "w_mm": "184", "h_mm": "54", "depth_mm": "190"},
    "opening:gull/door": {"shape": "round", "hole_w_mm": "5 3/4 in", "bolt_circle_mm": "155", "bolt_count": "4"}
    | {"depth_mm": "7.2 cm", "front_mm": "25", "flat_w_mm": "180", "flat_h_mm": "180", "behind": "fixed"},
    "vehicle:gull": {"system_v": "12", "ground": "negative", "charge_a": "90", "base_load_a": "35"}
    | {"charge_idle_a": "50", "battery_ah": "60"},
}
OPENINGS = {"dash": "dash", "door": "speaker", "seat": "amp_spot"}
SHOP = {"shop_name": "North yard", "currency": "EUR", "tax_pct": "20", "labour_rate": "60"}
STEPS = {
    "shop": "the shop: name, currency, tax, an hour's price",
    "lists": "two suppliers' lists, as they came",
    "car": "the car, its openings and its electrical system, with a tape",
    "job": "the job: a budget, what is wanted",
    "packages": "the packages; she wants another maker",
    "choose": "the package that was shown is chosen",
    "order": "the order, though something is open",
    "sign": "the job is signed",
}
PAGE = Path(__file__).parents[1] / "docs" / "first_day.md"
ANSWER_MS = 150_000


def raw_lists(folder: Path) -> list[Path]:
    """The lists as they came by mail."""
    made = [folder / "orme.csv", folder / "quill.csv"]
    for path, text in zip(made, (RADIOS, SPEAKERS), strict=True):
        path.write_text(text, encoding="utf-8")
    return made


class Desk:
    """The commands of one shop, each as it is typed, counted by the step of the day."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.store = folder, folder / "shop.duckdb"
        self.commands: Counter[str] = Counter()
        self.step = ""

    def says(self, *words: str) -> Any:
        self.commands[self.step] += 1
        run = CliRunner().invoke(app, [*words, "--store", str(self.store), "--json"])
        if run.exception is not None and not isinstance(run.exception, SystemExit):
            raise run.exception
        assert run.exit_code == 0, run.output
        return json.loads(run.stdout)

    def begin(self) -> None:
        """Open the shop, take in its lists, measure the car, begin the job."""
        self.step = "shop"
        self.says("init", *(word for name, value in SHOP.items() for word in (f"--{name.replace('_', '-')}", value)))
        self.step = "lists"
        radios, speakers = map(str, raw_lists(self.folder))
        self.says("catalog", "load", radios, "--kind", "head unit=head_unit")
        self.says("catalog", "load", speakers)
        self.says("catalog", "supplier", "orme", "--price-is", "cost", "--markup", "50")
        self.step = "car"
        openings = (word for name, kind in OPENINGS.items() for word in ("--opening", f"{name}={kind}"))
        self.says("vehicle", "new", "gull", *openings)
        for subject, figures in TAPE.items():
            for field, value in figures.items():
                self.says("reading", "add", subject, field, value)
        self.step = "job"
        wanted = ("--choose", "head_unit", "--choose", "door")
        self.says("job", "new", "g1", "--vehicle", "gull", "--budget", "500", *wanted)

    def end(self) -> Any:
        self.step = "packages"
        self.says("options", "g1")
        shown = self.says("options", "g1", "--without", "Dunmallet", "--keep")["packages"][0]
        self.step = "choose"
        self.says("choose", "g1", shown["id"])
        self.step = "order"
        self.says("order", "g1", "--anyway", "--note", "asked")
        self.step = "sign"
        return self.says("sign", "g1", "--by", "Ida", "--anyway", "--note", "set up at hand-over")["signed"]


class Hand:
    """Somebody at the page, whose fields and clicks are counted by the step of the day."""

    def __init__(self, browser: Browser, url: str) -> None:
        self.url, self.tab = url, browser.new_page()
        self.tab.set_default_timeout(ANSWER_MS)
        self.fields: Counter[str] = Counter()
        self.clicks: Counter[str] = Counter()
        self.step = ""

    def fill(self, name: str, value: str) -> None:
        """Type into a box, or choose in a list; the box by its name."""
        self.fields[self.step] += 1
        place = f":is(input, select, textarea)[name='{name}']"
        self.tab.locator(place).first.wait_for(state="attached")
        if not (box := self.tab.locator(f"{place}:visible").first).count():
            self.tick(f"details:not([open]):has({place}) > summary")
        if box.evaluate("box => box.tagName") == "SELECT":
            box.select_option(value)
        else:
            box.fill(value)
            box.press("Tab")

    def click(self, what: str, role: Any = "button") -> None:
        """Press a button or a link."""
        self._click(self.tab.get_by_role(role, name=what).first)

    def tick(self, place: str) -> None:
        self._click(self.tab.locator(place).first)

    def _click(self, place: Locator) -> None:
        self.clicks[self.step] += 1
        place.click()

    def saved(self) -> None:
        expect(self.tab.locator("#said .saved")).to_have_text("Saved.", timeout=ANSWER_MS)

    def begin(self, lists: list[Path]) -> None:
        """Open the shop, take in its lists, measure the car, begin the job."""
        self.step = "shop"
        self.tab.goto(self.url)
        for name, value in SHOP.items():
            self.fill(name, value)
        self.click("Keep these")
        self.step = "lists"
        for path in lists:
            self.click("Catalog", "link")
            self.fields[self.step] += 1
            self.tab.locator("#list").set_input_files(path)
            self.click("Send it and check its columns")
            self.tab.get_by_role("button", name="Refresh").wait_for()  # behind the page that shows it is read
            if self.tab.locator("[name='kind:head unit']").count():
                self.fill("kind:head unit", "head_unit")
                self.click("Refresh")
            self.click("Load it")
        self.step = "car"
        self.click("Cars", "link")
        self.fill("label", "Gull")
        self.click("Add it")
        for name, value in TAPE["vehicle:gull"].items():
            self.fill(f"box:electrical.{name}", value)
        self.saved()
        for opening, kind in OPENINGS.items():
            self.measure(opening, kind)
        self.step = "job"
        self.fill("label", "Gull, sound")
        self.click("Begin")
        self.fill("budget", "500")
        self.tick("[name='do.dash'][value='choose'] + label")
        self.saved()
        self.click("Next: packages")

    def measure(self, opening: str, kind: str) -> None:
        self.fill("new_label", opening.capitalize())
        self.fill("kind", kind)
        self.click("Add it")
        for name, value in TAPE.get(f"opening:gull/{opening}", {}).items():
            self.fill(f"box:{name}", value)
            self.saved()
        self.click("Gull", "link")

    def end(self) -> None:
        self.step = "packages"
        self.shown()
        self.fill("without", "Dunmallet")
        self.click("Leave out")
        self.shown()
        self.step = "choose"
        self.click("Choose A")
        self.step = "order"
        self.click("Next: order", "link")
        self.anyway("asked")
        self.click("Make the orders")
        self.step = "sign"
        self.click("Hand over", "link")
        self.anyway("set up at hand-over")
        self.fill("by", "Ida")
        self.click("Sign the job off")

    def shown(self) -> None:
        """Wait for the packages."""
        expect(self.tab.locator(".tiers").first).to_be_visible(timeout=ANSWER_MS)

    def anyway(self, note: str) -> None:
        """Go on though something is open."""
        self.tick("#anyway")
        self.fill("reason", note)


def on_the_page(browser: Browser, folder: Path) -> tuple[Hand, Path]:
    served = start(folder / "shop.duckdb")
    hand = Hand(browser, served.url)
    try:
        hand.begin(raw_lists(folder))
        hand.end()
        return hand, served.store
    finally:
        stop(served)


def page_text(desk: Desk, hand: Hand) -> str:
    rows = [
        f"| {says} | {desk.commands[step]} | {hand.fields[step]} | {hand.clicks[step]} |"
        for step, says in STEPS.items()
    ]
    rows.append(f"| all | {desk.commands.total()} | {hand.fields.total()} | {hand.clicks.total()} |")
    head = ["<!-- Made by python -m tests.story: do not edit here. -->", "", "# A new shop's first day", ""]
    head += ["From two raw lists and a tape measure to a signed job, by commands or on the page, no file by hand.", ""]
    head += ["| step | commands | boxes filled in on the page | clicks |", "|---|--:|--:|--:|"]
    return "\n".join([*head, *rows, ""])


def main() -> None:
    with tempfile.TemporaryDirectory() as by_commands, tempfile.TemporaryDirectory() as by_page:
        desk = Desk(Path(by_commands))
        desk.begin()
        desk.end()
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
            hand, _ = on_the_page(browser, Path(by_page))
            browser.close()
    PAGE.write_text(page_text(desk, hand), encoding="utf-8")


if __name__ == "__main__":
    main()
