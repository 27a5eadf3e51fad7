"""Amplifiers on a board with the air around them, from above and from the side, and zones without fasteners."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from catalog_schema.parts import Accessory, Amplifier
from catalog_schema.vehicles import AmpSpot, ControlSpot, NoFasten
from matcher.drawings.board_ways import Lying, Row, row_of
from matcher.drawings.dimension import Dims, LegendEntry, Length, explained, length, mark, per_for
from matcher.drawings.pens import BROWN, FOUND, PART, ROOM, UNKNOWN, Pen
from matcher.drawings.placed import part_name, value
from matcher.drawings.svg import Canvas, Drawing
from matcher.drawings.words import WORDS, DrawingWords
from matcher.settings import DEFAULT_SETTINGS, Settings

SKETCH_W_MM, SKETCH_D_MM, SKETCH_H_MM = 300.0, 200.0, 100.0
"""Size of the sketch of a spot of unknown size, drawn dashed without figures."""
BOARD = Pen(stroke=BROWN, width=0.4, fill="#f3ede4")
FINS = Pen(stroke=PART.stroke, width=0.6, fill="veil")
FORBIDDEN = Pen(width=0.4, fill="cut")


def board_layout(
    spot: AmpSpot | ControlSpot,
    amplifiers: Sequence[Amplifier] = (),
    *,
    no_fasten: Sequence[NoFasten] = (),
    board: Accessory | None = None,
    settings: Settings = DEFAULT_SETTINGS,
    words: DrawingWords = WORDS,
    prefix: str = "board",
) -> Drawing:
    """Draw a spot to scale with amplifiers side by side, each with the air that the shop requires.

    Parameters
    ----------
    spot
        The place as measured: width and depth of the board, free height above it.
    amplifiers
        The amplifiers there. One of unknown size is named but not drawn.
    no_fasten
        The vehicle's zones where nothing may be fastened; their position is given in words.
    board
        The board under the amplifiers; one of unknown size is named but not drawn.
    settings
        The shop's air at the sides of and above an amplifier.
    """
    w, d = length(spot.w_mm, SKETCH_W_MM), length(spot.d_mm, SKETCH_D_MM)
    row = row_of(amplifiers, w.mm, d.mm, float(settings["air_side_mm"]))
    sheet = Canvas(prefix, per_for(max(w.mm, row.taken if row.by_width else row.deepest), 80))
    return _Board(spot, tuple(amplifiers), tuple(no_fasten), board, settings, words, sheet, w, d, row).drawn()


@dataclass
class _Board:
    spot: AmpSpot | ControlSpot
    amplifiers: tuple[Amplifier, ...]
    no_fasten: tuple[NoFasten, ...]
    board: Accessory | None
    settings: Settings
    words: DrawingWords
    sheet: Canvas
    w: Length
    d: Length
    row: Row

    def __post_init__(self) -> None:
        self.h = length(self.spot.h_mm, SKETCH_H_MM)
        self.air, self.over = self.row.air, float(self.settings["air_over_mm"])

    def drawn(self) -> Drawing:
        words, sheet = self.words, self.sheet
        edge = FOUND if self.w.known and self.d.known else UNKNOWN
        sheet.rect(-self.w.mm / 2, -self.d.mm / 2, self.w.mm, self.d.mm, edge, "spot")
        self._lay()
        dims = Dims(sheet, words)
        dims.right(-self.d.mm / 2, self.d.mm / 2, self.w.mm / 2, words("depth"), self.d)
        dims.below(-self.w.mm / 2, self.w.mm / 2, self.d.mm / 2, words("w_mm"), self.w)
        self.sheet.text((sheet.left, sheet.top - sheet.paper(3)), words("view_above"))
        self._side(sheet.bottom + sheet.paper(12))
        entries = self._entries(edge)
        kind = "board" if isinstance(self.spot, AmpSpot) else "control"
        return explained(sheet, words, words(kind, name=self.spot.label or self.spot.opening_id), entries)

    def _size(self) -> str:
        sides = (self.spot.w_mm, self.spot.d_mm, self.spot.h_mm)
        return " × ".join("?" if side is None else self.words.mm(side.value) for side in sides)

    def _starts(self) -> Iterator[tuple[int, Lying, float]]:
        """Yield each amplifier with its number and its start along the row, from the middle of the spot."""
        at = -self.row.taken / 2 + self.air
        for number, one in enumerate(self.row.lying, start=1):
            yield number, one, at
            at += one.along + self.air

    def _lay(self) -> None:
        """Draw the amplifiers in a centered row, with air that neighbors share."""
        air = self.air
        sides = self._board_sides()
        if sides is not None:
            wide, deep = sides
            self.sheet.rect(-wide / 2, -deep / 2, wide, deep, BOARD, "board")
        for number, one, at in self._starts():
            x, y, w, d = at, -one.across / 2, one.along, one.across
            if not self.row.by_width:
                x, y, w, d = y, x, d, w
            self.sheet.rect(x - air, y - air, w + 2 * air, d + 2 * air, ROOM, "air")
            self.sheet.rect(x, y, w, d, FINS, "amplifier")
            mark(self.sheet, (x + w / 2, y + d / 2), str(number))

    def _side(self, top: float) -> None:
        """Draw the free height above the board along the row, and each amplifier with the air above it."""
        sheet, bottom = self.sheet, top + self.h.mm
        wide = self.w if self.row.by_width else self.d
        sides, thick = self._board_sides(), 0.0 if self.board is None else value(self.board.d_mm) or 0.0
        if sides is not None and thick:
            along = sides[0] if self.row.by_width else sides[1]
            sheet.rect(-along / 2, bottom - thick, along, thick, BOARD, "board-side")
        bottom -= thick
        sheet.rect(-wide.mm / 2, top, wide.mm, self.h.mm, self.h.pen(FOUND), "spot-side")
        for number, one, left in self._starts():
            if one.high is not None:
                sheet.rect(left, bottom - one.high - self.over, one.along, self.over, ROOM, "air-over")
                sheet.rect(left, bottom - one.high, one.along, one.high, FINS, "amplifier-side")
                mark(sheet, (left + one.along / 2, bottom - one.high / 2), str(number), 3.2)
        dims = Dims(sheet, self.words)
        dims.right_x = wide.mm / 2
        dims.right(top, top + self.h.mm, wide.mm / 2, self.words("h_mm"), self.h)
        sheet.text((sheet.left, top - sheet.paper(3)), self.words("view_side"))

    def _board_sides(self) -> tuple[float, float] | None:
        """Return the board's width and depth as mounted; None if there is none, or its size is unknown."""
        wide, deep = (None, None) if self.board is None else (value(self.board.w_mm), value(self.board.h_mm))
        if wide is None or deep is None:
            return None
        lies_as_sold = wide <= self.w.mm and deep <= self.d.mm
        return (wide, deep) if lies_as_sold else (deep, wide)

    def _entries(self, edge: Pen) -> list[LegendEntry]:
        words = self.words
        entries = [LegendEntry(edge, [f"{words('spot')}: {self._size()}"])]
        if self.board is not None:
            figures = (self.board.w_mm, self.board.h_mm, self.board.d_mm)
            label = " × ".join("?" if one is None else words.mm(one.value) for one in figures)
            entries.append(LegendEntry(BOARD, [words("board_under", size=label)]))
        for number, one in enumerate(self._in_order(), start=1):
            sides = (value(one.w_mm), value(one.d_mm), value(one.h_mm))
            size = " × ".join("?" if side is None else words.mm(side) for side in sides)
            lacks = "" if None not in sides else f", {words('measure')}"
            entries.append(LegendEntry(str(number), [f"{part_name(one)}: {size}{lacks}"]))
        if self.amplifiers:
            label = words("air", side=words.mm(self.air), over=words.mm(self.over))
            entries.append(LegendEntry(ROOM, [label]))
        along = self.w if self.row.by_width else self.d
        if along.known and self.row.taken > along.mm:
            entries.append(LegendEntry("no", [words("board_over", taken=words.mm(self.row.taken))]))
        held = self.spot.fasten if isinstance(self.spot, AmpSpot) else None
        entries += [LegendEntry("", [f"{words('held_by')}: {words.again(held)}"])] if held else []
        for zone in self.no_fasten:
            why = f" ({words.again(zone.why)})" if zone.why else ""
            entries.append(LegendEntry(FORBIDDEN, [f"{words('no_fasten')}: {words.again(zone.where)}{why}"]))
        return entries

    def _in_order(self) -> list[Amplifier]:
        """Return the drawn amplifiers by number, then those of unknown size."""
        drawn = [one.amplifier for one in self.row.lying]
        return drawn + [one for one in self.amplifiers if one not in drawn]
