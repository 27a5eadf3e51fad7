"""A speaker opening in section: the cabin above, the space behind below, and the room that a part leaves."""

from __future__ import annotations

from dataclasses import dataclass

from catalog_schema.parts import Speaker
from matcher.drawings.dimension import Dims, LegendEntry, Length, explained, length, per_for
from matcher.drawings.pens import ADAPTER, BLUE, BOLD, BROWN, FOUND, PART, PLAIN, ROOM, THIN, UNKNOWN, Pen
from matcher.drawings.placed import PlacedSpeaker, part_name, value
from matcher.drawings.speaker_front import fits, gives
from matcher.drawings.svg import Canvas, Drawing
from matcher.drawings.words import WORDS, DrawingWords

SKETCH_HOLE_MM, SKETCH_DEPTH_MM, SKETCH_FRONT_MM = 120.0, 60.0, 20.0
"""Sizes of the sketch of a section of unknown sizes, drawn dashed without figures."""
WIDE_MM, LEGEND_MM, APART_MM = 52.0, 77.0, 13.0
"""Widths of the section and of its legend, and distance of texts, mm on paper: half a sheet wide."""
FLANGE_MM = 2.0
"""Drawn thickness of a flange."""
SOLID, GLASS = Pen(width=0.4, fill="solid"), Pen(stroke=BLUE, width=0.5, fill="glass")
TRAVEL = Pen(stroke=BLUE, width=0.3, dash=(1, 1))


def speaker_section(placed: PlacedSpeaker, words: DrawingWords = WORDS, prefix: str = "speaker-section") -> Drawing:
    """Draw a speaker opening to scale in section, across its width.

    Parameters
    ----------
    placed
        The opening with the mounted part; its checks give the required clearances.
    """
    opening, part = placed.opening, placed.part
    w = length(opening.hole_w_mm, SKETCH_HOLE_MM)
    flat = max(value(opening.flat_w_mm) or 0.0, w.mm * 1.3, (value(part.flange_w_mm) or 0) if part else 0)
    sheet = Canvas(prefix, per_for(flat, WIDE_MM))
    depth, front = length(opening.depth_mm, SKETCH_DEPTH_MM), length(opening.front_mm, SKETCH_FRONT_MM)
    return _SpeakerSection(placed, words, sheet, w, flat / 2, depth, front).drawn()


