"""Plain tables for the terminal and for files: aligned columns, long cells wrapped."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterator, Sequence

WIDEST = 100
GAP = "  "


def line_width() -> int:
    """How long a line may be: the terminal's width, but no more than a table may have."""
    return min(WIDEST, shutil.get_terminal_size((WIDEST, 40)).columns)


def table_lines(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    right: frozenset[int] = frozenset(),
    width: int | None = None,
) -> Iterator[str]:
    """The table's lines, no longer than the width."""
    room = width or line_width()
    widths = _widths([heads, *rows], room)
    yield from _lines(heads, widths, right)
    yield GAP.join("─" * wide for wide in widths)
    for row in rows:
        yield from _lines(row, widths, right)


def _widths(rows: Sequence[Sequence[str]], room: int) -> list[int]:
    """The widest cell of each column, the widest columns narrowed until all fit."""
    widths = [
        max(len(line) for row in rows for line in (row[column] or " ").split("\n")) for column in range(len(rows[0]))
    ]
    spare = room - len(GAP) * (len(widths) - 1)
    while sum(widths) > spare and max(widths) > 8:
        widths[widths.index(max(widths))] -= 1
    return widths


def _lines(row: Sequence[str], widths: Sequence[int], right: frozenset[int]) -> Iterator[str]:
    cells = [_wrapped(cell, wide) for cell, wide in zip(row, widths, strict=True)]
    for position in range(max(len(cell) for cell in cells)):
        pieces = (cell[position] if position < len(cell) else "" for cell in cells)
        line = GAP.join(
            piece.rjust(wide) if column in right else piece.ljust(wide)
            for column, (piece, wide) in enumerate(zip(pieces, widths, strict=True))
        )
        yield line.rstrip()


def _wrapped(cell: str, wide: int) -> list[str]:
    return [piece for line in cell.split("\n") for piece in textwrap.wrap(line, wide) or [""]]
