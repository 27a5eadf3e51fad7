"""A dash opening from the front: body, face, floating screen, and things that must stay reachable."""

from __future__ import annotations

from dataclasses import dataclass, replace

from catalog_schema.figures import Figure
from catalog_schema.parts import HeadUnit
from catalog_schema.vehicles import KeepClear
from matcher.drawings.dimension import Dims, LegendEntry, Length, explained, length, mark, per_for
from matcher.drawings.pens import ADAPTER, CENTER, CUT, FOUND, INNER, PART, PLAIN, ROOM, UNKNOWN, Pen
from matcher.drawings.placed import PlacedHeadUnit, value
from matcher.drawings.svg import Canvas, Drawing, Point
from matcher.drawings.words import WORDS, DrawingWords

SKETCH_W_MM, SKETCH_H_MM, SKETCH_SHAFT_MM = 180.0, 60.0, 130.0
"""Size of the sketch of an opening of unknown size, drawn dashed without figures."""
SHAFT_HOLE_MM = 10.0
"""Drawn size of a shaft hole; only the distance between the two matters."""
SCREEN = Pen(stroke=PART.stroke, width=0.7, fill="veil")
RANGE = Pen(stroke=PART.stroke, width=0.3, dash=(1, 1))


def dash_front(placed: PlacedHeadUnit, words: DrawingWords = WORDS, prefix: str = "dash-front") -> Drawing:
    """Draw a dash opening to scale: as it is, or with a unit in it.

    Parameters
    ----------
    placed
        The opening with the mounted unit; its fit lists the things around it that stay clear.
    """
    return _Dash(placed, words, Canvas(prefix, per_for(_widest(placed)))).drawn()


def _widest(placed: PlacedHeadUnit) -> float:
    edges = [SKETCH_W_MM / 2, (value(placed.opening.w_mm) or 0) / 2]
    if placed.part is not None:
        edges += [(value(side) or 0) / 2 for side in (placed.part.face_w_mm, placed.part.screen_w_mm)]
    for keep in placed.opening.keep_clear:
        left = value(keep.x_mm) or 0
        edges += [abs(left), abs(left + (value(keep.w_mm) or 0))]
    return 2 * max(edges)


def _edges(keep: KeepClear) -> tuple[float, float, float, float]:
    """Return left, top, width and height of a thing on the sheet."""
    x, y, w, h = (value(figure) or 0.0 for figure in (keep.x_mm, keep.y_mm, keep.w_mm, keep.h_mm))
    return x, -y - h, w, h


