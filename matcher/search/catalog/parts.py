"""A family's parts as columns of exact integers, and the distinct sets of figures among them.

Many parts share what a group of rules reads of them. Each distinct set of those figures has a number, so that the
rules are evaluated once for a set, whatever the opening.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import Column, Columns, word_code
from matcher.kernel.exact import to_micro
from matcher.rules.terms import Figure
from matcher.search.catalog.vehicle import told
from matcher.settings import Settings
from matcher.store.connection import Connection, records

Numbers = NDArray[np.int64]
Flags = NDArray[np.bool_]
NONE = np.iinfo(np.int64).min
"""Stands for an unknown figure where sets are told apart."""
MOST = 1 << 62
ROUND = {
    "speaker": {"cutout_h_mm": ("shape", "cutout_w_mm"), "flange_h_mm": ("shape", "flange_w_mm")},
    "adapter": {"fits_h_mm": ("fits_shape", "fits_w_mm"), "gives_h_mm": ("gives_shape", "gives_w_mm")},
}
"""By family the heights that round things need not state: by what they are round, and the width that it is."""


class Sets(NamedTuple):
    """The distinct sets of some figures."""

    first: Numbers
    """Of each set one row that has it."""
    number: Numbers
    """By row: the number of its set."""


def distinct(columns: Sequence[Numbers], rows: int) -> Sets:
    """The distinct rows of some columns of whole numbers."""
    key, size = np.zeros(rows, np.int64), 1
    for column in columns:
        values, number = np.unique(column, return_inverse=True)
        if len(values) == 1:
            continue
        if size * len(values) >= MOST:
            kept, key = np.unique(key, return_inverse=True)
            size = len(kept)
        key, size = key * len(values) + number.reshape(-1), size * len(values)
    _, first, number = np.unique(key, return_index=True, return_inverse=True)
    return Sets(first, number.reshape(-1))


@dataclass
class Parts:
    """Parts of one family, in the order of their names."""

    family: str
    part_ids: NDArray[Any]
    cells: dict[str, Column]
    """By field: figures with the tolerance that is stated or set by their basis, words, flags.

    The height of a round thing is its width where none is stated, the power of a head unit at most what its supply
    allows (``stated_w`` is what its maker states). Each column's ``known`` is an array.
    """
    lists: dict[str, list[tuple[str, ...] | None]] = field(default_factory=dict)
    """Of each field of lists the different ones; its cell is a place among them."""
    _subjects: dict[str, Columns] = field(default_factory=dict)
    _numbers: dict[str, Numbers] = field(default_factory=dict)
    _sets: dict[tuple[str, ...], Sets] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.part_ids)

    @property
    def columns(self) -> Columns:
        """Their cells as rules read them of ``part``."""
        return self.subject("part")

    def subject(self, name: str) -> Columns:
        """Their cells as rules read them of a subject, such as ``part``, ``board``, ``adapter``."""
        if name not in self._subjects:
            told = {f"{name}.{one}": column for one, column in self.cells.items() if one not in self.lists}
            self._subjects[name] = Columns(told)
        return self._subjects[name]

    def row(self, part_id: str) -> int | None:
        """The row of a part; None where there is no such part."""
        at = int(np.searchsorted(self.part_ids, part_id)) if len(self) else 0
        return at if at < len(self) and self.part_ids[at] == part_id else None

    def rows(self, part_ids: Sequence[str]) -> Numbers:
        """The rows of parts that there are."""
        return np.searchsorted(self.part_ids, np.array(part_ids, object)).astype(np.int64)

    def take(self, rows: Any) -> Parts:
        """Some of them: rows by number in rising order, or a mask."""
        cells = {name: column_rows(column, rows) for name, column in self.cells.items()}
        return Parts(self.family, self.part_ids[rows], cells, self.lists)

    def listed(self, name: str, row: int) -> tuple[str, ...] | None:
        """The list that stands in a field of a part; None where it is not known."""
        return self.lists[name][int(self.cells[name].values[row])]

    def sets(self, figures: Sequence[Figure]) -> Sets:
        """The distinct sets of some figures, worked out once."""
        names = tuple(one.field for one in figures)
        if names not in self._sets:
            self._sets[names] = distinct([self._number(name) for name in names], len(self))
        return self._sets[names]

    def _number(self, name: str) -> Numbers:
        """Rows by the value and the tolerance of one figure."""
        if name not in self._numbers:
            self._numbers[name] = distinct(columns_told(self.cells[name]), len(self)).number
        return self._numbers[name]


def column_rows(column: Column, rows: Any) -> Column:
    """Some rows of a column of parts."""
    return Column(*(array[rows] if isinstance(array, np.ndarray) else array for array in column))


def columns_told(column: Column) -> list[Numbers]:
    """A column by which rows can be told apart: its values, and its tolerances where it has any."""
    values = np.where(column.known, column.values.astype(np.int64), NONE)
    return [values] if np.isscalar(column.tol) else [values, np.where(column.known, column.tol, 0)]


def read_some(con: Connection, family: str, part_ids: Sequence[str], settings: Settings) -> Parts:
    """Read a few parts of a family by their names, as `family.read_family` reads all of it."""
    found = f'SELECT * FROM "{family}" WHERE part_id IN (SELECT unnest(?::VARCHAR[])) ORDER BY part_id'
    rows = records(con, found, list(part_ids))
    names = [name for name in (rows[0] if rows else ()) if not name.endswith("_tol") and name != "part_id"]
    listed = {name for name in names if any(isinstance(row[name], list) for row in rows)}
    columns = told("part", [{**row, **dict.fromkeys(listed)} for row in rows], settings, "maker")
    cells = {name: _whole(columns[f"part.{name}"], len(rows)) for name in names}
    lists = {name: [None if row[name] is None else tuple(row[name]) for row in rows] for name in listed}
    cells |= {name: Column(np.arange(len(rows)), np.ones(len(rows), np.bool_)) for name in listed}
    told_cells = finished(family, cells, settings) if rows else {}
    return Parts(family, np.array([row["part_id"] for row in rows], object), told_cells, lists)


def _whole(column: Column, rows: int) -> Column:
    return column._replace(known=np.broadcast_to(np.asarray(column.known), rows))


def finished(family: str, cells: dict[str, Column], settings: Settings) -> dict[str, Column]:
    """Cells as rules read them: the heights of round things, and no more power than the supply allows."""
    for name, (shape, width) in ROUND.get(family, {}).items():
        cells[name] = _filled(cells[name], cells[width], cells[shape])
    if family == "head_unit" and "amp_w" in cells:
        from matcher.search.catalog.counted import rail_w

        most, own = to_micro(rail_w(settings)), cells["amp_w"]
        cells |= {"amp_w": own._replace(values=np.minimum(own.values, most)), "stated_w": own}
    return cells


def _filled(height: Column, width: Column, shape: Column) -> Column:
    """A height, which of a round thing is its width where none is stated."""
    flat = np.asarray(shape.known) & (shape.values == word_code("round")) & ~np.asarray(height.known)
    tol, other = (np.broadcast_to(np.asarray(one.tol, np.int64), len(flat)) for one in (height, width))
    return Column(
        np.where(flat, width.values, height.values),
        np.where(flat, width.known, height.known),
        np.where(flat, other, tol),
    )
