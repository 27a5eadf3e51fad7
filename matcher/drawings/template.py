"""Full-size templates: a hole to cut, or holes to drill in an adapter plate, with bars to verify the print."""

from __future__ import annotations

from dataclasses import dataclass

from catalog_schema.checks import Fit
from catalog_schema.ladder import step_rank
from catalog_schema.parts import Adapter, HeadUnit, Speaker
from catalog_schema.vehicles import DashOpening, SpeakerOpening
from matcher.drawings.bolts import Pattern, draw_bolts
from matcher.drawings.dimension import Dims, LegendEntry, Length, finished, legend
from matcher.drawings.pens import BOLD, CENTER, FACE, INK, PLAIN, Pen
from matcher.drawings.placed import part_name, tall, value
from matcher.drawings.speaker_front import fits, found_pattern, gives, part_pattern
from matcher.drawings.svg import Canvas, Drawing, wrapped
from matcher.drawings.words import WORDS, DrawingWords

CONTROL_MM = 100.0
"""Length of the bars that verify the print."""
CUT_LINE = Pen(width=0.35)
BESIDE_MM = 160.0
"""Width up to which the height is labeled next to the hole; next to a wider one, the paper ends."""
Outline = tuple[str | None, float, float]


def may_cut(fit: Fit) -> bool:
    """Whether the allowed step includes the cut; beyond it no template is drawn, so that nobody is tempted."""
    return fit.cut is not None and fit.alteration is not None and step_rank(fit.alteration) <= step_rank(fit.asked)


def cut_template(
    opening: SpeakerOpening, part: Speaker, fit: Fit, words: DrawingWords = WORDS, prefix: str = "cut-template"
) -> Drawing | None:
    """Draw the hole that a loudspeaker needs at full size; None if nothing is cut, or the ladder forbids it.

    Parameters
    ----------
    opening
        The opening as it is, drawn inside the cut.
    part
        Its cut-out and bolt holes.
    fit
        The fit of the part at the opening: the cut, its step, and the allowed step.
    """
    w, h = value(part.cutout_w_mm), value(tall(part.shape, part.cutout_w_mm, part.cutout_h_mm))
    if not may_cut(fit) or w is None or h is None:
        return None
    size = (h, w) if fit.turned else (w, h)
    found = value(opening.hole_w_mm), value(tall(opening.shape, opening.hole_w_mm, opening.hole_h_mm))
    inner = None if found[0] is None or found[1] is None else (opening.shape, found[0], found[1])
    name = words("template_cut", name=part_name(part))
    pattern = part_pattern(part, turned=fit.turned)
    return _Template(name, (part.shape, *size), inner, pattern, None, words, Canvas(prefix)).drawn()


def dash_template(
    opening: DashOpening, part: HeadUnit, fit: Fit, words: DrawingWords = WORDS, prefix: str = "dash-template"
) -> Drawing | None:
    """Draw the opening for a head unit in the dash at full size; None if nothing is cut, or the ladder forbids it.

    Parameters
    ----------
    opening
        The opening as it is, drawn inside the cut.
    part
        The part that the opening is cut for.
    fit
        The fit of the part at the opening: the cut, its step, and the allowed step.
    """
    found = value(opening.w_mm), value(opening.h_mm)
    if fit.cut is None or not may_cut(fit) or found[0] is None or found[1] is None:
        return None
    cut = ("rect", float(fit.cut.w_mm), float(fit.cut.h_mm))
    name = words("template_dash", name=part_name(part))
    holes = Pattern(None, None, None, None)
    return _Template(name, cut, ("rect", found[0], found[1]), holes, None, words, Canvas(prefix)).drawn()


def drill_template(
    opening: SpeakerOpening,
    adapter: Adapter,
    part: Speaker | None = None,
    *,
    turned: bool = False,
    words: DrawingWords = WORDS,
    prefix: str = "drill-template",
) -> Drawing | None:
    """Draw the holes in an adapter plate at full size; None if the plate's interface is unknown.

    Parameters
    ----------
    opening
        Its bolt holes are those on the plate's car side.
    adapter
        The plate: the opening it fits, and its interface.
    part
        Its bolt holes are those on the plate's part side; without a part, the plate's own.
    turned
        Whether the part is mounted a quarter turn around.
    """
    inner = gives(adapter)
    if inner is None:
        return None
    own = Pattern(
        adapter.gives_bolt_w_mm, adapter.gives_bolt_h_mm, adapter.gives_bolt_circle_mm, adapter.gives_bolt_count
    )
    pattern = own if part is None else part_pattern(part, turned=turned)
    name = words("template_drill", name=part_name(adapter))
    car_holes = found_pattern(opening)
    return _Template(name, inner, fits(adapter), pattern, car_holes, words, Canvas(prefix), "covered_hole").drawn()


