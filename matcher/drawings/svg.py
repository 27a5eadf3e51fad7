"""SVG of a drawing in millimeters of the thing drawn, for pages, print and PDF.

A sheet's unit is one millimeter of the thing, x to the right and y down; ``per`` is the number of them per millimeter
of paper. Lengths in the file are the figures themselves; line widths and letters, which are sized on paper, grow with
``per``. The file contains only plain elements and attributes: no scripts, style sheets or external references. Its
background is white, so that lines stay visible on a dark page.
"""

from __future__ import annotations

import hashlib
import math
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from matcher.drawings.pens import INK, PAPER, PATTERNS, Pen

FONT = "DejaVu Sans Mono"
"""Monospaced, so that a text's width is known without the font; typst includes it."""
ADVANCE = 0.602
BREAKS = re.compile(r"( )|(?<=\w-)(?=\w)")
"""Places where a text may be broken: a space, or after a hyphen."""
TEXT_MM = 3.0
"""Height of letters, mm on paper."""
LINE_MM = 4.2
"""Line spacing of text, mm on paper."""
MARGIN_MM = 3.0
Point = tuple[float, float]


class Drawing(str):
    """An SVG document as text, with its size on paper and its description for screen readers."""

    heading: str
    describes: str
    w_mm: float
    """Width on paper at which its scale is true."""
    h_mm: float

    def __new__(cls, svg: str, heading: str, describes: str, w_mm: float, h_mm: float) -> Drawing:
        made = super().__new__(cls, svg)
        made.heading, made.describes, made.w_mm, made.h_mm = heading, describes, w_mm, h_mm
        return made

    def __getnewargs__(self) -> tuple[str, str, str, float, float]:  # type: ignore[override]
        return str(self), self.heading, self.describes, self.w_mm, self.h_mm

    @property
    def alt(self) -> str:
        """Heading and description, as an image's alternative text."""
        return f"{self.heading}. {self.describes}"


def prefix_of(*names: str) -> str:
    """Return a prefix for ids that is stable for equal names, and safe for any characters in them."""
    return "d" + hashlib.sha256("\0".join(names).encode("utf-8", "replace")).hexdigest()[:10]


UNWRITTEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
"""Character categories that XML forbids, or that would reverse their neighbors."""


def clean(text: str) -> str:
    """Return a text on one line, with only characters that can be rendered and tagged.

    Combining marks without a base letter are removed: an accessible PDF cannot contain them.
    """
    spaced = " ".join(str(text).split())
    if spaced.isascii() and spaced.isprintable():
        return spaced
    spaced = unicodedata.normalize("NFC", spaced)
    kept = (letter for letter in spaced if unicodedata.category(letter) not in UNWRITTEN)
    return "".join(letter for letter in kept if not unicodedata.combining(letter))


def escaped(text: str) -> str:
    """Return a text escaped for XML, in an element or an attribute."""
    signs = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"}
    return re.sub('[&<>"]', lambda sign: signs[sign[0]], clean(text))


