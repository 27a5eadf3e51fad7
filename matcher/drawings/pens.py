"""Pens and hatchings: width and dashes carry a line's meaning, and the color only repeats it.

Widths and dashes are millimeters on paper. In grayscale, the colors remain distinct.
"""

from __future__ import annotations

from dataclasses import dataclass

INK, PAPER = "#111111", "#ffffff"
BLUE, BROWN, GREY = "#0b4a8f", "#8a3d00", "#6a6a6a"


@dataclass(frozen=True, slots=True)
class Pen:
    """Style of a line and its fill: a color, or the name of a hatching."""

    stroke: str = INK
    width: float = 0.3
    dash: tuple[float, ...] = ()
    fill: str = "none"


@dataclass(frozen=True, slots=True)
class Hatching:
    """Hatching of a surface: distance and angle of its lines, and whether they cross."""

    color: str
    apart: float
    angle: float
    width: float = 0.25
    crossed: bool = False

    def tile(self, name: str, per: float) -> str:
        """Return the pattern as SVG, for a sheet with this many millimeters per millimeter of paper."""
        side = self.apart * per
        size, half = f"{side:.3f}", f"{side / 2:.3f}"
        across = f'<line x1="{half}" y1="0" x2="{half}" y2="{size}"/>' if self.crossed else ""
        return (
            f'<pattern id="{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate({self.angle:g})"><g stroke="{self.color}" stroke-width="{self.width * per:.3f}">'
            f'<line x1="0" y1="{half}" x2="{size}" y2="{half}"/>{across}</g></pattern>'
        )


PATTERNS = {
    "cut": Hatching(BROWN, 1.4, 45, 0.4),
    "solid": Hatching(GREY, 1.2, -45, 0.3),
    "glass": Hatching(BLUE, 2.4, 60, 0.25),
    "plate": Hatching(BLUE, 1.6, 0, 0.25, crossed=True),
    "veil": Hatching(BLUE, 2.6, 90, 0.15),
    "stays": Hatching(GREY, 2.4, 45, 0.25, crossed=True),
}
"""Fills: cut away, solid, glass, a plate or ring, a screen in front, original parts that stay in the car."""

FOUND = Pen(width=0.8)
"""The edge of an opening as it is."""
PLAIN = Pen(width=0.3)
FACE = Pen(stroke=GREY, width=0.3, dash=(6, 1, 0.6, 1, 0.6, 1))
"""The edge of a flat face, or of another thing drawn for reference."""
PART = Pen(stroke=BLUE, width=0.4)
INNER = Pen(stroke=BLUE, width=0.4, dash=(3, 1))
"""The hidden edge of a part."""
ADAPTER = Pen(stroke=BLUE, width=0.35, fill="plate")
CUT = Pen(stroke=BROWN, width=0.5, dash=(5, 1, 1, 1), fill="cut")
UNKNOWN = Pen(stroke=INK, width=0.4, dash=(1.6, 1.4))
"""Unknown: a sketch of something to be measured."""
ROOM = Pen(stroke=GREY, width=0.3, dash=(0.4, 0.9))
"""Required space."""
THIN = Pen(stroke=INK, width=0.18)
"""Dimension lines."""
BOLD = Pen(stroke=INK, width=0.7)
"""The requested dimension."""
CENTER = Pen(stroke=GREY, width=0.18, dash=(4, 0.8, 0.6, 0.8))
BLACK = Pen(stroke="none", fill=INK)
