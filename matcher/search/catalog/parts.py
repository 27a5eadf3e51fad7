"""A family's parts as columns of exact integers, and the distinct sets of figures among them.

The columns come from the store's index: each is decoded from its distinct cells when first read. Many parts share the
figures that a group of rules reads. Each distinct set of those figures has a number, so that the rules are evaluated
once per set, for any opening.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property, reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from matcher.kernel.columns import Column, Columns, column_of, word_code, word_of
from matcher.kernel.distinct import DistinctSets, Numbers, combined
from matcher.kernel.exact import MICRO, from_micro, to_micro
from matcher.rules.terms import FigureTerm
from matcher.search.catalog.usual import MADE_OF, with_estimates
from matcher.settings import Settings
from matcher.store.catalog.supplier_terms import price_factors
from matcher.store.database.connection import Connection
from matcher.store.database.index import FIGURE, FLAG, LENGTH, LIST, NAMES, UNKNOWN, WORD, Coded, Index, read_index

Factors = NDArray[np.int64]
"""In millionths: a single factor, or one per part."""
ROUND = {
    "speaker": {"cutout_h_mm": ("shape", "cutout_w_mm"), "flange_h_mm": ("shape", "flange_w_mm")},
    "adapter": {"fits_h_mm": ("fits_shape", "fits_w_mm"), "gives_h_mm": ("gives_shape", "gives_w_mm")},
}
"""Heights that round things need not state, by family: the field that makes them round, and the width to use."""


PATTERN = re.compile(r"pattern_(\d)_(circle_mm|count)")
"""A measure of one of a flange's additional bolt patterns."""


OWN_PATTERN = ("bolt_circle_mm", "bolt_count")


def stored_field(name: str) -> str:
    """The column of a family's table that holds a cell."""
    return "bolt_patterns" if PATTERN.fullmatch(name) else name