def num(value: float) -> str:
    """Format a number for the file: at most three decimals, the same on every machine."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def columns(text: str) -> int:
    """Return the columns that a text takes: wide (East Asian) characters take two."""
    if text.isascii():
        return len(text)
    return sum(2 if unicodedata.east_asian_width(letter) in "WF" else 1 for letter in text)


def wrapped(text: str, most: int, lines: int = 3) -> list[str]:
    """Wrap a text to a number of columns and lines; a long word is broken, and excess text ends in an ellipsis."""
    found = [""]
    parts = BREAKS.split(clean(text))
    for space, word in zip(["", *parts[1::2]], parts[::2], strict=True):
        for place, piece in enumerate(_pieces(word, most)):
            joined = f"{found[-1]}{(space or '') if place == 0 else ''}{piece}"
            if columns(joined) <= most:
                found[-1] = joined
            else:
                found.append(piece)
    if len(found) <= lines:
        return found
    last = found[lines - 1]
    while last and columns(last) >= most:
        last = last[:-1]
    return [*found[: lines - 1], last.rstrip() + "…"]


def _pieces(word: str, most: int) -> Iterator[str]:
    if columns(word) <= most:
        yield word
        return
    piece = ""
    for letter in word:
        if columns(piece + letter) > most:
            yield piece
            piece = ""
        piece += letter
    yield piece


@dataclass
class Canvas:
    """A drawing under construction."""

    prefix: str
    per: float = 1.0
    """Millimeters of the thing per millimeter of paper."""
    parts: list[str] = field(default_factory=list)
    left: float = math.inf
    top: float = math.inf
    right: float = -math.inf
    bottom: float = -math.inf
    patterns: dict[str, None] = field(default_factory=dict)
    overs: list[str] = field(default_factory=list)
    """Texts with their background, drawn last, over all lines."""

    def paper(self, mm: float) -> float:
        """Convert a length on paper to the sheet's unit."""
        return mm * self.per

    def reach(self, *points: Point, by: float = 0.0) -> None:
        """Extend the sheet to include some points and a margin around them."""
        for x, y in points:
            self.left, self.right = min(self.left, x - by), max(self.right, x + by)
            self.top, self.bottom = min(self.top, y - by), max(self.bottom, y + by)

    def line(self, start: Point, end: Point, pen: Pen, of: str = "") -> None:
        """Draw a straight line."""
        self.reach(start, end)
        where = f'x1="{num(start[0])}" y1="{num(start[1])}" x2="{num(end[0])}" y2="{num(end[1])}"'
        self._add("line", where, pen, of)

    def rect(self, x: float, y: float, w: float, h: float, pen: Pen, of: str = "") -> None:
        """Draw a rectangle from its upper left corner."""
        self.reach((x, y), (x + w, y + h))
        self._add("rect", f'x="{num(x)}" y="{num(y)}" width="{num(w)}" height="{num(h)}"', pen, of)

    def ellipse(self, at: Point, w: float, h: float, pen: Pen, of: str = "") -> None:
        """Draw a circle or an ellipse by its center, width and height."""
        x, y = at
        self.reach((x - w / 2, y - h / 2), (x + w / 2, y + h / 2))
        self._add("ellipse", f'cx="{num(x)}" cy="{num(y)}" rx="{num(w / 2)}" ry="{num(h / 2)}"', pen, of)

    def shape(self, kind: str | None, w: float, h: float, pen: Pen, of: str = "", at: Point = (0.0, 0.0)) -> None:
        """Draw a centered outline by its shape word; a rectangle by default."""
        if kind in ("round", "oval"):
            self.ellipse(at, w, h, pen, of)
        else:
            self.rect(at[0] - w / 2, at[1] - h / 2, w, h, pen, of)

    def polygon(self, points: Sequence[Point], pen: Pen, of: str = "") -> None:
        """Draw a polygon through some points."""
        self.reach(*points)
        self._add("polygon", f'points="{" ".join(f"{num(x)},{num(y)}" for x, y in points)}"', pen, of)

    def path(self, points: Sequence[Point], pen: Pen, of: str = "") -> None:
        """Draw a line through some points."""
        self.reach(*points)
        self._add("polyline", f'points="{" ".join(f"{num(x)},{num(y)}" for x, y in points)}"', pen, of)

    def curve(self, d: str, within: Sequence[Point], pen: Pen, of: str = "") -> None:
        """Draw an SVG path that stays within some points."""
        self.reach(*within)
        self._add("path", f'd="{d}"', pen, of)

    def ring(
        self,
        outer: tuple[str | None, float, float],
        inner: tuple[str | None, float, float],
        pen: Pen,
        of: str,
    ) -> None:
        """Draw the area between two centered outlines, each with shape, width and height."""
        self.reach((-outer[1] / 2, -outer[2] / 2), (outer[1] / 2, outer[2] / 2))
        self._add("path", f'fill-rule="evenodd" d="{_outline(*outer)} {_outline(*inner)}"', pen, of)

    def text(
        self,
        at: Point,
        text: str,
        anchor: str = "start",
        size: float = TEXT_MM,
        *,
        bold: bool = False,
        back: bool = False,
        of: str = "",
    ) -> None:
        """Draw a line of text, vertically centered; ``back`` puts a background behind it."""
        shown, high = clean(text), self.paper(size)
        wide = columns(shown) * high * ADVANCE
        x, y = at
        start = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        self.reach((start, y - high / 2), (start + wide, y + high / 2))
        if back:
            gap = self.paper(0.6)
            where = f'x="{num(start - gap)}" y="{num(y - high * 0.58)}" width="{num(wide + 2 * gap)}"'
            self.overs.append(f'<rect {where} height="{num(high * 1.16)}" fill="{PAPER}"/>')
        weight = ' font-weight="bold"' if bold else ""
        named = f' class="{of}"' if of else ""
        self.overs.append(
            f'<text x="{num(x)}" y="{num(y + high * 0.36)}" font-size="{num(high)}" fill="{INK}"{weight}'
            f' text-anchor="{anchor}"{named}>{escaped(shown)}</text>'
        )

    def lines(
        self,
        at: Point,
        texts: Iterable[str],
        anchor: str = "start",
        size: float = TEXT_MM,
        *,
        back: bool = False,
        bold: bool = False,
    ) -> float:
        """Draw lines of text and return the height of the next one."""
        x, y = at
        for text in texts:
            self.text((x, y), text, anchor, size, back=back, bold=bold)
            y += self.paper(LINE_MM * size / TEXT_MM)
        return y

    def _add(self, name: str, where: str, pen: Pen, of: str) -> None:
        named = f' class="{of}"' if of else ""
        self.parts.append(f"<{name}{named} {where} {self._pen(pen)}/>")

    def _pen(self, pen: Pen) -> str:
        fill = pen.fill
        if fill in PATTERNS:
            self.patterns[fill] = None
            fill = f"url(#{self.prefix}-{pen.fill})"
        if pen.stroke == "none":
            return f'fill="{fill}" stroke="none"'
        dash = " ".join(num(self.paper(mm)) for mm in pen.dash)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        return f'fill="{fill}" stroke="{pen.stroke}" stroke-width="{num(self.paper(pen.width))}"{dashed}'

    def drawing(self, title: str, describes: str, lang: str) -> Drawing:
        """Return the finished drawing."""
        gap = self.paper(MARGIN_MM)
        x, y, w, h = self.left - gap, self.top - gap, self.right - self.left + 2 * gap, self.bottom - self.top + 2 * gap
        w_mm, h_mm = round(w / self.per, 3), round(h / self.per, 3)
        title_id, desc_id = f"{self.prefix}-title", f"{self.prefix}-desc"
        tiles = "".join(PATTERNS[name].tile(f"{self.prefix}-{name}", self.per) for name in self.patterns)
        svg = "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{num(w_mm)}mm" height="{num(h_mm)}mm" '
                f'viewBox="{num(x)} {num(y)} {num(w)} {num(h)}" role="img" lang="{escaped(lang)}" '
                f'aria-labelledby="{title_id} {desc_id}" font-family="{FONT}, monospace">',
                f'<title id="{title_id}">{escaped(title)}</title>',
                f'<desc id="{desc_id}">{escaped(describes)}</desc>',
                *([f"<defs>{tiles}</defs>"] if tiles else []),
                f'<rect x="{num(x)}" y="{num(y)}" width="{num(w)}" height="{num(h)}" fill="{PAPER}"/>',
                *self.parts,
                *self.overs,
                "</svg>",
            ]
        )
        return Drawing(svg + "\n", clean(title), clean(describes), w_mm, h_mm)


def _outline(kind: str | None, w: float, h: float) -> str:
    """Return a closed, centered path by its shape word."""
    if kind in ("round", "oval"):
        arc = f"a{num(w / 2)} {num(h / 2)} 0 1 0"
        return f"M{num(-w / 2)} 0 {arc} {num(w)} 0 {arc} {num(-w)} 0Z"
    return f"M{num(-w / 2)} {num(-h / 2)}h{num(w)}v{num(h)}h{num(-w)}Z"
