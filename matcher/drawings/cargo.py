"""A cargo space from the side and from the tailgate: its floor, the box in it, and the room around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from catalog_schema.answers import BoxSize
from catalog_schema.checks import Check, worst
from catalog_schema.figures import Figure
from catalog_schema.parts import Enclosure
from catalog_schema.vehicles import CargoSpace
from matcher.drawings.dimension import Dims, LegendEntry, Length, explained, length, per_for
from matcher.drawings.pens import FACE, FOUND, PART, UNKNOWN, Pen
from matcher.drawings.placed import part_name, value
from matcher.drawings.svg import Canvas, Drawing, Point
from matcher.drawings.words import WORDS, DrawingWords
from matcher.formulas.cargo import Space, depth_at_mm

SKETCH = {"w_mm": 900.0, "h_mm": 450.0, "d_mm": 500.0}
"""Size of the sketch of a space of unknown size, drawn dashed without figures."""
FLOOR = Pen(width=0.4, fill="stays")
BOX = Pen(stroke=PART.stroke, width=0.6, fill="veil")


def cargo_space(
    opening: CargoSpace,
    box: Enclosure | BoxSize | None = None,
    *,
    checks: Sequence[Check] = (),
    words: DrawingWords = WORDS,
    prefix: str = "cargo",
) -> Drawing:
    """Draw a cargo space to scale, from the side and from the tailgate.

    Parameters
    ----------
    opening
        The space as measured.
    box
        A box of the catalog, or the outer sizes of one made to measure.
    checks
        Checks of that box there.
    """
    d, w = length(opening.d_mm, SKETCH["d_mm"]), length(opening.w_mm, SKETCH["w_mm"])
    sheet = Canvas(prefix, per_for(d.mm + w.mm, 105))
    return _Cargo(opening, _sizes(box), _name(box, words), tuple(checks), words, sheet, w, d).drawn()


def _sizes(box: Enclosure | BoxSize | None) -> tuple[float | None, ...] | None:
    """Return width, height, and depth at the floor and at the top of a box; the top depth defaults to the floor's."""
    if box is None:
        return None
    w, h, d, top = (_number(side) for side in (box.w_mm, box.h_mm, box.d_mm, box.d_top_mm))
    return w, h, d, d if top is None else top


def _number(side: Figure | Decimal | None) -> float | None:
    return value(side) if isinstance(side, Figure) else None if side is None else float(side)


def _name(box: Enclosure | BoxSize | None, words: DrawingWords) -> str:
    return part_name(box) if isinstance(box, Enclosure) else words("box_made")


