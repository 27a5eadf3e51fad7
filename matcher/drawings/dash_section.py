"""A dash opening in section: the cabin on the left, the space behind on the right, and the room between."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.figures import Figure
from catalog_schema.parts import HeadUnit
from matcher.drawings.dash import SKETCH_H_MM
from matcher.drawings.dimension import Dims, LegendEntry, Length, explained, length, per_for
from matcher.drawings.pens import BOLD, FOUND, INNER, PART, PLAIN, THIN, UNKNOWN, Pen
from matcher.drawings.placed import PlacedHeadUnit, part_name, value
from matcher.drawings.svg import Canvas, Drawing
from matcher.drawings.words import WORDS, DrawingWords

SKETCH_DEPTH_MM, SKETCH_PROUD_MM, SKETCH_BODY_SHARE = 170.0, 40.0, 0.7
"""Sizes of the sketch of a section of unknown sizes, drawn dashed without figures."""
WIDE_MM, LEGEND_MM, PANEL_MM = 66.0, 77.0, 22.0
"""Width of the section and its legend on paper, and height of the panel above and below the opening."""
SOLID = Pen(width=0.4, fill="solid")


def dash_section(placed: PlacedHeadUnit, words: DrawingWords = WORDS, prefix: str = "dash-section") -> Drawing:
    """Draw a dash opening to scale in section, along its depth.

    Parameters
    ----------
    placed
        The opening with the mounted unit.
    """
    opening = placed.opening
    depth, proud = length(opening.depth_mm, SKETCH_DEPTH_MM), length(opening.proud_max_mm, SKETCH_PROUD_MM)
    sheet = Canvas(prefix, per_for(depth.mm + proud.mm, WIDE_MM))
    return _DashSection(placed, words, sheet, depth, proud, length(opening.h_mm, SKETCH_H_MM)).drawn()


def _plugs(unit: HeadUnit) -> Length:
    """Return the depth of the plugs behind the body, by default the usual one of the trade."""
    figure: object = unit.plugs_d_mm
    return length(figure if figure is None or isinstance(figure, Figure) else Figure(Decimal(str(figure))), 0.0)


@dataclass
class _DashSection:
    placed: PlacedHeadUnit
    words: DrawingWords
    sheet: Canvas
    depth: Length
    proud: Length
    high: Length

    def drawn(self) -> Drawing:
        words = self.words
        entries = self._as_found()
        dims = Dims(self.sheet, words)
        half = self.high.mm / 2 + PANEL_MM
        if self.placed.part is None:
            dims.above(-self.proud.mm, 0, -half, words("front"), self.proud)
        else:
            entries += self._unit(self.placed.part, dims)
        dims.below(0, self.depth.mm, half, words("depth"), self.depth)
        title = words("dash_section", name=self.placed.name)
        return explained(self.sheet, words, title, entries, self.placed.says(words), LEGEND_MM)

    def _as_found(self) -> list[LegendEntry]:
        """Draw the panel above and below the opening, the space behind, and the limit in front."""
        sheet, words = self.sheet, self.words
        thick, top = sheet.paper(1.2), self.high.mm / 2
        edge = Pen(width=FOUND.width, dash=self.high.dash, fill="solid")
        for y in (-top - PANEL_MM, top):
            sheet.rect(0, y, thick, PANEL_MM, edge, "panel")
        behind = Pen(width=0.4, dash=self.depth.dash, fill="solid")
        sheet.rect(self.depth.mm, -top - PANEL_MM, sheet.paper(2.4), 2 * (top + PANEL_MM), behind, "behind")
        limit = Pen(width=0.5, dash=(0.8, 0.8)) if self.proud.known else UNKNOWN
        sheet.line((-self.proud.mm, -top - PANEL_MM), (-self.proud.mm, top + PANEL_MM), limit, "proud")
        return [
            LegendEntry(edge, [f"{words('panel')}, {words('opening')}: {self._size_text(self.high)}"]),
            LegendEntry(behind, [f"{words('dash_behind')}: {self._size_text(self.depth)}"]),
            LegendEntry(limit, [f"{words('dash_proud')}: {self._size_text(self.proud)}"]),
        ]

    def _size_text(self, size: Length) -> str:
        return self.words.mm(size.mm if size.known else None)

    def _unit(self, unit: HeadUnit, dims: Dims) -> list[LegendEntry]:
        """Draw the body with its plugs behind, its face in front, and the room left on either side."""
        front, words = -self.placed.forward_mm, self.words
        deep = length(unit.body_d_mm, self.depth.mm * SKETCH_BODY_SHARE)
        plugs, face = _plugs(unit), length(unit.face_d_mm, 0.0)
        body_h = value(unit.body_h_mm) or self.high.mm
        face_h = value(unit.face_h_mm) or body_h
        screen = value(unit.screen_d_mm) if unit.screen == "floating" else 0.0
        self.sheet.rect(front, -body_h / 2, deep.mm, body_h, deep.pen(INNER), "body")
        self.sheet.rect(front + deep.mm, -body_h / 4, plugs.mm, body_h / 2, plugs.pen(PLAIN), "plugs")
        self.sheet.rect(front - face.mm, -face_h / 2, face.mm, face_h, face.pen(PART), "face")
        if unit.screen == "floating":
            self._screen(unit, front - face.mm)
        out = None if not face.known or screen is None else face.mm + screen - front
        ends = front + deep.mm + plugs.mm
        known = deep.known and plugs.known and self.depth.known
        half = self.high.mm / 2 + PANEL_MM
        self._room(dims, ends, self.depth.mm, half, known)
        labels = [f"{words('body')}, {part_name(unit)}: {self._size_text(deep)}"]
        entries = [
            LegendEntry(deep.pen(INNER), labels),
            LegendEntry(plugs.pen(PLAIN), [f"{words('plugs')}: {self._size_text(plugs)}"]),
        ]
        entries.append(self._verdict("dash.depth", "asked_behind", self.depth.mm - ends if known else None))
        left = None if out is None or not self.proud.known else self.proud.mm - out
        return [*entries, self._verdict("dash.proud", "front", left)]

    def _screen(self, unit: HeadUnit, face_mm: float) -> None:
        """Draw the floating screen from the side, if its sizes are known."""
        high, thick = value(unit.screen_h_mm), value(unit.screen_d_mm)
        if high is not None and thick is not None:
            rise = 0.0 if self.placed.rise_mm is None else float(self.placed.rise_mm)
            self.sheet.rect(face_mm - thick, -rise - high / 2, thick, high, PART, "screen")

    def _room(self, dims: Dims, start: float, end: float, half: float, known: bool) -> None:
        low, high = sorted((start, end))
        name = self.words("left") if end >= start else self.words("short")
        dims.above(low, high, -half, name, Length(high - low, known), BOLD if known else THIN)

    def _verdict(self, rule: str, side: str, room: float | None) -> LegendEntry:
        """Return the free space on one side, with the verdict of its rule."""
        check = self.placed.check(rule)
        name = self.words("left") if room is None or room >= 0 else self.words("short")
        label = f"{self.words(side)}: {name} {self.words.mm(None if room is None else abs(room))}"
        return LegendEntry(PLAIN if check is None else check.verdict, [label])
