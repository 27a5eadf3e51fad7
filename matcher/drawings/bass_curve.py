"""Output of a bass system over frequency, limited by power and by excursion."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from catalog_schema.figure_labels import figure_label
from matcher.drawings.dimension import LegendEntry, finished, legend
from matcher.drawings.pens import BLUE, BROWN, GREY, INK, Pen
from matcher.drawings.svg import Canvas, Drawing, Point
from matcher.drawings.words import WORDS, DrawingWords
from matcher.formulas.output import MaxLevel

FIRST_HZ, LAST_HZ, STEPS = 15.0, 200.0, 120
WIDE_MM, HIGH_MM = 118.0, 72.0
TOLD_HZ = (20.0, 30.0, 40.0, 60.0, 100.0)
LINES_HZ = (20, 30, 40, 50, 60, 80, 100, 150, 200)
SPAN_DB = 40.0
"""Range shown below the highest level."""
POWER, TRAVEL = Pen(stroke=BLUE, width=0.5, dash=(3, 1.2)), Pen(stroke=BROWN, width=0.5, dash=(0.8, 1))
TUNED = Pen(stroke=GREY, width=0.3, dash=(2, 1))
MOST, GRID = Pen(stroke=INK, width=0.9), Pen(stroke=GREY, width=0.15)


def frequencies() -> list[float]:
    """Return the frequencies of a curve, evenly spaced on a log axis, including those stated in words."""
    ratio = LAST_HZ / FIRST_HZ
    return sorted({*(FIRST_HZ * ratio ** (step / STEPS) for step in range(STEPS + 1)), *TOLD_HZ})


def bass_curve(
    levels: Sequence[MaxLevel],
    name: str,
    *,
    f3_hz: float | None = None,
    tuned_hz: float | None = None,
    missing: Sequence[str] = (),
    words: DrawingWords = WORDS,
    prefix: str = "bass-curve",
) -> Drawing:
    """Draw the maximum output of a bass side at each frequency.

    Parameters
    ----------
    levels
        From `matcher.formulas.output`, at `frequencies`; None if figures are missing.
    name
        Name of the bass side.
    f3_hz
        Frequency at which its response alone is 3 dB down.
    tuned_hz
        Tuning frequency of its port, if it has one.
    missing
        Missing figures, if nothing can be drawn.
    """
    return _Curve(
        [level for level in levels if level.level_db is not None],
        name,
        f3_hz,
        tuned_hz,
        tuple(missing),
        words,
        Canvas(prefix),
    ).drawn()


@dataclass
class _Curve:
    levels: list[MaxLevel]
    name: str
    f3_hz: float | None
    tuned_hz: float | None
    missing: tuple[str, ...]
    words: DrawingWords
    sheet: Canvas

    def __post_init__(self) -> None:
        highest = max((level.level_db or 0.0 for level in self.levels), default=110.0)
        self.top_db = math.ceil(highest / 10) * 10.0

    def drawn(self) -> Drawing:
        words = self.words
        self._axes()
        self._curve(lambda level: level.power_db, POWER, "power")
        self._curve(lambda level: level.travel_db, TRAVEL, "travel")
        self._curve(lambda level: level.level_db, MOST, "most")
        self._ruling()
        entries = [
            LegendEntry(MOST, [words("most")]),
            LegendEntry(POWER, [words("power")]),
            LegendEntry(TRAVEL, [words("travel_limit")]),
        ]
        if self.f3_hz is not None:
            entries.append(LegendEntry("", [words("corner", hz=words.number(self.f3_hz, 0))]))
        if self.tuned_hz is not None:
            entries.append(LegendEntry(TUNED, [words("tuned", hz=words.number(self.tuned_hz, 0))]))
        entries.append(LegendEntry("", [words("half_space")]))
        if not self.levels:
            labels = (figure_label(f"part.{name}", translate=words.again) for name in self.missing)
            entries = [LegendEntry("measure", [words("curve_unknown", missing=", ".join(labels))])]
        legend(self.sheet, entries)
        return finished(self.sheet, words, words("curve", name=self.name), self._sentences(entries), scaled=False)

    def _sentences(self, entries: list[LegendEntry]) -> list[str]:
        sentences = []
        for hz in TOLD_HZ if self.levels else ():
            near = self._near(hz)
            ruled = self.words(f"ruled_{near.ruled_by}") if near.ruled_by else "?"
            sentences.append(
                self.words("curve_says", hz=f"{hz:g}", db=self.words.number(near.level_db or 0, 1), ruled=ruled)
            )
        return sentences or [f"{entries[0].texts[0]}."]

    def _near(self, hz: float) -> MaxLevel:
        """Return the level at the nearest frequency."""
        return min(self.levels, key=lambda level: abs(math.log(level.freq_hz / hz)))

    def _at(self, hz: float, db: float) -> Point:
        across = math.log(hz / FIRST_HZ) / math.log(LAST_HZ / FIRST_HZ)
        return WIDE_MM * across, HIGH_MM * (self.top_db - db) / SPAN_DB

    def _axes(self) -> None:
        sheet, low = self.sheet, self.top_db - SPAN_DB
        for hz in LINES_HZ:
            x, _ = self._at(hz, low)
            sheet.line((x, 0), (x, HIGH_MM), GRID)
            sheet.text((x, HIGH_MM + 3.2), str(hz), "middle")
        for step in range(int(SPAN_DB // 10) + 1):
            db = low + 10 * step
            _, y = self._at(FIRST_HZ, db)
            sheet.line((0, y), (WIDE_MM, y), GRID)
            sheet.text((-2, y), f"{db:g}", "end")
        sheet.rect(0, 0, WIDE_MM, HIGH_MM, Pen(width=0.35), "frame")
        sheet.text((WIDE_MM, HIGH_MM + 8), self.words("curve_axis"), "end")
        sheet.text((-8, -4), self.words("curve_level"))
        if self.tuned_hz is not None and FIRST_HZ < self.tuned_hz < LAST_HZ:
            x, _ = self._at(self.tuned_hz, low)
            sheet.line((x, 0), (x, HIGH_MM), TUNED, "tuned")

    def _curve(self, of: Callable[[MaxLevel], float | None], pen: Pen, name: str) -> None:
        """Draw a line through the points within the frame, cut at the frame's edge."""
        low = self.top_db - SPAN_DB
        points = [(level.freq_hz, db) for level in self.levels if (db := of(level)) is not None]
        inside = [(hz, db, low <= db <= self.top_db) for hz, db in points]
        for is_inside, run in groupby(inside, key=lambda point: point[2]):
            spots = [self._at(hz, db) for hz, db, _ in run]
            if is_inside and len(spots) > 1:
                self.sheet.path(spots, pen, name)

    def _ruling(self) -> None:
        """Mark with a tick where the limit changes between power and excursion, and name the limit on each side."""
        changes = [after for before, after in pairwise(self.levels) if before.ruled_by != after.ruled_by]
        edges = [self.levels[0].freq_hz, *(c.freq_hz for c in changes), self.levels[-1].freq_hz] if self.levels else []
        for start, end in pairwise(edges):
            middle = self._near(math.sqrt(start * end))
            left, right = self._at(start, self.top_db)[0], self._at(end, self.top_db)[0]
            self._ruled(left, right, middle.ruled_by)

    def _ruled(self, left: float, right: float, ruled_by: str | None) -> None:
        pen = replace(TRAVEL if ruled_by == "travel" else POWER, width=1.4)
        self.sheet.line((left, HIGH_MM - 2), (right, HIGH_MM - 2), pen, f"ruled-{ruled_by}")
        label = self.words(f"ruled_{ruled_by}") if ruled_by else "?"
        if right - left > 1.9 * len(label) + 2:
            self.sheet.text(((left + right) / 2, HIGH_MM - 6), label, "middle", back=True)
