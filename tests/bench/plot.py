"""A plot of seconds over parts, both in powers of ten, as SVG that reads on light and on dark ground."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from html import escape

WIDTH, HEIGHT = 720, 420
LEFT, RIGHT, TOP, BOTTOM = 64, 130, 16, 44
STYLE = """
text { font: 12px system-ui, sans-serif; fill: #333 } .grid { stroke: #ccc; stroke-width: 1 } .axis { stroke: #777 }
path { fill: none; stroke-width: 2 }
.c0 { stroke: #0b6bcb; color: #0b6bcb } .c1 { stroke: #b3261e; color: #b3261e } .c2 { stroke: #2e7d32; color: #2e7d32 }
.c3 { stroke: #8e5bb5; color: #8e5bb5 } .c4 { stroke: #a86100; color: #a86100 } .c5 { stroke: #607d8b; color: #607d8b }
@media (prefers-color-scheme: dark) {
text { fill: #ddd } .grid { stroke: #444 } .axis { stroke: #999 }
.c0 { stroke: #6db3ff; color: #6db3ff } .c1 { stroke: #ff8a80; color: #ff8a80 } .c2 { stroke: #81c784; color: #81c784 }
.c3 { stroke: #ce93d8; color: #ce93d8 } .c4 { stroke: #ffb74d; color: #ffb74d } .c5 { stroke: #b0bec5; color: #b0bec5 }
}
circle, .name { fill: currentColor } .name { stroke: none }
"""

Line = Sequence[tuple[int, float, bool]]
"""Parts, seconds, and whether its time was over there."""


def plot(lines: Mapping[str, Line], title: str) -> str:
    """One line for each engine; a hollow end is where its time was over."""
    points = [point for line in lines.values() for point in line]
    decades_x = _decades([parts for parts, *_ in points])
    decades_y = _decades([seconds for _, seconds, _ in points])

    def x(parts: float) -> float:
        return LEFT + (math.log10(parts) - decades_x[0]) / _span(decades_x) * (WIDTH - LEFT - RIGHT)

    def y(seconds: float) -> float:
        return HEIGHT - BOTTOM - (math.log10(seconds) - decades_y[0]) / _span(decades_y) * (HEIGHT - TOP - BOTTOM)

    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img">',
        f"<title>{escape(title)}</title><style>{STYLE}</style>",
    ]
    for decade in decades_y:
        at = y(10.0**decade)
        pieces.append(f'<line class="grid" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{at:.1f}" y2="{at:.1f}"/>')
        pieces.append(f'<text x="{LEFT - 8}" y="{at + 4:.1f}" text-anchor="end">{_seconds(decade)}</text>')
    for decade in decades_x:
        at = x(10.0**decade)
        pieces.append(
            f'<line class="axis" x1="{at:.1f}" x2="{at:.1f}" y1="{HEIGHT - BOTTOM}" y2="{HEIGHT - BOTTOM + 5}"/>'
        )
        pieces.append(f'<text x="{at:.1f}" y="{HEIGHT - BOTTOM + 20}" text-anchor="middle">{10**decade:,}</text>')
    middle = (LEFT + WIDTH - RIGHT) / 2
    pieces.append(f'<text x="{middle}" y="{HEIGHT - 6}" text-anchor="middle">parts in the catalog</text>')
    drawn = {name: [(x(parts), y(seconds), over) for parts, seconds, over in line] for name, line in lines.items()}
    heights = _apart({name: line[-1][:2] for name, line in drawn.items()})
    for color, (name, line) in enumerate(drawn.items()):
        pieces += _line(color, name, line, heights[name])
    return "\n".join([*pieces, "</svg>\n"])


def _line(color: int, name: str, points: list[tuple[float, float, bool]], name_y: float) -> list[str]:
    told = " ".join(f"{'ML'[at > 0]}{px:.1f} {py:.1f}" for at, (px, py, _) in enumerate(points))
    circles = (
        f'<circle class="c{color}" cx="{px:.1f}" cy="{py:.1f}" r="4" fill-opacity="{int(not over)}"/>'
        for px, py, over in points
    )
    label = f'<text class="name c{color}" x="{points[-1][0] + 10:.1f}" y="{name_y + 4:.1f}">{escape(name)}</text>'
    return [f'<path class="c{color}" d="{told}"/>', *circles, label]


def _apart(wanted: Mapping[str, tuple[float, float]]) -> dict[str, float]:
    """Heights of names beside the ends of their lines; no two below each other closer than a line of text."""
    found: dict[str, tuple[float, float]] = {}
    for name, (end_x, end_y) in sorted(wanted.items(), key=lambda item: -item[1][1]):
        below = (height - 16 for other_x, height in found.values() if other_x == end_x)
        found[name] = end_x, min(end_y, *below, HEIGHT)
    return {name: height for name, (_, height) in found.items()}


def _decades(values: Sequence[float]) -> range:
    low, high = math.floor(math.log10(min(values))), math.ceil(math.log10(max(values)))
    return range(low, max(high, low + 1) + 1)


def _span(decades: range) -> int:
    return decades[-1] - decades[0]


def _seconds(decade: int) -> str:
    return f"{10**decade} s" if decade >= 0 else f"{10 ** (decade + 3)} ms"
