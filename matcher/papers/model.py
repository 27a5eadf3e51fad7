"""A paper as data: its blocks in order. Both renderers draw only this.

Every text is a plain string; neither renderer interprets markup in it.
"""

from __future__ import annotations

from dataclasses import dataclass, is_dataclass
from typing import Any, ClassVar, Literal

Tone = Literal["plain", "lead", "note", "warn"]
Mark = Literal["bullet", "number", "tick"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Para:
    """A paragraph; ``lead`` opens a paper, ``note`` is small, ``warn`` is highlighted."""

    kind: ClassVar[str] = "para"
    text: str
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Items:
    """A list: bullets, numbered steps, or squares to check."""

    kind: ClassVar[str] = "items"
    items: tuple[str, ...]
    mark: Mark = "bullet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under headings."""

    kind: ClassVar[str] = "table"
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()
    """Columns of figures, aligned right."""
    strong: tuple[int, ...] = ()
    """Highlighted rows."""
    sums: int = 0
    """Number of last rows with amounts, which are aligned right."""
    widths: tuple[float, ...] = ()
    """Shares of the width; equal by default."""
    side: bool = False
    """Whether the first column is the heading of its row, as in side-by-side comparisons."""
    bars: tuple[float, ...] = ()
    """Length of a bar under the last cell of each row, 0 to 1; no bars by default."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A generated picture."""

    kind: ClassVar[str] = "drawing"
    svg: str
    alt: str
    """Description for screen readers."""
    caption: str = ""
    width_mm: float
    height_mm: float
    true_size: bool = False
    """Whether it is full size, to be placed on the car, and so never scaled."""
    across: int = 1
    down: int = 1
    """Number of sheets to print it on, across and down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """Drawings side by side."""

    kind: ClassVar[str] = "pictures"
    drawings: tuple[Picture, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frames:
    """Empty frames side by side, for photographs; or squared paper for a sketch."""

    kind: ClassVar[str] = "frames"
    labels: tuple[str, ...]
    high_mm: float | None
    """Their height; None for squared paper on the rest of the page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A ruled line to fill in by hand, or its filled-in value."""

    label: str
    unit: str = ""
    given: str = ""
    tick: bool = False
    """Whether it is a square to check instead of a line to write on."""
    wide: bool = False
    """Whether it is large enough for a figure written at the car."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """Boxes to fill in under their own heading, with instructions and the command to type afterward."""

    kind: ClassVar[str] = "form"
    title: str = ""
    lines: tuple[str, ...] = ()
    rows: tuple[tuple[Box, ...], ...] = ()
    """Boxes to fill in, row by row."""
    command: str = ""
    """Command that enters the result, to be typed as printed."""
    drawing: Picture | None = None
    """Drawing next to the text."""
    code: Picture | None = None
    """Code to scan that opens the form for the result."""
    quiet: bool = False
    """Whether others are more important; it is then drawn in gray."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and its blocks."""

    kind: ClassVar[str] = "section"
    title: str
    blocks: tuple[Block, ...]
    wide: bool = False
    """Whether it has its own sheets, with narrow margins."""
    whole: bool = False
    """Whether it is kept on one page."""
    new_page: bool = False
    """Whether it starts a page."""
    beside: bool = False
    """Whether it may share a row with the next one that may, too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A figure with a bar of its size."""

    label: str
    value: str
    share: float
    """Filled share of the bar, 0 to 1."""
    today: float | None = None
    """Position of the car's present sound on the bar, if known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """Summary of a package on offer."""

    title: str
    total: str
    under: str
    """Basis of the total, in small letters below it."""
    bars: tuple[Bar, ...]
    text: str
    note: str
    strong: bool = False
    """Whether it is highlighted."""
    ticked: bool = False
    """Whether its square is already checked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cards:
    """Packages on offer side by side, each with a square to check."""

    kind: ClassVar[str] = "cards"
    cards: tuple[Card, ...]


Block = Para | Items | Table | Picture | Pictures | Frames | Form | Cards | Section


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole paper."""

    name: str
    """Its file name without a suffix."""
    language: str
    sender: tuple[str, ...]
    """Issuer, line by line."""
    title: str
    subject: str
    """Subject, in a line."""
    facts: tuple[tuple[str, str], ...]
    """Key facts below the title."""
    blocks: tuple[Block, ...]
    footer: str
    page: str = "a4"
    page_word: str = ""
    """Format of a page's number."""
    names: tuple[str, ...] = ()
    """Words that are never hyphenated: names of makers and models."""

    def to_dict(self) -> dict[str, Any]:
        """Return the paper as plain data, each block with its kind."""
        plain: dict[str, Any] = _plain(self)
        return plain


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return _in_rows([_plain(one) for one in value])
    if not is_dataclass(value):
        return value
    kind = {"kind": value.kind} if hasattr(value, "kind") else {}
    return {name: _plain(getattr(value, name)) for name in value.__dataclass_fields__ if name != "kind"} | kind


def _in_rows(blocks: list[Any]) -> list[Any]:
    """Put sections that may share a row into rows of two."""
    made: list[Any] = []
    for block in blocks:
        if not isinstance(block, dict) or not block.get("beside"):
            made.append(block)
        elif made and isinstance(made[-1], dict) and len(made[-1].get("sections", "..")) < 2:
            made[-1]["sections"].append(block)
        else:
            made.append({"kind": "row", "sections": [block]})
    return made