class Cells(Mapping[str, Column]):
    """Columns of some parts by field, each decoded when first read.

    Figures have the tolerance stated, or that of their row's basis. The height of a round thing defaults to its width.
    The power of a head unit is limited by its supply (``stated_w`` is the maker's figure). Prices are what the customer
    pays: list prices times `factors`. Each column's ``known`` is an array.
    """

    def __init__(
        self, family: str, index: Index, settings: Settings, factors: Factors, taken: tuple[Cells, Any] | None = None
    ) -> None:
        self._family, self._index, self._settings, self._factors, self._taken = family, index, settings, factors, taken
        self._made: dict[str, Column] = {}

    def __iter__(self) -> Iterator[str]:
        return (name for name in self._index if name != NAMES)

    def __len__(self) -> int:
        return len(self._index) - 1

    def __getitem__(self, name: str) -> Column:
        if name not in self._made:
            self._made[name] = self._column(name)
        return self._made[name]

    def take(self, rows: Any) -> Cells:
        """Return some rows; only columns that are read are copied."""
        factors = self._factors[rows] if self._factors.ndim else self._factors
        return Cells(self._family, self._index, self._settings, factors, (self, rows))

    def _coded(self, name: str) -> Coded:
        """Return a column of the index for these rows."""
        if self._taken is None:
            return self._index[name]
        cells, rows = self._taken
        coded = cells._coded(name)
        return coded._replace(numbers=coded.numbers[rows])

    def supposing(self, row: int, name: str, value: Decimal | int | str | bool) -> Cells:
        """Return the cells with one of them assumed exactly; lists are words separated by semicolons."""
        coded = self._coded(name)
        is_list = coded.kind == LIST and isinstance(value, str)
        added = _with_cell(coded, str(value).split(";") if is_list else value, 0)
        added.numbers[row] = added.cells.shape[1] - 1
        others = {other: self._coded(other) for other in self}
        index = {NAMES: self._index[NAMES], **others, name: added}
        return Cells(self._family, index, self._settings, self._factors)

    def adding(self, at: int, figures: Mapping[str, Any]) -> Cells:
        """Return the cells with one more part, inserted before a row, from its known figures."""
        index = {NAMES: self._index[NAMES]}
        for name in self:
            coded, figure = self._coded(name), figures.get(name)
            value = getattr(figure, "value", figure)
            added = _with_cell(coded, list(value) if isinstance(value, tuple) else value, getattr(figure, "tol", None))
            index[name] = added._replace(numbers=np.insert(added.numbers, at, added.cells.shape[1] - 1))
        factors = np.insert(self._factors, at, MICRO) if self._factors.ndim else self._factors
        return Cells(self._family, index, self._settings, factors)

    def for_nothing(self, row: int) -> Cells:
        """Return the cells with the price of one part set to 0."""
        factors = np.array(np.broadcast_to(self._factors, len(self._coded("basis").numbers)))
        factors[row] = 0
        index = {NAMES: self._index[NAMES], **{name: self._coded(name) for name in self}}
        return Cells(self._family, index, self._settings, factors)

    def lists(self, name: str) -> list[tuple[str, ...] | None]:
        """Return the distinct lists of a field; its cells are indices into them, the last of which means unknown."""
        return [*map(tuple, self._index[name].words), None]

    def made_of(self, name: str) -> list[str]:
        """Return the columns of the index that a cell depends on."""
        if PATTERN.fullmatch(name):
            return ["bolt_patterns", "basis"]
        if self._family == "speaker" and name in OWN_PATTERN:
            return [name, "bolt_circle_mm", "bolt_w_mm", "bolt_h_mm", "bolt_patterns", "basis"]
        found = [name, *ROUND.get(self._family, {}).get(name, ())]
        if self._family == "speaker":
            found += MADE_OF.get(name, ())
        is_length = self._index[name].kind == LENGTH
        return [*found, "basis"] if is_length and any(map(self._leaves_tolerances, found)) else found

    def numbers(self, name: str) -> tuple[Numbers, int]:
        """Return each row's cell number in a column of the index, and the number of distinct cells."""
        coded = self._coded(name)
        return coded.numbers.astype(np.int64), max(coded.cells.shape[1], 1)

    def _leaves_tolerances(self, name: str) -> bool:
        """Whether some cell of a figure has no stated tolerance."""
        return bool((self._index[name].cells[1] == UNKNOWN).any())

    def _column(self, name: str) -> Column:
        if found := PATTERN.fullmatch(name):
            return self._pattern(int(found[1]), is_count=found[2] == "count")
        if (self._family, name) == ("head_unit", "stated_w"):
            return self._plain("amp_w")
        column = self._plain(name)
        if name == "price":
            return column._replace(values=charged(column.values, self._factors))
        if self._family == "speaker" and name in OWN_PATTERN:
            return self._own_pattern(column, is_count=name == "bolt_count")
        if (rounded := ROUND.get(self._family, {}).get(name)) is not None:
            shape, width = rounded
            return _filled(column, self[width], self[shape])
        if self._family == "speaker" and name in MADE_OF and not np.all(column.known):
            return with_estimates(name, column, self, self._settings)
        if (self._family, name) == ("head_unit", "amp_w"):
            from matcher.search.catalog.counted import rail_w  # no loudspeaker needs the formulas

            return at_most(column, rail_w(self._settings))
        return column

    def _own_pattern(self, own: Column, *, is_count: bool) -> Column:
        """A flange's own pattern: the first of its list if no bolt holes are stated otherwise."""
        first = self._pattern(0, is_count=is_count)
        stated = [self._plain(name).known for name in ("bolt_circle_mm", "bolt_w_mm", "bolt_h_mm")]
        bare = ~reduce(np.logical_or, stated) & first.known
        return Column(*(np.where(bare, *each) for each in zip(first, own, strict=True)))

    def _pattern(self, at: int, *, is_count: bool) -> Column:
        """Bolt circle or number of holes of one additional bolt pattern of each part."""
        cells = self._coded("bolt_patterns")
        numbers = [None if at >= len(some) else Decimal(some[at].split("x")[not is_count]) for some in cells.words]
        column = column_of([*numbers, None])
        place = np.where(cells.cells[0] == UNKNOWN, len(numbers), cells.cells[0])[cells.numbers]
        known = np.broadcast_to(np.asarray(column.known), len(numbers) + 1)[place]
        return Column(column.values[place], known, 0 if is_count else self._basis_tol)

    def _plain(self, name: str) -> Column:
        """A column of the index with all tolerances filled in."""
        (values, stated), numbers, words, kind = self._coded(name)
        is_known = values != UNKNOWN
        known = is_known[numbers]
        if kind == WORD:
            codes = np.array([*map(word_code, words), -1], np.int32)
            return Column(codes[np.where(is_known, values, -1)][numbers], known)
        if kind == LIST:
            return Column(np.where(is_known, values, len(words))[numbers], np.ones(len(numbers), np.bool_))
        plain = np.where(is_known, values, 0)
        if kind == FLAG:
            return Column(plain.astype(np.bool_)[numbers], known)
        is_stated = stated != UNKNOWN
        tol = np.where(is_stated, stated, 0)[numbers]
        if kind == LENGTH and not is_stated.all():
            share = plain * to_micro(self._settings["estimate_share"]) // MICRO
            most = np.where(self._is_guessed, share[numbers], self._basis_tol)
            return Column(plain[numbers], known, np.where(is_stated[numbers], tol, np.minimum(self._basis_tol, most)))
        return Column(plain[numbers], known, tol if is_stated.any() else 0)

    @cached_property
    def _is_guessed(self) -> Any:
        """Whether each part's figures are estimates, whose tolerance is at most a share of their value."""
        cells, numbers, words, _ = self._coded("basis")
        guessed = [value != UNKNOWN and words[value] == "estimate" for value in cells[0].tolist()]
        return np.array(guessed, np.bool_)[numbers]

    @cached_property
    def _basis_tol(self) -> Numbers:
        """Tolerance of a length by each part's basis; the maker's tolerance if none is named."""
        if self._taken is not None:
            every, rows = self._taken
            of_rows: Numbers = every._basis_tol[rows]
            return of_rows
        cells, numbers, words, _ = self._coded("basis")
        maker, by_word = self._settings["tolerance_mm.maker"], dict(self._settings.by_word("tolerance_mm"))
        tols = [maker if value == UNKNOWN else by_word.get(words[value], maker) for value in cells[0].tolist()]
        found: Numbers = np.array([*map(to_micro, tols)], np.int64)[numbers]
        return found


