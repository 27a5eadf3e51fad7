"""Columns: the figures that rules read, as arrays.

A column holds one figure of one subject (numbers in micro-units, words as codes, or booleans), a mask of known
values and a tolerance. Columns of different subjects only have to broadcast to one shape: parts as (n, 1) and openings
as (1, m) are compared without building the pairs in memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import count
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.exact import Mask, to_micro
from matcher.rules.terms import FigureTerm

_codes: dict[str, int] = {}
_words: dict[int, str] = {}
_next = count()


def word_code(word: str) -> int:
    """Return the code of a word; it is stable only within this process."""
    code = _codes.get(word)
    if code is None:
        code = next(_next)
        _words[code] = word  # before another thread can read the code
        code = _codes.setdefault(word, code)
    return code


def word_of(code: int) -> str:
    """Return the word of a code."""
    return _words[int(code)]


class Column(NamedTuple):
    """One figure of several rows."""

    values: Any
    """int64 micro-units, int32 codes of words, or bool."""
    known: Mask = True
    tol: Any = 0
    """Tolerance in micro-units."""


UNKNOWN = Column(np.zeros(1, np.int64), np.zeros(1, np.bool_))
"""A figure that is unknown in every row."""


class Columns(Mapping[str, Column]):
    """Columns by the name of their figure, such as ``part.depth_mm``.

    The mapping behind them may compute a column on access, and may have a method ``take`` that selects rows.
    """

    def __init__(self, *columns: Mapping[str, Column]) -> None:
        self._columns = columns
        """Merge several mappings; the first one that has a column wins."""

    def __getitem__(self, name: str | FigureTerm) -> Column:
        text = str(name)
        for columns in self._columns:
            found = columns.get(text)
            if found is not None:
                return found
        raise KeyError(f"no column {text}; there are {', '.join(sorted(self))}")

    def __iter__(self) -> Iterator[str]:
        return iter(dict.fromkeys(name for columns in self._columns for name in columns))

    def __len__(self) -> int:
        return len(list(iter(self)))

    def __or__(self, other: Mapping[str, Column]) -> Columns:
        return Columns(*(other._columns if isinstance(other, Columns) else (other,)), *self._columns)

    def take(self, rows: Any) -> Columns:
        """Select rows by numbers, a slice or a mask."""
        take = getattr(self._columns[0], "take", None) if len(self._columns) == 1 else None
        return self.shaped(lambda array: array[rows]) if take is None else Columns(take(rows))

    def down(self) -> Columns:
        """Shape the columns as (n, 1), to be compared with every column of `across`."""
        return self.shaped(lambda array: array[:, np.newaxis])

    def across(self) -> Columns:
        """Shape the columns as (1, n)."""
        return self.shaped(lambda array: array[np.newaxis, :])

    def shaped(self, form: Any) -> Columns:
        """Reshape each array; a single value for all rows stays as it is."""

        return Columns(*(_Shaped(columns, form) for columns in self._columns))


class _Shaped(Mapping[str, Column]):
    """Columns that are reshaped on access."""

    def __init__(self, columns: Mapping[str, Column], form: Any) -> None:
        self._columns, self._form = columns, form
        self._made: dict[str, Column] = {}

    def __getitem__(self, name: str) -> Column:
        if name not in self._made:
            self._made[name] = Column(*map(self._one, self._columns[name]))
        return self._made[name]

    def _one(self, array: Any) -> Any:
        return self._form(array) if isinstance(array, np.ndarray) and array.shape != (1,) else array

    def __iter__(self) -> Iterator[str]:
        return iter(self._columns)

    def __len__(self) -> int:
        return len(self._columns)


NONE = np.iinfo(np.int64).min
"""Placeholder for an unknown value when rows are compared."""


def row_keys(column: Column) -> list[Any]:
    """Return the arrays that distinguish rows of a column: values, and tolerances if it has any."""
    values = np.where(column.known, column.values.astype(np.int64), NONE)
    return [values] if np.isscalar(column.tol) else [values, np.where(column.known, column.tol, 0)]


def column_of(cells: Sequence[Any], tols: Sequence[Decimal | int | None] | None = None) -> Column:
    """Build a column of plain values (numbers, words or booleans); None is unknown.

    >>> column_of([Decimal("1.5"), None]).values.tolist(), column_of([True, None]).known.tolist()
    ([1500000, 0], [True, False])
    """
    known = np.array([cell is not None for cell in cells], np.bool_)
    kind = next((type(cell) for cell in cells if cell is not None), int)
    mask: Mask = True if known.all() else known
    if kind is bool:
        return Column(np.array([bool(cell) for cell in cells]), mask)
    if kind is str:
        return Column(np.array([-1 if cell is None else word_code(cell) for cell in cells], np.int32), mask)
    values = np.array([0 if cell is None else to_micro(cell) for cell in cells], np.int64)
    return Column(values, mask, 0 if tols is None else tolerances(tols))


def tolerances(cells: Sequence[Decimal | int | None]) -> Any:
    """Return tolerances in micro-units; None counts as 0."""
    return np.array([0 if cell is None else to_micro(cell) for cell in cells], np.int64)


def columns_of(subject: str, rows: Iterable[Mapping[str, Any]]) -> Columns:
    """Build the columns of a subject from plain rows; a cell ``depth_mm_tol`` is the tolerance of ``depth_mm``.

    >>> columns_of("part", [{"depth_mm": Decimal(60), "depth_mm_tol": Decimal("0.5")}])["part.depth_mm"].tol.tolist()
    [500000]
    """
    listed = list(rows)
    names = dict.fromkeys(name for row in listed for name in row)
    return Columns(
        {
            f"{subject}.{name}": column_of(
                [row.get(name) for row in listed],
                [row.get(f"{name}_tol") for row in listed] if f"{name}_tol" in names else None,
            )
            for name in names
            if not name.endswith("_tol")
        }
    )