@dataclass
class _Dash:
    placed: PlacedHeadUnit
    words: DrawingWords
    sheet: Canvas

    def drawn(self) -> Drawing:
        opening, words = self.placed.opening, self.words
        w, h = length(opening.w_mm, SKETCH_W_MM), length(opening.h_mm, SKETCH_H_MM)
        entries = self._cut(w, h) + self._as_found(w, h)
        if self.placed.part is not None:
            entries += self._unit(self.placed.part)
        entries += self._around()
        dims = Dims(self.sheet, words)
        dims.below(-w.mm / 2, w.mm / 2, h.mm / 2, words("w_mm"), w)
        dims.right(-h.mm / 2, h.mm / 2, w.mm / 2, words("h_mm"), h)
        title = words("dash", name=self.placed.name)
        return explained(self.sheet, words, title, entries, self.placed.says(words))

    def _as_found(self, w: Length, h: Length) -> list[LegendEntry]:
        """Draw the opening, or the nose between two shafts."""
        edge = FOUND if w.known and h.known else UNKNOWN
        self.sheet.rect(-w.mm / 2, -h.mm / 2, w.mm, h.mm, edge, "opening")
        found = [LegendEntry(edge, [f"{self.words('opening')}: {self._size(w, h)}"])]
        if self.placed.opening.shape != "twin_shaft":
            return found
        apart = length(self.placed.opening.shaft_mm, SKETCH_SHAFT_MM)
        for x in (-apart.mm / 2, apart.mm / 2):
            self.sheet.ellipse((x, 0), SHAFT_HOLE_MM, SHAFT_HOLE_MM, apart.pen(FOUND), "shaft")
            self.sheet.line((x, -SHAFT_HOLE_MM), (x, SHAFT_HOLE_MM), CENTER)
        label = self.words("shafts", apart=self.words.mm(apart.mm if apart.known else None))
        return [*found, LegendEntry(apart.pen(FOUND), [label])]

    def _size(self, w: Length, h: Length) -> str:
        return self.words.size(w.mm if w.known else None, h.mm if h.known else None)

    def _cut(self, w: Length, h: Length) -> list[LegendEntry]:
        """Draw the area to be cut away."""
        fit = self.placed.fit
        if fit is None or fit.cut is None or not (w.known and h.known):
            return []
        wide, high = float(fit.cut.w_mm), float(fit.cut.h_mm)
        if (wide, high) == (w.mm, h.mm):
            return []
        self.sheet.ring(("rect", wide, high), ("rect", w.mm, h.mm), CUT, "cut")
        return [LegendEntry(CUT, [f"{self.words('cut')}: {self.words.size(wide, high)}"])]

    def _unit(self, unit: HeadUnit) -> list[LegendEntry]:
        entries = self._kit()
        outlines = (("face", unit.face_w_mm, unit.face_h_mm, PART), ("body", unit.body_w_mm, unit.body_h_mm, INNER))
        for name, wide, high, pen in outlines:
            entries += self._outline(name, wide, high, pen)
        if unit.mount == "twin_shaft":
            entries += self._shaft_range(unit)
        return [*entries, *(self._screen(unit) if unit.screen == "floating" else [])]

    def _outline(self, name: str, wide: Figure | None, high: Figure | None, pen: Pen) -> list[LegendEntry]:
        """Draw a centered outline; if a side is unknown, draw nothing and say so in the legend."""
        w, h = value(wide), value(high)
        label = f"{self.words(name)}: {self.words.size(w, h)}"
        if w is None or h is None:
            return [LegendEntry(UNKNOWN, [f"{label}, {self.words('measure')}"])]
        self.sheet.rect(-w / 2, -h / 2, w, h, pen, name)
        return [LegendEntry(pen, [label])]

    def _kit(self) -> list[LegendEntry]:
        kit = self.placed.adapter
        if kit is None:
            return []
        inner, outer = (value(kit.gives_w_mm), value(kit.gives_h_mm)), (value(kit.fits_w_mm), value(kit.fits_h_mm))
        if None not in (*inner, *outer):
            self.sheet.ring(
                ("rect", outer[0] or 0, outer[1] or 0), ("rect", inner[0] or 0, inner[1] or 0), ADAPTER, "adapter"
            )
        label = self.words("adapter", size=self.words.size(*inner), outer=self.words.size(*outer))
        return [LegendEntry(ADAPTER, [label])]

    def _shaft_range(self, unit: HeadUnit) -> list[LegendEntry]:
        least, most = value(unit.shaft_min_mm), value(unit.shaft_max_mm)
        y = self.sheet.paper(2.5)
        for side in (-1, 1):
            if least is not None and most is not None:
                self.sheet.line((side * least / 2, y), (side * most / 2, y), PART, "shaft-range")
        pen = UNKNOWN if least is None or most is None else PART
        return [LegendEntry(pen, [self.words("shaft_range", least=self.words.mm(least), most=self.words.mm(most))])]

    def _screen(self, unit: HeadUnit) -> list[LegendEntry]:
        """Draw the screen at its height, with its lowest and highest position."""
        w, h = value(unit.screen_w_mm), value(unit.screen_h_mm)
        low, high = value(unit.screen_rise_min_mm), value(unit.screen_rise_max_mm)
        label = f"{self.words('screen')}: {self.words.size(w, h)}"
        if w is None or h is None:
            return [LegendEntry(UNKNOWN, [f"{label}, {self.words('measure')}"])]
        rise = self.placed.rise_mm
        pen = UNKNOWN if rise is None else SCREEN
        hangs = next((float(height) for height in (rise, low, high) if height is not None), 0.0)
        self.sheet.rect(-w / 2, -hangs - h / 2, w, h, pen, "screen")
        entries = [LegendEntry(pen, [label])]
        if low is not None and high is not None:
            self.sheet.rect(-w / 2, -high - h / 2, w, h + high - low, RANGE, "screen-range")
        between = f"{self.words.mm(low)} … {self.words.mm(high)}"
        return [*entries, LegendEntry(RANGE, [f"{self.words('screen_range')}: {between}"])]

    def _around(self) -> list[LegendEntry]:
        """Draw the numbered things that must stay reachable; those without a position are in the legend."""
        entries = []
        for number, keep in enumerate(self.placed.opening.keep_clear, start=1):
            self._keep(keep, str(number))
            entries.append(LegendEntry((str(number), self._verdict(keep)), [self._keep_says(keep)]))
        if entries:
            entries.append(LegendEntry(ROOM, [self.words("reach")]))
        return entries

    def _keep(self, keep: KeepClear, number: str) -> None:
        x, y, w, h = (value(figure) for figure in (keep.x_mm, keep.y_mm, keep.w_mm, keep.h_mm))
        if x is None or y is None:
            return
        pen = UNKNOWN if w is None or h is None else replace(PLAIN, width=0.5)
        wide, high = w if w is not None else SHAFT_HOLE_MM, h if h is not None else SHAFT_HOLE_MM
        top = -y - high
        self.sheet.rect(x, top, wide, high, pen, "keep")
        room = self._room(keep)
        self.sheet.rect(x - room, top - room, wide + 2 * room, high + 2 * room, ROOM, "keep-room")
        if self._verdict(keep) == "no":
            self.sheet.line((x, top), (x + wide, top + high), PLAIN, "covered")
            self.sheet.line((x + wide, top), (x, top + high), PLAIN, "covered")
        mark(self.sheet, self._number_at(x, top, wide, high), number)

    def _number_at(self, x: float, top: float, wide: float, high: float) -> Point:
        """Return a point in a thing that no other thing's edge crosses: its middle, or else one of its ends."""
        around = self.sheet.paper(3)
        spots = [(x + wide * part, top + high * share) for part, share in ((0.5, 0.5), (0.15, 0.5), (0.85, 0.5))]
        spots += [(x + wide / 2, top + high * 0.2), (x + wide / 2, top + high * 0.8)]
        others = [edges for edges in map(_edges, self.placed.opening.keep_clear) if edges[:2] != (x, top)]

        def is_clear(spot: Point) -> bool:
            a, b = spot
            return not any(
                left - around < a < left + w + around and upper - around < b < upper + h + around
                for left, upper, w, h in others
            )

        return next(filter(is_clear, spots), spots[0])

    def _room(self, keep: KeepClear) -> float:
        """Return the space required to reach the thing."""
        by_word = dict(self.placed.settings.by_word("reach_mm"))
        try:
            return float(by_word[keep.reach or "fingers"])
        except KeyError:
            return float(keep.reach) if keep.reach and keep.reach.replace(".", "", 1).isdigit() else 0.0

    def _verdict(self, keep: KeepClear) -> str:
        check = self.placed.check("dash.screen_clear", keep.name)
        return "" if check is None else check.verdict

    def _keep_says(self, keep: KeepClear) -> str:
        """Return the legend entry of a thing; its name comes last, as it may be written right to left."""
        check = self.placed.check("dash.screen_clear", keep.name)
        label = self.words(f"keep_{self._verdict(keep) or 'none'}")
        if check is not None and check.have is not None:
            label = f"{label}, {self.words('room_of', room=self.words.mm(check.have), asked=self.words.mm(check.need))}"
        return f"{label}: {self.words.again(keep.name)}"