def _with_cell(coded: Coded, value: Any, tol: Decimal | int | None) -> Coded:
    """Return a column with one more distinct cell, the last one; a tolerance of None is that of the row's basis."""
    words = list(coded.words)
    if value is None:
        cell = UNKNOWN
    elif coded.kind in (WORD, LIST):
        words += [] if value in words else [value]
        cell = words.index(value)
    else:
        cell = int(value) if coded.kind == FLAG else to_micro(value)
    stated = UNKNOWN if tol is None or coded.kind not in (LENGTH, FIGURE) else to_micro(tol)
    cells = np.column_stack([coded.cells, np.array([cell, stated], np.int64)])
    return Coded(cells, coded.numbers.astype(np.uint32), words, coded.kind)


class _Named(Mapping[str, Column]):
    """Cells as the figures of a subject."""

    def __init__(self, subject: str, cells: Cells) -> None:
        self._subject, self._cells = subject, cells

    def __iter__(self) -> Iterator[str]:
        return (f"{self._subject}.{name}" for name in self._cells)

    def __len__(self) -> int:
        return len(self._cells)

    def __getitem__(self, name: str) -> Column:
        subject, _, field_name = name.partition(".")
        if subject != self._subject:
            raise KeyError(name)
        return self._cells[field_name]

    def take(self, rows: Any) -> _Named:
        """Return some rows."""
        return _Named(self._subject, self._cells.take(rows))


@dataclass(eq=False)
class Parts:
    """Parts of one family, sorted by name."""

    family: str
    part_ids: NDArray[Any]
    cells: Cells
    _subjects: dict[str, Columns] = field(default_factory=dict)
    _sets: dict[tuple[str, ...], DistinctSets] = field(default_factory=dict)
    before: tuple[Parts, list[int]] | None = None
    """If some cells are assumed: the original parts, and the rows of those cells."""

    def __len__(self) -> int:
        return len(self.part_ids)

    @property
    def columns(self) -> Columns:
        """Columns of the subject ``part``."""
        return self.subject("part")

    def subject(self, name: str) -> Columns:
        """Return columns of a subject, such as ``part``, ``board``, ``adapter``."""
        if name not in self._subjects:
            self._subjects[name] = Columns(_Named(name, self.cells))
        return self._subjects[name]

    def row(self, part_id: str) -> int | None:
        """Return the row of a part; None if there is no such part."""
        at = int(np.searchsorted(self.part_ids, part_id)) if len(self) else 0
        return at if at < len(self) and self.part_ids[at] == part_id else None

    def rows(self, part_ids: Sequence[str]) -> Numbers:
        """Return the rows of existing parts."""
        return np.searchsorted(self.part_ids, np.array(part_ids, object)).astype(np.int64)

    def take(self, rows: Any) -> Parts:
        """Return some parts, by rising row numbers or by a mask."""
        return Parts(self.family, self.part_ids[rows], self.cells.take(rows))

    def supposing(self, row: int, name: str, value: Decimal | int | str | bool) -> Parts:
        """Return the parts with one cell assumed exactly."""
        plain, rows = self.before or (self, [])
        before = plain, sorted({*rows, row})
        return Parts(self.family, self.part_ids, self.cells.supposing(row, name, value), before=before)

    def lists(self, name: str) -> list[tuple[str, ...] | None]:
        """Return the distinct lists of a field; its cells are indices into them."""
        return self.cells.lists(name)

    def listed(self, name: str, row: int) -> tuple[str, ...] | None:
        """Return the list in a field of a part; None if unknown."""
        return self.lists(name)[int(self.cells[name].values[row])]

    def sets(self, figures: Sequence[FigureTerm]) -> DistinctSets:
        """Return the distinct sets of some figures and their tolerances, computed once."""
        names = tuple(dict.fromkeys(name for one in figures for name in self.cells.made_of(one.field)))
        if names not in self._sets:
            self._sets[names] = combined(map(self.cells.numbers, names), len(self))
        return self._sets[names]


