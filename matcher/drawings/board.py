"""Amplifiers on a board: each with its air, seen from above and from the side, and where nothing may be fastened."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalog_schema.parts import Amplifier
from catalog_schema.vehicles import AmpSpot, ControlSpot, NoFasten
from matcher.drawings.dimension import Dims, Entry, Length, finished, legend, length, mark, per_for, spoken
from matcher.drawings.pens import FOUND, PART, ROOM, UNKNOWN, Pen
from matcher.drawings.placed import part_name, value
from matcher.drawings.svg import Drawing, Sheet
from matcher.drawings.words import WORDS, Words
from matcher.settings import DEFAULT_SETTINGS, Settings

SKETCH_W_MM, SKETCH_D_MM, SKETCH_H_MM = 300.0, 200.0, 100.0
"""How large a spot of unknown size is sketched: no figures, and drawn dashed."""
FINS = Pen(stroke=PART.stroke, width=0.6, fill="veil")
FORBIDDEN = Pen(width=0.4, fill="cut")


def board_layout(
    spot: AmpSpot | ControlSpot,
    amplifiers: Sequence[Amplifier] = (),
    *,
    no_fasten: Sequence[NoFasten] = (),
    settings: Settings = DEFAULT_SETTINGS,
    words: Words = WORDS,
    prefix: str = "board",
) -> Drawing:
    """A spot to scale with amplifiers on it, side by side, each with the air that the shop asks for.

    Parameters
    ----------
    spot
        The place as measured: width and depth of the board, free height over it.
    amplifiers
        What stands there. One of unknown size is named, not drawn.
    no_fasten
        The vehicle's zones into which nothing may be fastened: where they lie is told in words.
    settings
        The shop's air beside and over an amplifier.
    words
        Language and units.
    prefix
        What its ids begin with: another one for each drawing of a page.
    """
    w, d = length(spot.w_mm, SKETCH_W_MM), length(spot.d_mm, SKETCH_D_MM)
    board = _Board(spot, tuple(amplifiers), tuple(no_fasten), settings, words, Sheet(prefix), w, d)
    board.sheet.per = per_for(max(w.mm, board.taken()), 110)
    return board.drawn()


@dataclass
class _Board:
    spot: AmpSpot | ControlSpot
    amplifiers: tuple[Amplifier, ...]
    no_fasten: tuple[NoFasten, ...]
    settings: Settings
    words: Words
    sheet: Sheet
    w: Length
    d: Length

    def __post_init__(self) -> None:
        self.h = length(self.spot.h_mm, SKETCH_H_MM)
        self.air, self.over = float(self.settings["air_side_mm"]), float(self.settings["air_over_mm"])

    def taken(self) -> float:
        """Width that all amplifiers take with the air between and beside them."""
        return sum(wide + 2 * self.air for _, wide, _, _ in self._sized())

    def _sized(self) -> list[tuple[Amplifier, float, float, float | None]]:
        """Amplifiers of known size with width, depth and height as they lie: long side along the spot's."""
        sized = []
        for one in self.amplifiers:
            w, d = value(one.w_mm), value(one.d_mm)
            if w is None or d is None:
                continue
            is_turned = (w - d) * (self.w.mm - self.d.mm) < 0
            sized.append((one, *((d, w) if is_turned else (w, d)), value(one.h_mm)))
        return sized

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
        legend(sheet, entries)
        title = words(
            "board" if isinstance(self.spot, AmpSpot) else "control", name=self.spot.label or self.spot.opening_id
        )
        told = spoken(entries, words)
        return finished(sheet, words, title, told)

    def _size(self) -> str:
        sides = (self.spot.w_mm, self.spot.d_mm, self.spot.h_mm)
        return " × ".join("?" if side is None else self.words.mm(side.value) for side in sides)

    def _lay(self) -> None:
        """Side by side from the middle, each in its air."""
        x = -self.taken() / 2
        for number, (_, wide, deep, _) in enumerate(self._sized(), start=1):
            air = self.air
            self.sheet.rect(x, -deep / 2 - air, wide + 2 * air, deep + 2 * air, ROOM, "air")
            self.sheet.rect(x + air, -deep / 2, wide, deep, FINS, "amplifier")
            mark(self.sheet, (x + air + wide / 2, 0), str(number))
            x += wide + 2 * air

    def _side(self, top: float) -> None:
        """The free height over the board, and each amplifier with the air over it."""
        sheet, bottom = self.sheet, top + self.h.mm
        sheet.rect(-self.w.mm / 2, top, self.w.mm, self.h.mm, self.h.pen(FOUND), "spot-side")
        x = -self.taken() / 2
        for number, (_, wide, _, high) in enumerate(self._sized(), start=1):
            if high is not None:
                left = x + self.air
                sheet.rect(left, bottom - high - self.over, wide, self.over, ROOM, "air-over")
                sheet.rect(left, bottom - high, wide, high, FINS, "amplifier-side")
                mark(sheet, (left + wide / 2, bottom - high / 2), str(number), 3.2)
            x += wide + 2 * self.air
        dims = Dims(sheet, self.words)
        dims.right_x = self.w.mm / 2
        dims.right(top, bottom, self.w.mm / 2, self.words("h_mm"), self.h)
        sheet.text((sheet.left, top - sheet.paper(3)), self.words("view_side"))

    def _entries(self, edge: Pen) -> list[Entry]:
        words = self.words
        entries = [Entry(edge, [f"{words('spot')}: {self._size()}"])]
        for number, one in enumerate(self._in_order(), start=1):
            sides = (value(one.w_mm), value(one.d_mm), value(one.h_mm))
            size = " × ".join("?" if side is None else words.mm(side) for side in sides)
            lacks = "" if None not in sides else f", {words('measure')}"
            entries.append(Entry(str(number), [f"{part_name(one)}: {size}{lacks}"]))
        if self.amplifiers:
            told = words("air", side=words.mm(self.air), over=words.mm(self.over))
            entries.append(Entry(ROOM, [told]))
        if self.w.known and self.taken() > self.w.mm:
            entries.append(Entry("no", [words("board_over", taken=words.mm(self.taken()))]))
        held = self.spot.fasten if isinstance(self.spot, AmpSpot) else None
        entries += [Entry("", [f"{words('held_by')}: {held}"])] if held else []
        for zone in self.no_fasten:
            why = f" ({zone.why})" if zone.why else ""
            entries.append(Entry(FORBIDDEN, [f"{words('no_fasten')}: {zone.where}{why}"]))
        return entries

    def _in_order(self) -> list[Amplifier]:
        """Those that are drawn, by their numbers, then those of unknown size."""
        drawn = [one for one, *_ in self._sized()]
        return drawn + [one for one in self.amplifiers if one not in drawn]
