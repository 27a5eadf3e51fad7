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
from matcher.kernel.exact import MICRO
from matcher.rules.terms import Figure
from matcher.search.fits.relations import part_sql
from matcher.settings import Settings
from matcher.store.connection import Connection

Numbers = NDArray[np.int64]
NONE = np.iinfo(np.int64).min
"""Stands for an unknown figure where sets are told apart."""
MOST = 1 << 62


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
    """The parts of a family, by name."""

    family: str
    part_ids: NDArray[Any]
    columns: Columns
    """What rules read of them, as ``part`` or ``adapter``."""
    cells: dict[str, Column]
    """What else is read of them."""
    lists: dict[str, list[tuple[str, ...] | None]] = field(default_factory=dict)
    """Of each column of lists the different ones; a cell is a place among them."""
    _numbers: dict[str, Numbers] = field(default_factory=dict)
    _sets: dict[tuple[str, ...], Sets] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.part_ids)

    def sets(self, figures: Sequence[Figure]) -> Sets:
        """The distinct sets of some figures, worked out once."""
        names = tuple(map(str, figures))
        if names not in self._sets:
            self._sets[names] = distinct([self._number(name) for name in names], len(self))
        return self._sets[names]

    def _number(self, name: str) -> Numbers:
        """Rows by the value and the tolerance of one figure."""
        if name not in self._numbers:
            self._numbers[name] = distinct(columns_told(self.columns[name]), len(self)).number
        return self._numbers[name]


def columns_told(column: Column) -> list[Numbers]:
    """A column by which rows can be told apart: its values, and its tolerances where it has any."""
    values = np.where(column.known, column.values.astype(np.int64), NONE)
    return [values] if np.isscalar(column.tol) else [values, np.where(column.known, column.tol, 0)]


def read_parts(
    con: Connection,
    family: str,
    subject: str,
    figures: Sequence[Figure],
    settings: Settings,
    cells: Sequence[str] = (),
    where: str = "",
) -> Parts:
    """Read a family's parts: the figures that rules read of them, and other cells, by the order of names."""
    relation = f"({part_sql(family, settings)})"
    held = {name: str(kind) for name, kind, *_ in con.execute(f'DESCRIBE "{family}"').fetchall()}
    fields = [figure.field for figure in figures]
    named = list(dict.fromkeys((*fields, *cells)))
    words = _words(con, relation, [name for name in named if held[name] == "VARCHAR"], where)
    tols = [name for name in named if f"{name}_tol" in held and f"{name}_tol" not in named]
    read = ["part_id", "basis_tol", *(_cell(name, words) for name in named), *(f'"{name}_tol"' for name in tols)]
    statement = f"SELECT {', '.join(read)} FROM {relation} {where} ORDER BY part_id"
    given = {f"words_{at}": some for at, some in enumerate(words.values())}
    found = con.execute(statement, given).fetchnumpy() if given else con.execute(statement).fetchnumpy()
    basis_tol = _micro(found["basis_tol"])[0]
    told = {name: _column(name, held[name], found, words, basis_tol) for name in named if held[name] != "VARCHAR[]"}
    lists = {name: _lists(found[name]) for name in named if held[name] == "VARCHAR[]"}
    told |= {name: Column(numbers) for name, (_, numbers) in lists.items()}
    return Parts(
        family,
        np.asarray(found["part_id"]),
        Columns({f"{subject}.{name}": told[name] for name in fields}),
        {name: told[name] for name in cells},
        {name: some for name, (some, _) in lists.items()},
    )


def _lists(cells: Any) -> tuple[list[tuple[str, ...] | None], Numbers]:
    """The different lists of a column, and by row which of them stands there."""
    plain = np.where(np.ma.getmaskarray(cells), None, np.ma.getdata(cells))  # type: ignore[call-overload]
    told: dict[tuple[str, ...] | None, int] = {}
    numbers = [told.setdefault(None if one is None else tuple(one), len(told)) for one in plain.tolist()]
    return list(told) or [None], np.array(numbers, np.int64)


def _words(con: Connection, relation: str, names: Sequence[str], where: str) -> dict[str, list[str]]:
    """The words that stand in some columns."""
    if not names:
        return {}
    listed = ", ".join(f'list(DISTINCT "{name}")' for name in names)
    row = con.execute(f"SELECT {listed} FROM {relation} {where}").fetchone() or ()
    return {name: [word for word in some or () if word is not None] for name, some in zip(names, row, strict=True)}


def _cell(name: str, words: dict[str, list[str]]) -> str:
    if name not in words:
        return f'"{name}"'
    at = list(words).index(name)
    return f'list_position($words_{at}::VARCHAR[], "{name}") AS "{name}"'


def _column(name: str, kind: str, found: dict[str, Any], words: dict[str, list[str]], basis_tol: Numbers) -> Column:
    cells = found[name]
    if name in words:
        known = ~np.ma.getmaskarray(cells)
        codes = np.array([-1, *map(word_code, words[name])], np.int32)
        return Column(codes[np.where(known, np.ma.getdata(cells), 0).astype(np.int64)], known)
    if kind == "BOOLEAN":
        return Column(np.ma.getdata(cells).astype(np.bool_), ~np.ma.getmaskarray(cells))
    values, known = _micro(cells)
    if f"{name}_tol" not in found:
        return Column(values, known)
    stated, is_stated = _micro(found[f"{name}_tol"])
    return Column(values, known, np.where(is_stated, stated, basis_tol if name.endswith("_mm") else 0))


def _micro(cells: Any) -> tuple[Numbers, NDArray[np.bool_]]:
    """Numbers as the database gives them, in micro-units: exact, as these are less than 2^53."""
    known = ~np.ma.getmaskarray(cells)
    plain = np.where(known, np.ma.getdata(cells), 0)
    return np.rint(plain.astype(np.float64) * MICRO).astype(np.int64), known
