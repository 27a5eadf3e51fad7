"""A speaker opening from the front: hole, bolts, flat face, and a part over it with its cut."""

from __future__ import annotations

from dataclasses import dataclass

from catalog_schema.figures import Figure
from catalog_schema.parts import Adapter, Speaker
from catalog_schema.vehicles import SpeakerOpening
from matcher.drawings.bolts import Pattern, draw_bolts
from matcher.drawings.dimension import Dims, LegendEntry, Length, bolt_sign, explained, length, per_for
from matcher.drawings.pens import ADAPTER, CENTER, CUT, FACE, FOUND, INNER, PART, PLAIN, UNKNOWN, Pen
from matcher.drawings.placed import PlacedSpeaker, tall, value
from matcher.drawings.svg import Canvas, Drawing
from matcher.drawings.words import WORDS, DrawingWords

WIDE_MM, LEGEND_MM = 58.0, 76.0
"""Width of the opening and its legend, mm on paper: half a sheet."""
SKETCH_MM = 120.0
"""Size of the sketch of a hole of unknown size, drawn dashed without figures."""
MAGNET = Pen(stroke=PART.stroke, width=0.35, dash=(1, 1))


def speaker_front(placed: PlacedSpeaker, words: DrawingWords = WORDS, prefix: str = "speaker-front") -> Drawing:
    """Draw a speaker opening to scale from the front: as it is, or with a loudspeaker over it.

    Parameters
    ----------
    placed
        The opening with the mounted part; its fit gives the turn and the cut.
    """
    opening, part = placed.opening, placed.part
    sides = [opening.hole_w_mm, opening.hole_h_mm, opening.flat_w_mm, opening.flat_h_mm]
    sides += [] if part is None else [part.flange_w_mm, part.flange_h_mm]
    widest = max([value(side) or 0 for side in sides] + [SKETCH_MM])
    return _Front(placed, words, Canvas(prefix, per_for(widest, WIDE_MM))).drawn()


def found_pattern(opening: SpeakerOpening) -> Pattern:
    """Return the existing bolt holes."""
    return Pattern(opening.bolt_w_mm, opening.bolt_h_mm, opening.bolt_circle_mm, opening.bolt_count)


def part_pattern(part: Speaker, *, turned: bool) -> Pattern:
    """Return the part's bolt holes in its orientation."""
    pattern = Pattern(part.bolt_w_mm, part.bolt_h_mm, part.bolt_circle_mm, part.bolt_count)
    return pattern.turned() if turned else pattern


