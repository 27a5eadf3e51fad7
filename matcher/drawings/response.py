"""Loudness of each offered package over frequency, computed only from the figures of its parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from matcher.drawings.pens import BLUE, BROWN, GREY, INK, Pen
from matcher.drawings.svg import Canvas, Drawing, Point
from matcher.drawings.words import WORDS, DrawingWords

FIRST_HZ, LAST_HZ, STEPS = 20.0, 20_000.0, 120
WIDE_MM, HIGH_MM = 62.0, 34.0
SPAN_DB, HEADROOM_DB = 40.0, 1.0
LABELS = {20: "20", 50: "50", 100: "100", 200: "200", 500: "500", 1000: "1k", 2000: "2k", 5000: "5k", 10_000: "10k",
          20_000: "20k"}  # fmt: skip
ZONES_HZ = (("deep_bass", 36.0), ("low_notes", 150.0), ("voices", 800.0), ("treble", 7000.0))
"""Names of frequency ranges, with their center frequencies."""
SMALL_MM = 2.6
GRID = Pen(stroke="#c4cad0", width=0.15)
PENS = (
    Pen(stroke=BROWN, width=0.5, dash=(0.6, 0.8)),
    Pen(stroke=BLUE, width=0.7),
    Pen(stroke=INK, width=0.5, dash=(3, 1.2)),
)
"""Pens of the packages in order: dotted, solid, dashed; a single one is solid."""
TODAY = Pen(stroke=GREY, width=0.5, dash=(4, 0.8, 0.6, 0.8))


@dataclass(frozen=True, slots=True)
class Response:
    """A package's letter, and its level at each of `frequencies`: minus infinity if no part plays."""

    letter: str
    levels_db: tuple[float, ...]


def frequencies() -> list[float]:
    """Return the frequencies of a response, evenly spaced on a log axis."""
    return [FIRST_HZ * (LAST_HZ / FIRST_HZ) ** (step / STEPS) for step in range(STEPS + 1)]


def response_plot(
    responses: Sequence[Response],
    today: Sequence[float] = (),
    words: DrawingWords = WORDS,
    prefix: str = "response",
) -> Drawing | None:
    """Draw the levels of several packages over frequency, a line for those that are alike; None if none plays.

    Parameters
    ----------
    responses
        The packages, at most three.
    today
        Level of the car's present loudspeakers at each of `frequencies`; empty if unknown.
    """
    alike: dict[tuple[float, ...], list[str]] = {}
    for one in responses:
        if max(one.levels_db) > -math.inf:
            alike.setdefault(one.levels_db, []).append(one.letter)
    if not alike:
        return None
    merged = [Response(", ".join(letters), levels) for levels, letters in alike.items()]
    penned = list(zip(merged, PENS if len(merged) > 1 else PENS[1:], strict=False))
    penned += [(Response(words("today"), tuple(today)), TODAY)] if today else []
    highest = max(max(response.levels_db) for response, _ in penned)
    top = math.ceil((highest + HEADROOM_DB) / 10) * 10.0
    shown = [(response, pen) for response, pen in penned if max(response.levels_db) >= top - SPAN_DB]
    return _Plot(shown, top, words, Canvas(prefix)).drawn()


@dataclass
class _Plot:
    penned: list[tuple[Response, Pen]]
    top_db: float
    words: DrawingWords
    sheet: Canvas

    def drawn(self) -> Drawing:
        self._axes()
        for response, pen in self.penned:
            self._line(response, pen)
        self._letters()
        sentences = [self._sentence(response) for response, _ in self.penned]
        return self.sheet.drawing(self.words("response"), " ".join(sentences), self.words.lang)

    def _at(self, hz: float, db: float) -> Point:
        across = math.log(hz / FIRST_HZ) / math.log(LAST_HZ / FIRST_HZ)
        return WIDE_MM * across, HIGH_MM * (self.top_db - db) / SPAN_DB

    def _axes(self) -> None:
        sheet, low = self.sheet, self.top_db - SPAN_DB
        for hz, label in LABELS.items():
            x, _ = self._at(hz, low)
            sheet.line((x, 0), (x, HIGH_MM), GRID)
            sheet.text((x, HIGH_MM + 2.6), label, "middle", SMALL_MM)
        for name, middle_hz in ZONES_HZ:
            sheet.text((self._at(middle_hz, low)[0], HIGH_MM + 6.4), self.words(name), "middle", SMALL_MM)
        for step in range(int(SPAN_DB // 10) + 1):
            _, y = self._at(FIRST_HZ, low + 10 * step)
            sheet.line((0, y), (WIDE_MM, y), GRID)
            sheet.text((-1.6, y), f"{low + 10 * step:g}", "end", SMALL_MM)
        sheet.rect(0, 0, WIDE_MM, HIGH_MM, Pen(width=0.3), "frame")
        sheet.text((-6, -3.4), self.words("response_level"), size=SMALL_MM)
        sheet.text((WIDE_MM + 4, HIGH_MM + 2.6), "Hz", size=SMALL_MM)

    def _line(self, response: Response, pen: Pen) -> None:
        """Draw a line through each run of known levels, cut off at the bottom of the frame."""
        run: list[Point] = []
        for hz, level in zip([*frequencies(), LAST_HZ], [*response.levels_db, -math.inf], strict=True):
            if level >= self.top_db - SPAN_DB:
                run.append(self._at(hz, level))
                continue
            if len(run) > 1:
                self.sheet.path(run, pen, f"response-{response.letter}")
            run = []

    def _letters(self) -> None:
        """Draw each letter next to the frame with a sample of its line, near the height of the line's end."""
        ends = []
        for response, pen in self.penned:
            end = self._at(LAST_HZ, max(response.levels_db[-1], self.top_db - SPAN_DB))[1]
            ends.append((min(max(end, 1.5), HIGH_MM - 1.5), response.letter, pen))
        y = -10.0
        for wanted, letter, pen in sorted(ends, key=lambda end: end[0]):
            y = max(wanted, y + 3.6)
            self.sheet.line((WIDE_MM + 1.5, y), (WIDE_MM + 7, y), pen)
            self.sheet.text((WIDE_MM + 8.2, y), letter, size=SMALL_MM, bold=True)

    def _sentence(self, response: Response) -> str:
        low = self.top_db - SPAN_DB
        shown = [hz for hz, level in zip(frequencies(), response.levels_db, strict=True) if level >= low]
        most = self.words.number(max(response.levels_db), 1)
        ends = {"least": f"{shown[0]:.0f}", "most": f"{shown[-1]:.0f}"}
        return self.words("response_says", letter=response.letter, db=most, **ends)
