"""Margin bars: how far each check fits or fails relative to its tolerance, with the verdict as sign and word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR

from catalog_schema.checks import VERDICT_ORDER, Check
from catalog_schema.figure_labels import figure_label
from matcher.drawings.dimension import finished, mark
from matcher.drawings.pens import INK, PAPER, THIN, UNKNOWN, Pen
from matcher.drawings.svg import Canvas, Drawing, wrapped
from matcher.drawings.words import WORDS, DrawingWords
from matcher.lengths import length_text, on_the_safe_side, shown_unit

NAME_MM, HALF_MM, ROW_MM, BAR_MM = 58.0, 22.0, 9.0, 3.6
"""Width of a name, half width of the bar area, heights of a row and of its bar, mm on paper."""
FITS, NO = Pen(width=0.3, fill="#9a9a9a"), Pen(width=0.4, fill="cut")
DOUBT = Pen(stroke="none", fill="#e4e4e4")
MOST = 24
"""Number of bars drawn; the others are counted, and none of them is a "no" or a "measure" before a "fits"."""


def margin_bars(
    checks: Sequence[Check],
    name: str,
    *,
    words: DrawingWords = WORDS,
    prefix: str = "margins",
) -> Drawing:
    """Draw the margins of a fit or a package, the worst and tightest first.

    Parameters
    ----------
    checks
        The checks of a fit or of a package.
    name
        Name of their subject.
    """
    ordered = sorted((check for check in checks if check.unit), key=_tightest)
    return _Bars(ordered[:MOST], len(ordered) - MOST, name, words, Canvas(prefix)).drawn()


def _tightest(check: Check) -> tuple[int, bool, float]:
    """Sort key: worst verdict first, measured before counted values, then by margin relative to the required value."""
    share = 0.0 if check.margin is None else float(check.margin) / max(abs(float(check.need or 0)), 1.0)
    return VERDICT_ORDER[check.verdict], check.verdict == "fits" and not check.tol, share


@dataclass
class _Bars:
    checks: list[Check]
    more: int
    name: str
    words: DrawingWords
    sheet: Canvas

    def drawn(self) -> Drawing:
        words, sheet = self.words, self.sheet
        scales = self._scales()
        for row, check in enumerate(self.checks):
            self._row(check, row * ROW_MM, scales[check.unit])
        bottom = len(self.checks) * ROW_MM
        sheet.line((NAME_MM + HALF_MM, -ROW_MM / 2), (NAME_MM + HALF_MM, bottom - ROW_MM / 2), Pen(width=0.35))
        sheet.text((NAME_MM + HALF_MM, bottom - 1.5), "0", "middle", back=True)
        if self.more > 0:
            sheet.text((0, bottom + 2.5), words("more", count=str(self.more)))
        sheet.rect(0, bottom + 6, 9, BAR_MM, DOUBT, "tolerance-key")
        sheet.text((11.5, bottom + 6 + BAR_MM / 2), words("tolerance"))
        counts = {verdict: str(sum(c.verdict == verdict for c in self.checks)) for verdict in VERDICT_ORDER}
        sentences = [words("margins_says", count=str(len(self.checks)), **counts)]
        sentences += [
            words(
                "margin_row",
                name=self._label(check),
                verdict=words(f"verdict_{check.verdict}"),
                margin=self._margin(check),
            )
            for check in self.checks
        ]
        return finished(sheet, words, words("margins", name=self.name), sentences, scaled=False)

    def _label(self, check: Check) -> str:
        key = f"rule_{check.rule}"
        rule = self.words(key) if key in self.words else check.rule
        return f"{rule}: {check.about}" if check.about else rule

    def _scales(self) -> dict[str, float]:
        """Return the length of a full bar by unit: ten common tolerances; larger margins run off its end."""
        scales: dict[str, float] = {}
        for unit in {check.unit for check in self.checks}:
            of_unit = [check for check in self.checks if check.unit == unit]
            tolerances = sorted(float(check.tol) for check in of_unit if check.tol)
            widest = max(abs(float(check.margin or 0)) for check in of_unit)
            full = 10 * tolerances[len(tolerances) // 2] if tolerances else widest
            scales[unit] = max(min(full, max(widest, full / 5)), 1e-9)
        return scales

    def _row(self, check: Check, y: float, full: float) -> None:
        sheet, zero = self.sheet, NAME_MM + HALF_MM
        mark(sheet, (2.4, y), check.verdict, 4.2)
        names = wrapped(self._label(check), 29, 2)
        sheet.lines((7, y - (len(names) - 1) * 1.9), names, size=2.7)
        tol = min(float(check.tol) / full, 1.0) * HALF_MM
        if tol:
            sheet.rect(zero - tol, y - BAR_MM * 0.75, 2 * tol, BAR_MM * 1.5, DOUBT, "tolerance")
        if check.margin is None:
            sheet.rect(zero - HALF_MM, y - BAR_MM / 2, 2 * HALF_MM, BAR_MM, UNKNOWN, "unknown")
        else:
            self._bar(check, y, float(check.margin) / full)
        label = f"{self.words(f'verdict_{check.verdict}')}, {self._margin(check)}"
        lines = wrapped(label, 33, 2)
        sheet.lines((zero + HALF_MM + 4, y - (len(lines) - 1) * 2.1), lines, bold=check.verdict != "fits")

    def _bar(self, check: Check, y: float, share: float) -> None:
        sheet, zero = self.sheet, NAME_MM + HALF_MM
        end = zero + max(-1.0, min(1.0, share)) * HALF_MM
        pen = NO if check.verdict == "no" else FITS if check.verdict == "fits" else replace(FITS, fill=PAPER)
        left, right = sorted((zero, end))
        sheet.rect(left, y - BAR_MM / 2, right - left, BAR_MM, pen, "margin")
        if abs(share) > 1:
            out = 2.2 if share > 0 else -2.2
            sheet.polygon(((end, y - BAR_MM / 2), (end + out, y), (end, y + BAR_MM / 2)), Pen(stroke="none", fill=INK))
        sheet.line((end, y - BAR_MM / 2), (end, y + BAR_MM / 2), THIN)

    def _margin(self, check: Check) -> str:
        """Format the margin with sign, tolerance and unit, or name the missing figures."""
        if check.margin is None:
            return f"? {', '.join(figure_label(name, translate=self.words.again) for name in check.missing)}"
        sign = "+" if check.margin > 0 else ""
        margin, tol = (
            self.words.marked(length_text(on_the_safe_side(one, rounding)))
            if check.unit == "mm"
            else self.words.number(one)
            for one, rounding in ((check.margin, ROUND_FLOOR), (check.tol, ROUND_CEILING))
        )
        return f"{sign}{margin}{f' ±{tol}' if check.tol else ''} {shown_unit(check.unit)}"
