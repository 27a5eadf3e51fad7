"""A family's parts as columns of exact integers, and the distinct sets of figures among them.

Many parts share what a group of rules reads of them. Each distinct set of those figures has a number, so that the
rules are evaluated once for a set, whatever the opening.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from catalog_schema.columns import Column as Field
from catalog_schema.columns import family_columns
from catalog_schema.kinds import ChoiceKind, FlagKind, TextKind, WordsKind
from matcher.kernel.columns import Column, Columns, word_code
from matcher.kernel.exact import MICRO, to_micro
from matcher.rules.terms import Figure
from matcher.search.catalog.counted import rail_w
from matcher.settings import Settings
from matcher.store.connection import Connection

Numbers = NDArray[np.int64]
Flags = NDArray[np.bool_]
NONE = np.iinfo(np.int64).min
"""Stands for an unknown figure where sets are told apart."""
MOST = 1 << 62
NOT_READ = frozenset({"stock", "lead_days", "high_hz", "thick_mm", "chambers"})
"""Columns that no question of a package asks for; nor does any read free text."""
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
    allows. Each column's ``known`` is an array.
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


def read_parts(con: Connection, family: str, settings: Settings) -> Parts:
    """Read a family's parts from the store: all that rules and candidates ask of them, in one statement."""
    fields, statement = _statement(family)
    found = con.execute(statement).fetchnumpy()
    part_ids = np.asarray(found["part_id"], object)
    every = np.ones(len(part_ids), np.bool_)
    words = {one.name: _words(one, found[one.name], every) for one in fields if isinstance(one.kind, ChoiceKind)}
    basis_tol = _basis_tol(words["basis"], settings)
    cells, lists = dict(words), {}
    for one in fields:
        if isinstance(one.kind, FlagKind):
            cells[one.name] = Column(np.ma.getdata(found[one.name]).astype(np.bool_), _known(found[one.name], every))
        elif isinstance(one.kind, WordsKind):
            lists[one.name], numbers = _lists(found[one.name])
            cells[one.name] = Column(numbers, every)
        elif not isinstance(one.kind, ChoiceKind):
            cells[one.name] = _numbers(one, found, every, basis_tol)
    for name, (shape, width) in ROUND.get(family, {}).items():
        cells[name] = _filled(cells[name], cells[width], cells[shape])
    if family == "head_unit":
        cells["amp_w"] = at_most(cells["amp_w"], rail_w(settings))
    return Parts(family, part_ids, cells, lists)


def at_most(column: Column, most: Decimal) -> Column:
    """A column with nothing over a figure."""
    return column._replace(values=np.minimum(column.values, to_micro(most)))


@cache
def _statement(family: str) -> tuple[list[Field], str]:
    """The fields that are read of a family, and the statement that reads them."""
    fields = [one for one in family_columns(family) if one.name not in NOT_READ and not isinstance(one.kind, TextKind)]
    cells = [_cell(one) for one in fields]
    tols = [f'"{one.tol_name}"' for one in fields if one.is_figure and one.name != "labour_h"]
    return fields, f'SELECT part_id, {", ".join([*cells, *tols])} FROM "{family}" ORDER BY part_id'


def _cell(one: Field) -> str:
    """SQL of a cell; of a word its place among those there may be, which is less to fetch than texts."""
    if not isinstance(one.kind, ChoiceKind):
        return f'"{one.name}"'
    choices = ", ".join(f"'{word}'" for word in one.kind.choices)
    return f'list_position([{choices}], "{one.name}") AS "{one.name}"'


def _words(one: Field, cells: Any, every: Flags) -> Column:
    assert isinstance(one.kind, ChoiceKind)
    known = _known(cells, every)
    codes = np.array([-1, *map(word_code, one.kind.choices)], np.int32)
    return Column(codes[np.where(known, np.ma.getdata(cells), 0).astype(np.int64)], known)


def _known(cells: Any, every: Flags) -> Flags:
    mask = np.ma.getmask(cells)
    return every if mask is np.ma.nomask or not mask.any() else ~mask


def _micro(cells: Any, every: Flags) -> tuple[Numbers, Flags]:
    """Numbers as the database gives them, in micro-units: exact, as these are less than 2^53."""
    known = _known(cells, every)
    plain = np.ma.getdata(cells) if known is every else np.where(known, np.ma.getdata(cells), 0)
    return np.rint(plain.astype(np.float64) * MICRO).astype(np.int64), known


def _numbers(one: Field, found: dict[str, Any], every: Flags, basis_tol: Numbers) -> Column:
    values, known = _micro(found[one.name], every)
    if one.tol_name not in found:
        return Column(values, known)
    stated, is_stated = _micro(found[one.tol_name], every)
    if one.is_length:
        return Column(values, known, np.where(is_stated, stated, basis_tol) if is_stated.any() else basis_tol)
    return Column(values, known, stated if is_stated.any() else 0)


def _basis_tol(basis: Column, settings: Settings) -> Numbers:
    """By part: the tolerance of a length that its row's basis sets; that of a maker's figure where it names none."""
    tols = np.full(len(basis.values), to_micro(settings["tolerance_mm.maker"]), np.int64)
    for word, tol in settings.by_word("tolerance_mm"):
        tols[np.asarray(basis.known) & (basis.values == word_code(word))] = to_micro(tol)
    return tols


def _lists(cells: Any) -> tuple[list[tuple[str, ...] | None], Numbers]:
    """The different lists of a column, and by row which of them stands there."""
    plain = np.where(np.ma.getmaskarray(cells), None, np.ma.getdata(cells))  # type: ignore[call-overload]
    told: dict[tuple[str, ...] | None, int] = {}
    numbers = [told.setdefault(None if one is None else tuple(one), len(told)) for one in plain.tolist()]
    return list(told) or [None], np.array(numbers, np.int64)


def _filled(height: Column, width: Column, shape: Column) -> Column:
    """A height, which of a round thing is its width where none is stated."""
    flat = np.asarray(shape.known) & (shape.values == word_code("round")) & ~np.asarray(height.known)
    tol, other = (np.broadcast_to(np.asarray(one.tol, np.int64), len(flat)) for one in (height, width))
    return Column(
        np.where(flat, width.values, height.values),
        np.where(flat, width.known, height.known),
        np.where(flat, other, tol),
    )
