"""The writer of a paper: its words, numbers, and names of places, parts and figures."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING

from catalog_schema.answers import Check, CutNeeded, Line, Package
from catalog_schema.ladder import LADDER_MEANING
from matcher.answers.messages_beside import ROUTE_WORDS
from matcher.answers.sentences import Amount
from matcher.papers.cautions import cautions_of
from matcher.papers.dossier import Dossier
from matcher.papers.model import Block, Document, Items, Picture, Pictures, Section
from matcher.papers.numbers import CENT, Known, Numbers
from matcher.papers.wanted import FigureName, wanted
from matcher.papers.words import Words
from matcher.rules.rule import rule_named

if TYPE_CHECKING:
    from matcher.drawings.svg import Drawing as SvgDrawing

SHEET_MM = 170.0
"""Usable width of a sheet, slightly less than between its margins."""
HIGH_MM = 168.0
"""Maximum height of a drawing on a sheet."""
LEAST_SHARE = 0.83
"""Minimum scale of a drawing for letters of at least 7 points."""
PRINTED_MM = {"a4": (194.0, 246.0), "us-letter": (199.0, 228.0)}
"""Space for a template on a sheet, below its heading: width, height."""
AMPLIFIERS = ("amplifier", "bass_amplifier")
GAP_MM = 6.0
"""Gap between two adjacent drawings."""
NAME = re.compile(r"[^\W\d_]{5,}")
"""A word of a name that might be hyphenated."""
UNSAFE = re.compile(r"[^\w-]+")
"""Characters removed from file names."""
PERCENT = Decimal(100)
BESIDE_SOUND = {"bass", "whole", "amplifier", "head_unit", "car", "film", "security"}
"""Names of places in a gain or check that label the things there."""


@dataclass(frozen=True)
class Writer:
    """All text of a dossier's papers, in one language."""

    dossier: Dossier
    words: Words

    @cached_property
    def numbers(self) -> Numbers:
        """Return the number format of this shop."""
        return Numbers(self.words.language, self.dossier.settings.word("currency"))

    def say(self, key: str, **facts: str) -> str:
        """Return the text of a key."""
        return self.words(key, **facts)

    def again(self, sentence: str) -> str:
        """Translate a text of the answer, with the labels of places and parts."""
        return self.words.again(sentence, self._fact)

    def sentence(self, sentence: str) -> str:
        """Translate it as a separate line, with a capital first letter."""
        text = self.again(sentence)
        return text[:1].upper() + text[1:]

    def money(self, number: Known, *, signed: bool = False) -> str:
        """Format an amount of an answer, which includes tax, to the cent."""
        return self.numbers.money(Decimal(str(number)).quantize(CENT, ROUND_HALF_UP), signed=signed)

    def total(self, package: Package) -> str:
        """Format the total of a package, as "from" if a price of its kit is open."""
        amount = self.money(package.price.total)
        return self.say("word.from", amount=amount) if package.price.from_ else amount

    def rounded(self, number: float, unit: str) -> str:
        """Format a figure as it is heard: half decibels, two significant digits of a frequency."""
        exact = Decimal(str(number))
        if unit == "dB":
            return self.amount(exact, unit)
        exact = exact.quantize(Decimal(1).scaleb(exact.adjusted() - 1), ROUND_HALF_UP)
        return self.amount(exact / 1000, "kHz") if exact >= 1000 else self.amount(exact, unit)

    def listed(self, texts: Sequence[str]) -> str:
        """Join texts with commas, and a word before the last."""
        return " ".join((", ".join(texts[:-1]), self.say("word.and"), texts[-1])) if len(texts) > 1 else "".join(texts)

    def amount(self, number: Known | None, unit: str = "") -> str:
        """Format a number with its unit, or as unknown."""
        if number is None:
            return self.say("word.unknown")
        if f"unit.{unit}" in self.words:
            unit = self.say(f"unit.{unit}", count=str(int(number)))
        return self.numbers.amount(number, unit)

    def place(self, name: str | None) -> str:
        """Return the label of an opening."""
        if name in BESIDE_SOUND:
            return self.say(f"where.{name}")
        return self.words.translated(str(self.dossier.opening(str(name)).get("label") or name or ""))

    def part(self, part_id: str | None) -> str:
        """Return a part by maker and model, or by kind if it has none, such as an original."""
        figures = self.dossier.parts.get(str(part_id))
        return f"{figures['maker']} {figures['model']}" if figures else self.words.again(part_id or "")

    def line(self, line: Line) -> str:
        """Return the name of a package's line."""
        if line.part_id:
            name = line.label or line.part_id
            return self.say("word.owned", part=name) if line.is_owned else name
        return self.words.again(line.label)

    def feature(self, name: str) -> str:
        """Return a feature of a head unit in a customer's words."""
        key = f"feature.{name}"
        return self.say(key) if key in self.words else name.replace("_", " ")

    def slot(self, line: Line) -> str:
        """Return the slot of a line, with its place if there are several."""
        name = self.say(f"slot.{line.slot}")
        return f"{name}: {self.place(line.opening_id)}" if line.slot == "speaker" else name

    def step(self, alteration: str) -> str:
        """Return the alterations that a step of the ladder allows."""
        return self.words.again(LADDER_MEANING[alteration])

    def takes(self, alteration: str, cut: CutNeeded | None) -> str:
        """Describe the alteration of the car by fitting a part."""
        step = self.step(alteration)
        return step if cut is None else f"{step}; {self.cut(cut)}"

    def cut(self, cut: CutNeeded) -> str:
        """Describe the size of a cut opening, and its material."""
        material = self.say(f"material.{cut.material or 'any'}")
        return self.say("word.cut", size=self.numbers.sizes(cut.w_mm, cut.h_mm), material=material)

    def done(self, line: Line) -> str:
        """Describe the alteration of the car for a line: its step of the ladder, and the cut."""
        alteration = self.say(f"done.{'film' if line.slot == 'film' else line.alteration}")
        return alteration if line.cut is None else f"{alteration}; {self.cut(line.cut)}"

    def where(self, figure: FigureName) -> str:
        """Return the place of a figure."""
        vehicle = self.words.translated(str(self.dossier.vehicle.get("label") or figure.thing))
        names = {"opening": self.place(figure.opening_id), "part": self.part(figure.thing), "vehicle": vehicle}
        place = names.get(figure.kind) or self.words.again(figure.thing)
        return f"{place}, {self.words.translated(figure.item)}" if figure.item else place

    def what(self, figure: FigureName) -> str:
        """Return the label of a figure."""
        label = self.words.again(figure.label)
        return f"{label[:1].upper()}{label[1:]}"

    def compares(self, check: Check) -> str:
        """Return the label of a check."""
        return self.words.again(rule_named(check.rule).compares)

    def drawing(self, drawn: SvgDrawing, *, most_mm: float = SHEET_MM) -> Picture:
        """Return a drawing at its scale, or smaller if it exceeds the sheet."""
        return _scaled(drawn, min(1.0, most_mm / drawn.w_mm, HIGH_MM / drawn.h_mm))

    def template(self, drawn: SvgDrawing) -> Picture:
        """Return a full-size drawing on as many sheets as needed."""
        wide, high = PRINTED_MM[self.dossier.settings.word("paper")]
        across, down = math.ceil(drawn.w_mm / wide), math.ceil(drawn.h_mm / high)
        caption = self.say("template.sheets", count=str(across * down)) if across * down > 1 else ""
        return replace(_scaled(drawn, 1.0), true_size=True, across=across, down=down, caption=caption)

    def pictures(self, drawn: Sequence[SvgDrawing], captions: Sequence[str] = ()) -> Pictures:
        """Return drawings side by side at one scale, with captions."""
        share = _shared(drawn)
        texts = [*captions, *("" for _ in drawn)]
        return Pictures(
            drawings=tuple(replace(_scaled(one, share), caption=text) for one, text in zip(drawn, texts, strict=False))
        )

    def legible(self, drawn: Sequence[SvgDrawing]) -> list[Picture | Pictures]:
        """Return drawings in pairs if their letters stay legible, otherwise one below the other."""
        blocks: list[Picture | Pictures] = []
        rest = list(drawn)
        while rest:
            pair, alone = rest[:2], rest[:1]
            if len(pair) > 1 and _shared(pair) >= LEAST_SHARE:
                blocks.append(self.pictures(pair))
                rest = rest[2:]
            else:
                blocks.append(self.drawing(alone[0]))
                rest = rest[1:]
        return blocks

    def document(
        self, kind: str, blocks: list[Block], *, subject: str = "", facts: Mapping[str, str] = MappingProxyType({})
    ) -> Document:
        """Return a paper of a kind with its blocks and further facts; its subject defaults to the job's label."""
        dossier, settings = self.dossier, self.dossier.settings
        sender = tuple(text for name in ("shop_name", "shop_contact") if (text := settings.word(name)))
        job = dossier.job
        return Document(
            name=f"{kind}-{UNSAFE.sub('-', str(job['job_id']))}",
            language=self.words.language,
            sender=sender,
            title=self.say(f"{kind.replace('-', '.')}.title"),
            subject=subject or self.words.translated(str(job.get("label") or job["job_id"])),
            facts=tuple(
                (self.say(f"fact.{name}"), value) for name, value in {**self._facts(kind), **facts}.items() if value
            ),
            blocks=tuple(blocks),
            footer=self.say("footer", job=str(job["job_id"])),
            page=settings.word("paper"),
            page_word=self.say("word.page"),
            names=self._names(),
        )

    def _names(self) -> tuple[str, ...]:
        """Return the words in the names of all parts."""
        named = (f"{one['maker']} {one['model']}" for one in self.dossier.parts.values())
        return tuple(sorted({word for name in named for word in NAME.findall(name)}))

    def verdict(self, verdict: str) -> str:
        """Return the word for a verdict."""
        return self.say(f"verdict.{verdict}")

    def clean(self, clean: bool | None) -> str:
        """Return the word for whether a wave was clean."""
        return "" if clean is None else self.say("word.clean" if clean else "word.clipped")

    def wanted(self, name: str) -> FigureName:
        """Parse a figure name of an answer."""
        return wanted(self.dossier, name)

    def cautions(self, kind: str, extra: Sequence[str] = (), *, beside: bool = False) -> Section:
        """Return the answer's cautions for a kind of paper, and those of this paper alone."""
        dossier = self.dossier
        packages = [one.package for one in dossier.offered] if kind == "proposal" else [self.package]
        lines = [package.lines for package in packages]
        belong = cautions_of(kind, dossier.options.cautions, lines, dossier.vehicle.get("year"))
        items = tuple(dict.fromkeys(f"{self.sentence(one).removesuffix('.')}." for one in (*belong, *extra)))
        return Section(title=self.say("cautions.title"), blocks=(Items(items=items),), beside=beside)

    @property
    def package(self) -> Package:
        """The package of the paper: only the proposal can be made without one."""
        assert self.dossier.package is not None
        return self.dossier.package

    @property
    def amplifiers(self) -> list[str]:
        """The amplifiers of the paper's package, each once."""
        lines = (line for line in self.package.lines if line.slot in AMPLIFIERS and line.part_id)
        return list(dict.fromkeys(str(line.part_id) for line in lines))

    @property
    def vehicle(self) -> str:
        """Name of the vehicle, with its year."""
        vehicle = self.dossier.vehicle
        year, name = vehicle.get("year"), self.words.translated(str(vehicle.get("label") or vehicle["vehicle_id"]))
        return f"{name}, {year}" if year else name

    def _facts(self, kind: str) -> dict[str, str]:
        on = self.dossier.on
        return {
            "vehicle": "" if kind == "order" else self.vehicle,
            "job": "" if kind == "proposal" else str(self.dossier.job["job_id"]),
            "package": "" if kind in ("proposal", "order") else self._package(),
            "date": self.date(f"{on:%Y-%m-%d}"),
        }

    def _package(self) -> str:
        """State which package a paper is about, and whether it was chosen."""
        package, choice = self.dossier.package, self.dossier.choice
        if package is None:
            return ""
        if choice is not None and choice.package is package:
            return self.say("package.chosen", number=str(choice.number), date=self.date(choice.chosen_at[:10]))
        return self.say("package.open", rank=str(package.rank))

    def date(self, iso: str) -> str:
        """Format a date in this language."""
        return self.words.date(date.fromisoformat(iso))

    def _fact(self, name: str, fact: str) -> str:
        if isinstance(fact, Amount):
            return self.money(fact.number) if name == "money" and fact.number else self.amount(fact.number, fact.unit)
        match name:
            case "place" | "spot":
                return self.place(fact)
            case "step":
                return self.step(fact)
            case "feature":
                return self.feature(fact.replace(" ", "_"))
            case "words":
                return self.words.again(ROUTE_WORDS.get(fact, fact))
            case _:
                return self.part(fact) if fact in self.dossier.parts else fact


def _shared(drawn: Sequence[SvgDrawing]) -> float:
    """Return the scale at which drawings fit on a sheet side by side."""
    room = SHEET_MM - GAP_MM * (len(drawn) - 1)
    return min(1.0, room / sum(one.w_mm for one in drawn), HIGH_MM / max(one.h_mm for one in drawn))


def _scaled(drawn: SvgDrawing, share: float) -> Picture:
    width, height = (round(side * share, 3) for side in (drawn.w_mm, drawn.h_mm))
    return Picture(svg=str(drawn), alt=drawn.alt, width_mm=width, height_mm=height)