@dataclass
class _SpeakerSection:
    placed: PlacedSpeaker
    words: DrawingWords
    sheet: Canvas
    hole: Length
    half: float
    """Half of the width shown."""
    depth: Length
    front: Length

    def drawn(self) -> Drawing:
        words = self.words
        entries = [self._behind(), *self._panel(), self._grille(), *self._adapter()]
        part = self.placed.part
        if part is not None:
            entries += self._part(part)
        dims = Dims(self.sheet, words)
        if part is None:
            level = dims.left_x
            dims.left(0, self.depth.mm, -self.half, words("depth"), self.depth)
            if self.depth.mm + self.front.mm > self.sheet.paper(2 * APART_MM):
                dims.left_x = level
            dims.left(-self.front.mm, 0, -self.half, words("front"), self.front)
        else:
            entries += [*self._margins(dims, part), LegendEntry(ROOM, [words("asked")])]
        title = words("section", name=self.placed.name)
        return explained(self.sheet, words, title, entries, self.placed.says(words), LEGEND_MM)

    def _behind(self) -> LegendEntry:
        """Draw the surface behind the opening: fixed metal or moving glass, or a dashed edge if unknown."""
        behind, thick = self.placed.opening.behind, self.sheet.paper(2.4)
        pen = {"fixed": SOLID, "moving_glass": GLASS}.get(behind or "", UNKNOWN)
        if not self.depth.known:
            pen = Pen(stroke=pen.stroke, width=0.4, dash=UNKNOWN.dash, fill=pen.fill)
        self.sheet.rect(-self.half, self.depth.mm, 2 * self.half, thick, pen, "behind")
        surface = self.words(behind or "behind_unknown")
        return LegendEntry(pen, [f"{surface}: {self.words.mm(self.depth.mm if self.depth.known else None)}"])

    def _panel(self) -> list[LegendEntry]:
        """Draw the panel left and right of the hole or its cut; all measures start at its face."""
        thick, hole = self.sheet.paper(1.2), self.hole.mm / 2
        edge = Pen(width=FOUND.width, dash=self.hole.dash, fill="solid")
        cut = max((self._cut_mm() - self.hole.mm) / 2, 0.0)
        away = Pen(stroke=BROWN, width=0.4, fill="cut")
        for side in (-1, 1):
            inner, outer = sorted((side * (hole + cut), side * self.half))
            self.sheet.rect(inner, 0, outer - inner, thick, edge, "panel")
            if cut:
                self.sheet.rect(min(side * hole, side * (hole + cut)), 0, cut, thick, away, "cut")
        known = self.words.mm(self.hole.mm if self.hole.known else None)
        panel = LegendEntry(edge, [f"{self.words('panel')}, {self.words('hole')}: {known}"])
        return [panel, *([LegendEntry(away, [f"{self.words('cut')}: 2 × {self.words.mm(cut)}"])] if cut else [])]

    def _cut_mm(self) -> float:
        """Return the width to which the hole would be cut."""
        fit = self.placed.fit
        return 0.0 if fit is None or fit.cut is None or not self.hole.known else float(fit.cut.w_mm)

    def _grille(self) -> LegendEntry:
        pen = Pen(width=0.5, dash=(0.8, 0.8)) if self.front.known else UNKNOWN
        self.sheet.line((-self.half, -self.front.mm), (self.half, -self.front.mm), pen, "grille")
        return LegendEntry(
            pen, [f"{self.words('grille')}: {self.words.mm(self.front.mm if self.front.known else None)}"]
        )

    def _adapter(self) -> list[LegendEntry]:
        plate = self.placed.adapter
        if plate is None:
            return []
        inner, outer = gives(plate), fits(plate)
        forward = self.placed.forward_mm
        thick = forward or value(plate.thick_mm) or 0.0
        if inner is not None and outer is not None and thick:
            out = min(max(outer[1] / 2, self.hole.mm / 2) + self.sheet.paper(2), self.half)
            for x in (-out, inner[1] / 2):
                self.sheet.rect(x, -forward, max(out - inner[1] / 2, 0), abs(thick), ADAPTER, "adapter")
        return [LegendEntry(ADAPTER, [f"{self.words('spacer')}: {self.words.mm(value(plate.forward_mm))}"])]

    def _part(self, part: Speaker) -> list[LegendEntry]:
        """Draw flange, basket and magnet, and in front the protrusion and the cone's excursion."""
        top, deep = -self.placed.forward_mm, length(part.depth_mm, self.depth.mm * 0.7)
        turned = self.placed.fit is not None and self.placed.fit.turned
        cutout = value(part.cutout_h_mm if turned else part.cutout_w_mm) or self.hole.mm * 0.95
        flange = value(part.flange_h_mm if turned else part.flange_w_mm) or cutout * 1.15
        magnet = value(part.magnet_mm) or cutout * 0.5
        pen, bottom, a, b = deep.pen(PART), top + deep.mm, cutout / 2, min(magnet, cutout) / 2
        proud = value(part.front_mm)
        self.sheet.rect(-flange / 2, top - FLANGE_MM, flange, FLANGE_MM, Pen(stroke=BLUE, width=0.4), "flange")
        low = top + deep.mm * 0.62
        points = ((-a, top), (-b, low), (-b, bottom), (b, bottom), (b, low), (a, top))
        self.sheet.polygon(points, pen, "part")
        self.sheet.line((-b, low), (b, low), Pen(stroke=BLUE, width=0.25))
        label = self.words("part", name=part_name(part), depth=self.words.mm(value(part.depth_mm)))
        entries = [LegendEntry(pen, [label])]
        if proud is not None:
            self.sheet.rect(-a * 0.8, top - proud, 1.6 * a, proud, Pen(stroke=BLUE, width=0.3), "proud")
        travel = value(part.xmax_mm)
        if travel is not None:
            y = top - (proud or 0) - travel
            self.sheet.line((-a * 0.8, y), (a * 0.8, y), TRAVEL, "travel")
        return [*entries, LegendEntry(TRAVEL, [f"{self.words('travel')}: {self.words.mm(travel)}"])]

    def _margins(self, dims: Dims, part: Speaker) -> list[LegendEntry]:
        """Draw the part's depth and its clearance behind and in front, with the required ones, on one level."""
        top, deep, right = -self.placed.forward_mm, length(part.depth_mm, self.depth.mm * 0.7), self.half
        level = dims.right_x
        # For a flat part, the text of its depth would overlap that of the clearance: it is then only in the legend.
        if self.depth.mm - top > self.sheet.paper(2 * APART_MM):
            dims.right(top, top + deep.mm, right * 0.4, self.words("part_depth"), deep)
        dims.right_x = level
        entries = []
        known = deep.known and self.depth.known
        entries += self._room(dims, "speaker.depth", "behind", top + deep.mm, self.depth.mm, known)
        proud, travel = value(part.front_mm), value(part.xmax_mm)
        dims.right_x = level
        known = self.front.known and proud is not None and travel is not None
        y = top - (proud or 0) - (travel or 0)
        entries += self._room(dims, "speaker.front", "front", -self.front.mm, y, known)
        return entries

    def _room(self, dims: Dims, rule: str, side: str, start: float, end: float, known: bool) -> list[LegendEntry]:
        """Draw the room between two heights, with the required clearance from the solid side."""
        clearance = self._asked(side)
        if clearance is not None:
            y = self.depth.mm - clearance if side == "behind" else -self.front.mm
            self.sheet.rect(-self.half * 0.9, y, self.half * 1.8, clearance, ROOM, f"asked-{side}")
        room = end - start
        name = self.words("short" if known and room < 0 else "left")
        low, high = sorted((start, end))
        dims.right(low, high, self.half * 0.4, name, Length(abs(room), known), BOLD if known else THIN)
        check = self.placed.check(rule)
        required = self.words("asked_for", asked=self.words.mm(clearance))
        place = self.words("front" if side == "front" else "asked_behind")
        free = f"{self.words.mm(abs(room))} {name}" if known else self.words.mm(None)
        label = f"{place}: {free}, {required}"
        return [LegendEntry(PLAIN if check is None else check.verdict, [label])]

    def _asked(self, side: str) -> float | None:
        """Return the required clearance by the shop's settings."""
        if side == "front":
            return float(self.placed.settings["clearance_front_mm"])
        by_word = dict(self.placed.settings.by_word("clearance_behind_mm"))
        clearance = by_word.get(self.placed.opening.behind or "")
        return None if clearance is None else float(clearance)