@dataclass
class _Template:
    name: str
    outline: Outline
    other: Outline | None
    """The existing hole, or the one that the plate fits, for reference only."""
    holes: Pattern
    car_holes: Pattern | None
    words: DrawingWords
    sheet: Canvas
    other_says: str = "as_found_line"
    """Word for that hole."""

    def drawn(self) -> Drawing:
        words, sheet = self.words, self.sheet
        kind, w, h = self.outline
        sheet.shape(kind, w, h, CUT_LINE, "cut-line")
        if self.other is not None:
            sheet.shape(self.other[0], self.other[1], self.other[2], FACE, "beside-cut")
        sheet.line((-w / 2 - 3, 0), (w / 2 + 3, 0), CENTER, "center")
        sheet.line((0, -h / 2 - 3), (0, h / 2 + 3), CENTER, "center")
        draw_bolts(sheet, self.holes, PLAIN, "drill")
        if self.car_holes is not None:
            draw_bolts(sheet, self.car_holes, Pen(width=0.5), "drill-car", 5.0)
        self._controls()
        dims = Dims(sheet, words)
        dims.below(-w / 2, w / 2, h / 2, words("w_mm"), Length(w, True))
        if (kind != "round" or w != h) and w <= BESIDE_MM:
            dims.right(-h / 2, h / 2, w / 2, words("h_mm"), Length(h, True))
        self._upwards()
        entries = self._entries()
        legend(sheet, entries)
        sentences = [words("template_warns"), *([words("template_angle")] if self._angle_unknown() else [])]
        most = max(int((sheet.right - sheet.left) / 1.85), 50)
        sheet.lines(
            (sheet.left, sheet.bottom + 6), [line for text in sentences for line in wrapped(text, most, 4)], bold=True
        )
        return finished(sheet, words, self.name, sentences, scaled=False)

    def _entries(self) -> list[LegendEntry]:
        """Return the legend of the template's lines."""
        words = self.words
        kind, w, h = self.outline
        size = f"⌀ {words.mm(w)}" if kind == "round" and w == h else words.size(w, h)
        entries = [LegendEntry(CUT_LINE, [f"{words('cut_line')}: {size}"])]
        entries += [LegendEntry(FACE, [words(self.other_says)])] if self.other is not None else []
        entries += [LegendEntry(CENTER, [words("center_line")])] if self._angle_unknown() else []
        entries += [LegendEntry("bolt", [words("drill_line")])] if self.holes.holes() else []
        return entries

    def _upwards(self) -> None:
        """Draw an arrow in the area cut away, so that the sheet is not used upside down."""
        sheet, y = self.sheet, -self.outline[2] * 0.36
        sheet.line((6, y + 9), (6, y + 3), Pen(width=0.6), "up")
        sheet.polygon(((6, y), (4.4, y + 3.5), (7.6, y + 3.5)), Pen(stroke="none", fill=INK), "up")
        sheet.text((9, y + 5), self.words("this_way_up"), back=True)

    def _angle_unknown(self) -> bool:
        return any(holes is not None and holes.is_circle for holes in (self.holes, self.car_holes))

    def _controls(self) -> None:
        """Draw a bar of known length each way: a print may be scaled in one direction only."""
        sheet, half, label = self.sheet, CONTROL_MM / 2, f"{CONTROL_MM:g} mm"
        _, w, h = self.outline
        # In a large hole, the vertical bar is in the area cut away: next to it, the sheet would get too wide.
        is_large = min(w, h) > CONTROL_MM
        x = -w / 4 if is_large else sheet.left - 4
        below = max(sheet.bottom, half) + 5
        for start, end, across in (((x, -half), (x, half), False), ((-half, below), (half, below), True)):
            sheet.line(start, end, BOLD, "control")
            for a, b in (start, end):
                tick = ((a, b - 2), (a, b + 2)) if across else ((a - 2, b), (a + 2, b))
                sheet.line(*tick, PLAIN)
        sheet.text((x - 2, -half / 2), label, "end", back=True)
        sheet.text((0, below + 3), label, "middle")
        side = 10.0
        left, top = (8.0, 8.0) if is_large else (x - side - 6, -half)
        sheet.rect(left, top, side, side, PLAIN, "control-square")
        sheet.text((left + side / 2, top + side / 2), f"{side:g}", "middle")