def read_parts(con: Connection, family: str, settings: Settings) -> Parts:
    """Return a family's parts from the store's index."""
    index = read_index(con, family) or _coded(con, family)
    return _parts_of(family, index, settings, *price_factors(con, family, settings))


def parts_of_rows(con: Connection, family: str, settings: Settings, only: frozenset[str] | None = None) -> Parts:
    """Return a family's parts from other tables, without index; only some columns if they are named."""
    return _parts_of(family, _coded(con, family, only), settings, *price_factors(con, family, settings))


def _coded(con: Connection, family: str, only: frozenset[str] | None = None) -> Index:
    from matcher.store.database.indexing import code_family  # it loads the models of all families

    return code_family(con, family, only)


def _parts_of(family: str, index: Index, settings: Settings, usual: Decimal, by_part: Mapping[str, Decimal]) -> Parts:
    """Return parts with their price factor: a single one, or one per part if suppliers differ."""
    names = np.array(index[NAMES].words, object)
    factors = [to_micro(by_part.get(name, usual)) for name in names.tolist()] if by_part else to_micro(usual)
    return Parts(family, names, Cells(family, index, settings, np.array(factors, np.int64)))


def charged(values: Numbers, factors: Factors) -> Numbers:
    """Return customer prices in micro-units, each rounded half up to the cent.

    >>> charged(np.array([10_050_000]), np.array(1_190_000)).tolist()  # 10.05 with 19 % tax
    [11960000]
    """
    in_cent = MICRO // 100
    found: Numbers = (values // in_cent * factors + MICRO // 2) // MICRO * in_cent
    return found


def at_most(column: Column, most: Decimal) -> Column:
    """Return a column limited to a maximum."""
    return column._replace(values=np.minimum(column.values, to_micro(most)))


def _filled(height: Column, width: Column, shape: Column) -> Column:
    """A height that defaults to the width of a round thing."""
    flat = np.asarray(shape.known) & (shape.values == word_code("round")) & ~np.asarray(height.known)
    tol, other = (np.broadcast_to(np.asarray(one.tol, np.int64), len(flat)) for one in (height, width))
    return Column(
        np.where(flat, width.values, height.values),
        np.where(flat, width.known, height.known),
        np.where(flat, other, tol),
    )


def cell(column: Column, row: int) -> Any:
    """Return a cell as a number, word or boolean; None if unknown."""
    known = column.known
    if not (known if isinstance(known, bool) else known[row]):
        return None
    value, kind = column.values[row], column.values.dtype
    if kind == np.int32:
        return word_of(value)
    return bool(value) if kind == np.bool_ else from_micro(value)


def tol_of(column: Column, row: int) -> Decimal | None:
    """Return the tolerance of a cell; None if it has none."""
    tol = int(np.broadcast_to(column.tol, column.values.shape)[row])
    return from_micro(tol) if tol else None


def cells_of(cells: Mapping[str, Column], names: Iterable[str], row: int) -> dict[str, Any]:
    """Return some cells of a part as numbers, words and booleans."""
    return {name: cell(cells[name], row) for name in names}


def money_of(parts: Parts, row: int) -> tuple[Any, Any, Any]:
    """Return price, pieces per pack, and hours of fitting of a part."""
    price, pack_of, labour_h = (cell(parts.cells[name], row) for name in ("price", "pack_of", "labour_h"))
    return price, None if pack_of is None else int(pack_of), labour_h
