"""Arrangements of amplifiers on a board: in a row along its width or its depth, each turned or not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from catalog_schema.parts import Amplifier
from matcher.drawings.placed import value


@dataclass(frozen=True, slots=True)
class Lying:
    """One amplifier in its orientation: size along the row and across it."""

    amplifier: Amplifier
    along: float
    across: float
    high: float | None


@dataclass(frozen=True, slots=True)
class Row:
    """Amplifiers in a row."""

    by_width: bool
    """Whether the row is along the width of the spot, not its depth."""
    lying: tuple[Lying, ...]
    air: float

    @property
    def taken(self) -> float:
        """Length of the row with the air between the amplifiers and at both ends."""
        return sum(one.along for one in self.lying) + self.air * (len(self.lying) + 1)

    @property
    def deepest(self) -> float:
        """Width of the row with the air on both sides."""
        return max((one.across for one in self.lying), default=0.0) + 2 * self.air


def row_of(amplifiers: Sequence[Amplifier], w_mm: float, d_mm: float, air: float) -> Row:
    """Return the roomiest row, as the rules for pairs choose it, without amplifiers of unknown size."""
    sized = [one for one in amplifiers if one.w_mm is not None and one.d_mm is not None]
    rows = list(_rows(sized[:4], air))
    if len(sized) == 1:
        # A single one has its long side along the spot's, as in its rules.
        return max(rows[: len(rows) // 2], key=lambda row: min(w_mm - row.taken, d_mm - row.deepest))
    return max(rows, key=lambda row: _merit(row, w_mm, d_mm))


def _merit(row: Row, w_mm: float, d_mm: float) -> tuple[bool, float]:
    along, across = (w_mm, d_mm) if row.by_width else (d_mm, w_mm)
    return along >= row.taken and across >= row.deepest, along - row.taken


def _rows(amplifiers: Sequence[Amplifier], air: float) -> Iterator[Row]:
    for by_width in (True, False):
        for turns in product((False, True), repeat=len(amplifiers)):
            lying = []
            for one, turned in zip(amplifiers, turns, strict=True):
                w, d = value(one.w_mm) or 0.0, value(one.d_mm) or 0.0
                along, across = (w, d) if by_width != turned else (d, w)
                lying.append(Lying(one, along, across, value(one.h_mm)))
            yield Row(by_width, tuple(lying), air)
