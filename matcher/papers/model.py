"""A paper as data: what stands on it, in which order. Both renderers draw this and nothing else.

Every text is a plain string: nothing in it is ever read as markup, by either renderer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from itertools import chain
from typing import Any, ClassVar, Literal

Tone = Literal["plain", "lead", "note", "warn"]
Mark = Literal["bullet", "number", "tick"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Para:
    """A paragraph; ``lead`` opens a paper, ``note`` is small, ``warn`` stands out."""

    kind: ClassVar[str] = "para"
    text: str
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Items:
    """A list: points, steps in their order, or squares to tick."""

    kind: ClassVar[str] = "items"
    items: tuple[str, ...]
    mark: Mark = "bullet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under heads."""

    kind: ClassVar[str] = "table"
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    """Columns of figures, set to the right."""
    strong: tuple[int, ...] = ()
    """Rows that the eye should find first."""
    widths: tuple[float, ...] = ()
    """Shares of the width; none given: all alike."""
    side: bool = False
    """Whether the first column heads its row, as where things stand side by side."""
    bars: tuple[float, ...] = ()
    """By row the length of a bar under its last cell, 0 to 1; none given: no bars."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture of our own making."""

    kind: ClassVar[str] = "drawing"
    svg: str
    alt: str
    """Description for a reader who cannot see it."""
    caption: str = ""
    width_mm: float
    height_mm: float
    true_size: bool = False
    """Whether it is to be laid on the car: then it is never scaled."""
    across: int = 1
    down: int = 1
    """On how many sheets beside and below each other it has to be printed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """Drawings beside each other."""

    kind: ClassVar[str] = "pictures"
    drawings: tuple[Picture, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frames:
    """Empty frames beside each other, to put photographs in."""

    kind: ClassVar[str] = "frames"
    labels: tuple[str, ...]
    high_mm: float = 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A ruled line to fill in by hand, or what was filled in."""

    label: str
    unit: str = ""
    given: str = ""
    tick: bool = False
    """Whether it is a square to tick, not a line to write on."""
    wide: bool = False
    """Whether it is a box large enough to write a figure in at the car."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """Boxes to fill in, under a heading of their own, with what to do and what to type afterwards."""

    kind: ClassVar[str] = "form"
    title: str = ""
    lines: tuple[str, ...] = ()
    rows: tuple[tuple[Box, ...], ...] = ()
    """Boxes to fill in, row by row."""
    command: str = ""
    """Command that enters the result, to be typed as printed."""
    drawing: Picture | None = None
    """Text beside it."""
    code: Picture | None = None
    """A code to scan, which opens the form that takes the result."""
    quiet: bool = False
    """Whether others come first: then it is drawn in gray."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and what stands under it."""

    kind: ClassVar[str] = "section"
    title: str
    blocks: tuple[Block, ...]
    wide: bool = False
    """Whether it has sheets of its own, with narrow margins."""
    whole: bool = False
    """Whether it is kept on one page."""
    new_page: bool = False
    """Whether it begins a page."""
    beside: bool = False
    """Whether it may stand beside the next one that may."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A figure with a bar of its size."""

    label: str
    value: str
    share: float
    """Filled share of the bar, 0 to 1."""
    today: float | None = None
    """Where the sound that the car has now lies on it, if that is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A package on offer, in short."""

    title: str
    total: str
    under: str
    """Basis of the total, in small letters under it."""
    bars: tuple[Bar, ...]
    text: str
    note: str
    strong: bool = False
    """Whether it stands out from the others."""
    ticked: bool = False
    """Whether its square is ticked already."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cards:
    """Packages on offer beside each other, each with a square to tick."""

    kind: ClassVar[str] = "cards"
    cards: tuple[Card, ...]


Block = Para | Items | Table | Picture | Pictures | Frames | Form | Cards | Section


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole paper."""

    name: str
    """Its file's name, without an ending."""
    language: str
    sender: tuple[str, ...]
    """Issuer, line by line."""
    title: str
    subject: str
    """Subject, in a line."""
    facts: tuple[tuple[str, str], ...]
    """The strip under the title: what it belongs to."""
    blocks: tuple[Block, ...]
    footer: str
    page: str = "a4"
    page_word: str = ""
    """Format of a page's number."""
    names: tuple[str, ...] = ()
    """Words that are never hyphenated: those of makers and models."""

    def to_dict(self) -> dict[str, Any]:
        """The paper as plain data, each block with its kind."""
        return asdict(self) | {"blocks": [_plain(block) for block in self.blocks]}

    def texts(self) -> Iterator[str]:
        """Every text on it, in reading order."""
        yield from (*self.sender, self.title, self.subject)
        for label, value in self.facts:
            yield from (label, value)
        for block in self.blocks:
            yield from _texts(block)
        yield self.footer


def _plain(block: Block) -> dict[str, Any]:
    inner = {"blocks": [_plain(one) for one in block.blocks]} if isinstance(block, Section) else {}
    return asdict(block) | {"kind": block.kind} | inner


def _texts(block: Block) -> Iterator[str]:
    match block:
        case Para():
            yield block.text
        case Items():
            yield from block.items
        case Table():
            yield from block.heads
            for row in block.rows:
                yield from row
        case Picture():
            yield block.caption
        case Pictures():
            yield from (one.caption for one in block.drawings)
        case Frames():
            yield from block.labels
        case Form():
            yield from (block.title, *block.lines)
            for box in chain.from_iterable(block.rows):
                yield from (box.label, box.given, box.unit)
            yield block.command
            yield from (one.caption for one in (block.drawing, block.code) if one is not None)
        case Cards():
            for card in block.cards:
                yield from (card.title, card.total, card.under)
                for bar in card.bars:
                    yield from (bar.label, bar.value)
                yield from (card.text, card.note)
        case Section():
            yield block.title
            for inner in block.blocks:
                yield from _texts(inner)