@dataclass
class _Front:
    placed: PlacedSpeaker
    words: DrawingWords
    sheet: Canvas

    def drawn(self) -> Drawing:
        opening, words = self.placed.opening, self.words
        w = length(opening.hole_w_mm, SKETCH_MM)
        h = length(tall(opening.shape, opening.hole_w_mm, opening.hole_h_mm), w.mm)
        entries = [*self._flat(), *self._cut(w, h), *self._adapter(), *self._as_found(w, h)]
        if self.placed.part is not None:
            entries += self._part(self.placed.part)
        entries += self._beside()
        reach = max(w.mm, h.mm) / 2 + self.sheet.paper(4)
        self.sheet.line((-reach, 0), (reach, 0), CENTER)
        self.sheet.line((0, -reach), (0, reach), CENTER)
        dims = Dims(self.sheet, words)
        dims.below(-w.mm / 2, w.mm / 2, h.mm / 2, words("hole_short"), w)
        if opening.shape != "round":
            dims.right(-h.mm / 2, h.mm / 2, w.mm / 2, words("hole_short"), h)
        title = words("speaker", name=self.placed.name)
        return explained(self.sheet, words, title, entries, self.placed.says(words), LEGEND_MM)

    @property
    def _turned(self) -> bool:
        return self.placed.fit is not None and self.placed.fit.turned

    def _entry(self, pen: Pen, name: str, w: Figure | None, h: Figure | None, shape: str | None = None) -> LegendEntry:
        known = w is not None and h is not None
        is_one = shape == "round" and value(w) == value(h)
        label = f"{self.words(name)}: {self.words.size(value(w), None if is_one else value(h))}"
        return LegendEntry(pen if known else UNKNOWN, [label if known else f"{label}, {self.words('measure')}"])

    def _flat(self) -> list[LegendEntry]:
        w, h = self.placed.opening.flat_w_mm, self.placed.opening.flat_h_mm
        if w is not None and h is not None:
            self.sheet.shape("rect", float(w.value), float(h.value), FACE, "flat")
        return [self._entry(FACE, "flat", w, h)]

    def _as_found(self, w: Length, h: Length) -> list[LegendEntry]:
        opening = self.placed.opening
        edge = FOUND if w.known and h.known else UNKNOWN
        self.sheet.shape(opening.shape or "round", w.mm, h.mm, edge, "hole")
        bolts = found_pattern(opening)
        draw_bolts(self.sheet, bolts, PLAIN, "bolt")
        size = self.words.size(value(opening.hole_w_mm), None if opening.shape == "round" else value(opening.hole_h_mm))
        return [
            LegendEntry(edge, [f"{self.words('hole')}: {size}"]),
            LegendEntry("bolt" if bolts.holes() else UNKNOWN, [f"{self.words('bolts')}: {self._bolts_say(bolts)}"]),
        ]

    def _bolts_say(self, pattern: Pattern) -> str:
        if not pattern.holes():
            return self.words.mm(None)
        if pattern.w_mm is None and pattern.h_mm is None:
            return f"{pattern.count or '?'} × ⌀ {self.words.mm(value(pattern.circle_mm))}"
        return self.words.size(value(pattern.w_mm), value(pattern.h_mm))

    def _cut(self, w: Length, h: Length) -> list[LegendEntry]:
        """Draw the area to be cut away, between the hole and the outline of the part or its adapter."""
        fit = self.placed.fit
        if fit is None or fit.cut is None or not (w.known and h.known):
            return []
        wide, high = float(fit.cut.w_mm), float(fit.cut.h_mm)
        if (wide, high) == (w.mm, h.mm):
            return []
        shape = self.placed.adapter.fits_shape if self.placed.adapter else self.placed.part and self.placed.part.shape
        self.sheet.ring((shape or "rect", wide, high), (self.placed.opening.shape, w.mm, h.mm), CUT, "cut")
        material = f" ({self.words.again(fit.cut.material)})" if fit.cut.material else ""
        return [LegendEntry(CUT, [f"{self.words('cut')}: {self.words.size(wide, high)}{material}"])]

    def _adapter(self) -> list[LegendEntry]:
        plate = self.placed.adapter
        if plate is None:
            return []
        inner, outer = gives(plate), fits(plate)
        if inner is not None and outer is not None:
            self.sheet.ring(outer, inner, ADAPTER, "adapter")
        size, around = (self._outline_says(one) for one in (inner, outer))
        return [LegendEntry(ADAPTER, [self.words("adapter", size=size, outer=around)])]

    def _outline_says(self, outline: tuple[str | None, float, float] | None) -> str:
        if outline is None:
            return "?"
        shape, w, h = outline
        return self.words.size(w, None if shape == "round" and w == h else h)

    def _part(self, part: Speaker) -> list[LegendEntry]:
        entries = []
        for name, wide, high, pen in (
            ("flange", part.flange_w_mm, tall(part.shape, part.flange_w_mm, part.flange_h_mm), PART),
            ("cutout", part.cutout_w_mm, tall(part.shape, part.cutout_w_mm, part.cutout_h_mm), INNER),
        ):
            w, h = (high, wide) if self._turned else (wide, high)
            if w is not None and h is not None:
                self.sheet.shape(part.shape, float(w.value), float(h.value), pen, name)
            entries.append(self._entry(pen, f"part_{name}", w, h, part.shape))
        bolts = part_pattern(part, turned=self._turned)
        for hole in bolts.holes():
            bolt_sign(self.sheet, hole, self.sheet.paper(1.6), "cross", "part-bolt")
        entries.append(
            LegendEntry(
                "cross" if bolts.holes() else UNKNOWN, [f"{self.words('part_bolts')}: {self._bolts_say(bolts)}"]
            )
        )
        magnet = value(part.magnet_mm)
        if magnet is not None:
            self.sheet.ellipse((0, 0), magnet, magnet, MAGNET, "magnet")
        return [*entries, LegendEntry(MAGNET, [f"{self.words('magnet')}: {self.words.mm(magnet)}"])]

    def _beside(self) -> list[LegendEntry]:
        """Draw the nearest thing to the magnet; its side is unknown, so it is on the right."""
        x = value(self.placed.opening.beside_mm)
        if x is None:
            return [LegendEntry(UNKNOWN, [f"{self.words('beside')}: {self.words.mm(None)}"])]
        high, thick = self.sheet.paper(9), self.sheet.paper(2)
        pen = Pen(width=0.4, fill="solid")
        self.sheet.rect(x, -high, thick, 2 * high, pen, "beside")
        return [LegendEntry(pen, [f"{self.words('beside')}: {self.words.mm(x)}"])]


def gives(plate: Adapter) -> tuple[str | None, float, float] | None:
    """Return shape, width and height of an adapter's interface; None if unknown."""
    w, h = value(plate.gives_w_mm), value(tall(plate.gives_shape, plate.gives_w_mm, plate.gives_h_mm))
    return None if w is None or h is None else (plate.gives_shape, w, h)


def fits(plate: Adapter) -> tuple[str | None, float, float] | None:
    """Return the opening that an adapter fits."""
    w, h = value(plate.fits_w_mm), value(tall(plate.fits_shape, plate.fits_w_mm, plate.fits_h_mm))
    return None if w is None or h is None else (plate.fits_shape, w, h)