@dataclass
class _Cargo:
    opening: CargoSpace
    box: tuple[float | None, ...] | None
    box_name: str
    checks: tuple[Check, ...]
    words: DrawingWords
    sheet: Canvas
    w: Length
    d: Length

    def __post_init__(self) -> None:
        self.h = length(self.opening.h_mm, SKETCH["h_mm"])
        self.top = length(self.opening.d_top_mm, self.d.mm)
        self.loss = length(self.opening.floor_loss_mm, 0.0)

    def drawn(self) -> Drawing:
        words = self.words
        self._side()
        self.front_x = self.sheet.right + self.sheet.paper(14) + self.w.mm / 2
        side_x = self.sheet.left
        self._front()
        caption_y = self.sheet.top - self.sheet.paper(3)
        self.sheet.text((side_x, caption_y), words("view_side"))
        self.sheet.text((self.front_x - self.w.mm / 2, caption_y), words("view_gate"))
        entries = [*self._entries(), *self._box_entries()]
        verdict = worst([check.verdict for check in self.checks])
        told = [f"{words(f'verdict_{verdict}').capitalize()}."] if self.checks else []
        title = words("cargo", name=self.opening.label or self.opening.opening_id)
        return explained(self.sheet, words, title, entries, told)

    def _size(self) -> str:
        sides = (self.opening.w_mm, self.opening.h_mm, self.opening.d_mm)
        return " × ".join("?" if side is None else self.words.mm(side.value) for side in sides)

    def _depth(self, height: float) -> float:
        """Return the depth of the space at a height above its floor."""
        found = depth_at_mm(Space(self.w.mm, self.h.mm, self.d.mm, self.top.mm), min(height, self.h.mm))
        return self.d.mm if found is None else found

    def _side(self) -> None:
        edge = FOUND if self.d.known and self.h.known and self.top.known else UNKNOWN
        corners = ((0.0, 0.0), (self.d.mm, 0.0), (self.top.mm, -self.h.mm), (0.0, -self.h.mm))
        self.sheet.polygon(corners, edge, "space")
        if self.loss.mm:
            back = self._depth(self.loss.mm)
            floor = ((0.0, 0.0), (self.d.mm, 0.0), (back, -self.loss.mm), (0.0, -self.loss.mm))
            self.sheet.polygon(floor, FLOOR, "floor-loss")
        corners_of_box = self._box_side()
        if corners_of_box:
            self.sheet.polygon(corners_of_box, BOX, "box")
        dims = Dims(self.sheet, self.words)
        dims.left(-self.h.mm, 0, 0, self.words("h_mm"), self.h)
        dims.below(0, self.d.mm, 0, self.words("name_cargo.d_mm"), self.d)
        dims.above(0, self.top.mm, -self.h.mm, self.words("name_cargo.d_top_mm"), self.top)

    def _box_side(self) -> tuple[Point, ...]:
        """Draw the box on the floor, with its back against the slope."""
        if self.box is None or self.box[1] is None or self.box[2] is None:
            return ()
        high, deep, top = self.box[1], self.box[2], self.box[3] or self.box[2]
        low = -self.loss.mm
        x = min(self._depth(self.loss.mm) - deep, self._depth(self.loss.mm + high) - top)
        return ((x, low), (x + deep, low), (x + top, low - high), (x, low - high))

    def _front(self) -> None:
        x, edge = self.front_x, FOUND if self.w.known and self.h.known else UNKNOWN
        self.sheet.rect(x - self.w.mm / 2, -self.h.mm, self.w.mm, self.h.mm, edge, "space-front")
        if self.loss.mm:
            self.sheet.rect(x - self.w.mm / 2, -self.loss.mm, self.w.mm, self.loss.mm, FLOOR, "floor-loss-front")
        gate = length(self.opening.gate_w_mm, self.w.mm * 0.9), length(self.opening.gate_h_mm, self.h.mm * 0.9)
        if gate[0].known and gate[1].known:
            self.sheet.rect(x - gate[0].mm / 2, -gate[1].mm, gate[0].mm, gate[1].mm, FACE, "gate")
        if self.box is not None and self.box[0] is not None and self.box[1] is not None:
            wide, high = self.box[0], self.box[1]
            self.sheet.rect(x - wide / 2, -self.loss.mm - high, wide, high, BOX, "box-front")
        dims = Dims(self.sheet, self.words)
        dims.below_y = 0.0
        dims.below(x - self.w.mm / 2, x + self.w.mm / 2, 0, self.words("w_mm"), self.w)

    def _entries(self) -> list[LegendEntry]:
        words, opening = self.words, self.opening
        gate = words.size(value(opening.gate_w_mm), value(opening.gate_h_mm))
        known = opening.gate_w_mm is not None and opening.gate_h_mm is not None
        entries = [
            LegendEntry(FOUND if "?" not in self._size() else UNKNOWN, [f"{words('cargo_size')}: {self._size()}"]),
            LegendEntry(FACE if known else UNKNOWN, [f"{words('gate')}: {gate}"]),
        ]
        if self.loss.mm or not self.loss.known:
            loss = words.mm(self.loss.mm if self.loss.known else None)
            floor = FLOOR if self.loss.known else UNKNOWN
            entries.append(LegendEntry(floor, [f"{words('name_cargo.floor_loss_mm')}: {loss}"]))
        if opening.fasten:
            entries.append(LegendEntry("", [f"{words('held_by')}: {words.again(opening.fasten)}"]))
        return entries

    def _box_entries(self) -> list[LegendEntry]:
        """Return entries for the box and the room it leaves, which is unknown if any figure is."""
        if self.box is None:
            return []
        w, h, d, top = self.box
        size = " × ".join("?" if side is None else self.words.mm(side) for side in (w, h, d))
        if top != d:
            size = f"{size}, {self.words('at_top', depth=self.words.mm(top))}"
        entries = [LegendEntry(BOX if None not in self.box else UNKNOWN, [f"{self.box_name}: {size}"])]
        for name, rule, room in self._rooms():
            check = next((check for check in self.checks if check.rule == rule), None)
            sign = "" if check is None else check.verdict
            entries.append(LegendEntry(sign, [f"{self.words('room_left', side=name)}: {self.words.mm(room)}"]))
        return entries

    def _rooms(self) -> list[tuple[str, str, float | None]]:
        assert self.box is not None
        w, h, d, top = self.box
        known_w, known_h = self.w.known and w is not None, self.h.known and self.loss.known and h is not None
        at_floor = self.d.known and d is not None and self.loss.known and (self.top.known or not self.loss.mm)
        deep = self.d.known and self.top.known and known_h and top is not None
        floor, high = self._depth(self.loss.mm), self._depth(self.loss.mm + (h or 0.0))
        return [
            (self.words("w_mm"), "cargo.width", self.w.mm - (w or 0) if known_w else None),
            (self.words("h_mm"), "cargo.height", self.h.mm - self.loss.mm - (h or 0) if known_h else None),
            (self.words("name_cargo.d_mm"), "cargo.depth_floor", floor - (d or 0) if at_floor else None),
            (self.words("name_cargo.d_top_mm"), "cargo.depth_top", high - (top or 0) if deep else None),
        ]
