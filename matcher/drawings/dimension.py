"""Dimension lines, scale bar and legend: placed around a drawing without overlaps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from catalog_schema.checks import VERDICT_ORDER
from catalog_schema.figures import Figure
from matcher.drawings.pens import BLACK, BLUE, INK, PAPER, THIN, UNKNOWN, Pen
from matcher.drawings.svg import ADVANCE, LINE_MM, TEXT_MM, Canvas, Drawing, Point, columns, wrapped
from matcher.drawings.words import DrawingWords
from matcher.lengths import length_text, shown_unit

ARROW_MM = 1.8
LEVEL_MM = 5.6
SAMPLE_MM = 9.0
LEAST_MM = 2.5
"""Minimum height of letters, mm on paper."""
BARS = (5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0)
INCH_BARS = tuple(25.4 * inches for inches in (0.25, 0.5, 1, 2, 4, 8, 20, 40, 80))


@dataclass(frozen=True, slots=True)
class Length:
    """A length to draw: the figure, or a placeholder if it was not measured."""

    mm: float
    known: bool

    @property
    def dash(self) -> tuple[float, ...]:
        """Return the dashes of a line of unknown position."""
        return () if self.known else UNKNOWN.dash

    def pen(self, pen: Pen) -> Pen:
        """Return the pen itself, or the one for unknown lengths."""
        return pen if self.known else UNKNOWN


def length(figure: Figure | None, otherwise: float) -> Length:
    """Return a figure as a length; an unknown one has the length ``otherwise`` and is dashed."""
    return Length(otherwise, False) if figure is None else Length(float(figure.value), True)


@dataclass
class Dims:
    """Dimension lines around the drawing, each on its own level."""

    sheet: Canvas
    words: DrawingWords
    below_y: float = field(init=False)
    above_y: float = field(init=False)
    right_x: float = field(init=False)
    left_x: float = field(init=False)

    def __post_init__(self) -> None:
        self.below_y, self.above_y = self.sheet.bottom, self.sheet.top
        self.right_x, self.left_x = self.sheet.right, self.sheet.left

    def below(self, start: float, end: float, top: float, name: str, size: Length, pen: Pen = THIN) -> None:
        """Add a horizontal length below the drawing; its extension lines start at ``top``."""
        y = self.below_y + self.sheet.paper(LEVEL_MM)
        self.below_y = self._level(y, (start, end), top, self._named(name, size, 24), size.pen(pen))

    def above(self, start: float, end: float, low: float, name: str, size: Length, pen: Pen = THIN) -> None:
        """Add a horizontal length above the drawing; its extension lines start at ``low``."""
        y = self.above_y - self.sheet.paper(LEVEL_MM)
        self.above_y = self._level(y, (start, end), low, self._named(name, size, 24), size.pen(pen))

    def _level(self, y: float, ends: tuple[float, float], thing: float, texts: list[str], pen: Pen) -> float:
        """Draw a dimension line with its text inside, or outside if too long, and return its extent."""
        out = 1 if y > thing else -1
        gap, (start, end) = self.sheet.paper(0.8) * out, ends
        for x in ends:
            self.sheet.line((x, thing + gap), (x, y + gap), THIN)
        measure(self.sheet, (start, y), (end, y), pen)
        whole, middle, bold = " ".join(texts), (start + end) / 2, pen.width > 0.6
        if columns(whole) * self.sheet.paper(TEXT_MM) * ADVANCE + self.sheet.paper(6) < end - start:
            self.sheet.text((middle, y), whole, "middle", back=True, bold=bold)
            return y
        high = self.sheet.paper(LINE_MM)
        far = y + out * high * len(texts)
        self.sheet.lines((middle, y + high if out > 0 else far), texts, "middle", back=True, bold=bold)
        return far

    def right(self, start: float, end: float, left: float, name: str, size: Length, pen: Pen = THIN) -> None:
        """Add a vertical length on the right; its extension lines start at ``left``."""
        self.right_x = self._upright(self.right_x, 1, (start, end), left, name, size, pen)

    def left(self, start: float, end: float, right: float, name: str, size: Length, pen: Pen = THIN) -> None:
        """Add a vertical length on the left."""
        self.left_x = self._upright(self.left_x, -1, (start, end), right, name, size, pen)

    def _named(self, name: str, size: Length, most: int = 14) -> list[str]:
        """Return name and value of a length, wrapped to a number of columns."""
        return [*wrapped(name, most, 2), self.words.mm(size.mm if size.known else None)]

    def _upright(
        self, edge: float, out: int, ends: tuple[float, float], thing: float, name: str, size: Length, pen: Pen
    ) -> float:
        """Draw a vertical dimension line beside an edge with its text further out, and return its extent."""
        paper = self.sheet.paper
        x, gap = edge + out * paper(LEVEL_MM), out * paper(0.8)
        for y in ends:
            self.sheet.line((thing + gap, y), (x + gap, y), THIN)
        measure(self.sheet, (x, ends[0]), (x, ends[1]), size.pen(pen))
        texts = self._named(name, size)
        beside, top = x + out * paper(1.6), sum(ends) / 2 - paper(LINE_MM) * (len(texts) - 1) / 2
        anchor = "start" if out > 0 else "end"
        self.sheet.lines((beside, top), texts, anchor, back=True, bold=pen.width > 0.6)
        return beside + out * paper(max(map(columns, texts)) * TEXT_MM * ADVANCE)


def measure(sheet: Canvas, start: Point, end: Point, pen: Pen) -> None:
    """Draw a line with an arrow at each end; on a short line, the arrows point inward from outside."""
    sheet.line(start, end, pen, "dimension")
    across, down = end[0] - start[0], end[1] - start[1]
    long = abs(across) + abs(down)
    tip = sheet.paper(ARROW_MM) * (1 if pen.width < 0.6 else 1.4)
    if not long:
        return
    along = (across / long, down / long)
    inside = long > 3 * tip
    for (x, y), turn in ((start, 1 if inside else -1), (end, -1 if inside else 1)):
        a, b = along[0] * tip * turn, along[1] * tip * turn
        if not inside:
            sheet.line((x, y), (x + 1.8 * a, y + 1.8 * b), Pen(width=pen.width))
        sheet.polygon(((x, y), (x + a - b * 0.3, y + b + a * 0.3), (x + a + b * 0.3, y + b - a * 0.3)), BLACK)


Sample = Pen | str | tuple[str, str]
"""Sample in front of a legend line: a pen, a sign as `mark` draws it, or two such signs."""


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """One entry of a legend."""

    sample: Sample
    texts: Sequence[str]


def legend(sheet: Canvas, entries: Iterable[LegendEntry], least_mm: float = 110.0) -> None:
    """Draw the legend under the drawing, with the meaning of its lines and numbers."""
    wide = max(sheet.right - sheet.left, sheet.paper(least_mm))
    x, y = sheet.left, sheet.bottom + sheet.paper(6)
    most = int((wide / sheet.per - SAMPLE_MM - 3) / (TEXT_MM * ADVANCE))
    for entry in entries:
        _sample(sheet, (x, y), entry.sample)
        lines = [line for text in entry.texts for line in wrapped(text, most)]
        y = sheet.lines((x + sheet.paper(SAMPLE_MM + 2.5), y), lines) + sheet.paper(0.8)


def _sample(sheet: Canvas, at: Point, sample: Sample) -> None:
    wide, high = sheet.paper(SAMPLE_MM), sheet.paper(2.6)
    if isinstance(sample, str):
        mark(sheet, (at[0] + wide / 2, at[1]), sample)
    elif isinstance(sample, tuple):
        for place, sign in zip((0.22, 0.8), sample, strict=True):
            mark(sheet, (at[0] + wide * place, at[1]), sign, 3.6)
    elif sample.fill != "none":
        sheet.rect(at[0], at[1] - high / 2, wide, high, sample)
    else:
        sheet.line(at, (at[0] + wide, at[1]), sample)


def mark(sheet: Canvas, at: Point, sign: str, size_mm: float = 4.0) -> None:
    """Draw a verdict's sign, distinct by shape (ticked circle, crossed square, triangle), or a bolt's, or a number."""
    (x, y), r = at, sheet.paper(size_mm / 2)
    pen, stroke = Pen(fill=PAPER, width=0.35), Pen(width=0.5)
    if sign == "fits":
        sheet.ellipse(at, 2 * r, 2 * r, pen, "fits")
        sheet.path(((x - 0.5 * r, y), (x - 0.1 * r, y + 0.45 * r), (x + 0.55 * r, y - 0.45 * r)), stroke)
    elif sign == "no":
        sheet.rect(x - r, y - r, 2 * r, 2 * r, pen, "no")
        sheet.line((x - r, y - r), (x + r, y + r), stroke)
        sheet.line((x - r, y + r), (x + r, y - r), stroke)
    elif sign == "measure":
        sheet.polygon(((x, y - r), (x + 1.1 * r, y + 0.9 * r), (x - 1.1 * r, y + 0.9 * r)), pen, "measure")
        sheet.text((x, y + 0.25 * r), "?", "middle", LEAST_MM, bold=True)
    elif sign in ("bolt", "cross"):
        bolt_sign(sheet, at, r, sign)
    elif sign:
        sheet.ellipse(at, 2.2 * r, 2.2 * r, pen, "number")
        sheet.text(at, sign, "middle", max(LEAST_MM, min(size_mm * 0.7, TEXT_MM)), bold=True)


def bolt_sign(sheet: Canvas, at: Point, reach: float, sign: str, of: str = "") -> None:
    """Draw an existing bolt hole as a circle with an upright cross, or a required one with a slanted cross."""
    (x, y), pen = at, Pen(width=0.3) if sign == "bolt" else Pen(stroke=BLUE, width=0.4)
    if sign == "bolt":
        sheet.ellipse(at, 1.3 * reach, 1.3 * reach, pen, of)
        sheet.line((x - reach, y), (x + reach, y), Pen(width=0.18))
        sheet.line((x, y - reach), (x, y + reach), Pen(width=0.18))
    else:
        arm = reach * 0.7
        sheet.line((x - arm, y - arm), (x + arm, y + arm), pen, of)
        sheet.line((x - arm, y + arm), (x + arm, y - arm), pen, of)


def scale_bar(sheet: Canvas) -> None:
    """Draw a bar of round length under the drawing; it stays true if the picture is scaled down."""
    unit = shown_unit("mm")
    bars = BARS if unit == "mm" else INCH_BARS
    long = max((bar for bar in bars if bar <= 45 * sheet.per), default=bars[0])
    x, y, high = sheet.left, sheet.bottom + sheet.paper(5), sheet.paper(1.6)
    for part in range(4):
        fill = INK if part % 2 == 0 else PAPER
        sheet.rect(x + long * part / 4, y, long / 4, high, Pen(width=0.2, fill=fill))
    sheet.rect(x, y, long, high, Pen(width=0.2), "scale-bar")
    sheet.text((x + long + sheet.paper(1.5), y + high / 2), f"{length_text(long)} {unit}")


def spoken(entries: Iterable[LegendEntry], words: DrawingWords) -> list[str]:
    """Return a legend as sentences for screen readers, with verdicts as words."""
    sentences = []
    for entry in entries:
        text = " ".join(entry.texts)
        known = isinstance(entry.sample, str) and entry.sample in VERDICT_ORDER
        sentences.append(f"{text}, {words(f'verdict_{entry.sample}')}." if known else f"{text}.")
    return sentences


def explained(
    sheet: Canvas,
    words: DrawingWords,
    title: str,
    entries: Sequence[LegendEntry],
    told: Sequence[str] = (),
    least_mm: float = 110.0,
) -> Drawing:
    """Finish a drawing with its legend, which is read out before the sentences of ``told``."""
    legend(sheet, entries, least_mm)
    return finished(sheet, words, title, [*spoken(entries, words), *told])


def finished(sheet: Canvas, words: DrawingWords, title: str, told: Iterable[str], *, scaled: bool = True) -> Drawing:
    """Finish the drawing with its title above and its scale below; ``told`` are the sentences of its description."""
    if scaled:
        scale_bar(sheet)
    most = max(int((sheet.right - sheet.left) / sheet.per / (3.4 * ADVANCE)), 30)
    heads = wrapped(title, most, 4)
    high = sheet.paper(LINE_MM * 3.4 / TEXT_MM)
    sheet.lines((sheet.left, sheet.top - sheet.paper(4) - high * (len(heads) - 1)), heads, size=3.4, bold=True)
    return sheet.drawing(title, " ".join(text[:1].upper() + text[1:] for text in told if text), words.lang)


SCALES = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0)
"""Millimeters of the thing per millimeter of paper."""


def per_for(long_mm: float, most_mm: float = 110.0) -> float:
    """Return the scale at which a length fits on a length of paper."""
    return next((per for per in SCALES if long_mm / per <= most_mm), 50.0)
