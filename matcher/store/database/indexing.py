"""Write the catalog's index from its rows, and check it against them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.kinds import ChoiceKind, FlagKind, NamesKind, TextKind, WordsKind
from catalog_schema.parts import FAMILIES
from matcher.errors import Problem
from matcher.kernel.distinct import numbered
from matcher.kernel.exact import MICRO
from matcher.store.database.connection import Connection
from matcher.store.database.index import (
    COLUMNS,
    FIGURE,
    FLAG,
    LENGTH,
    LIST,
    NAMES,
    NUMBER,
    SIZES,
    UNKNOWN,
    WORD,
    Coded,
    Index,
)

FIX = "write the index anew: boltback store index"


def write_index(con: Connection, families: Iterable[str] = FAMILIES) -> None:
    """Rebuild the index of some families, within a change."""
    for family in families:
        con.execute("delete from part_index where family = $1", [family])
        rows = [(name, *_written(coded)) for name, coded in code_family(con, family).items()]
        con.execute(
            "insert into part_index select $1, unnest($2::varchar[]), unnest($3::blob[]), unnest($4::blob[]), "
            "unnest($5::varchar[]), unnest($6::varchar[])",
            [family, *(list(column) for column in zip(*rows, strict=True))],
        )


def index_faults(con: Connection) -> Iterator[Problem]:
    """Yield columns of the index that differ from the rows; none for a family without an index."""
    for family in FAMILIES:
        query = f"select {COLUMNS} from part_index where family = $1"
        held = {name: tuple(rest) for name, *rest in con.execute(query, [family]).fetchall()}
        made = {name: _written(coded) for name, coded in code_family(con, family).items()} if held else {}
        for name in sorted(held.keys() | made.keys()):
            if held.get(name) != made.get(name):
                found = "another content" if name in held and name in made else "none" if name in made else "a column"
                yield Problem("the index of its rows", file=f"part_index {family}", column=name, found=found, fix=FIX)


def _written(coded: Coded) -> tuple[bytes, bytes, str, str]:
    words = json.dumps(coded.words, ensure_ascii=False)
    return coded.cells.tobytes(), coded.numbers.tobytes(), words, coded.kind


def code_family(con: Connection, family: str, only: frozenset[str] | None = None) -> Index:
    """Build the index of a family, or of some of its columns, from its rows."""
    fields, statement = _statement(family, only)
    found = con.execute(statement).fetchnumpy()
    nothing = np.zeros((2, 0), np.int64)
    index = {NAMES: Coded(nothing, np.zeros(0, np.uint8), np.asarray(found[NAMES], object).tolist(), WORD)}
    return index | {one.name: _coded(one, found) for one in fields}


NAMED_SIZES = frozenset({("speaker", "size")})
"""Text columns that questions read: sizes, which decide usual figures."""


def indexed_columns(family: str) -> list[TableColumn]:
    """Return the columns of a family that questions read: all but free text, except a loudspeaker's nominal size."""
    return [
        one for one in family_columns(family) if not isinstance(one.kind, TextKind) or (family, one.name) in NAMED_SIZES
    ]


def kind_of(one: TableColumn) -> str:
    if one.is_figure:
        return LENGTH if one.is_length else FIGURE
    kinds = ((ChoiceKind, WORD), (TextKind, WORD), (FlagKind, FLAG), (WordsKind, LIST), (NamesKind, LIST))
    return next((kind for model, kind in kinds if isinstance(one.kind, model)), NUMBER)


@cache
def _statement(family: str, only: frozenset[str] | None) -> tuple[list[TableColumn], str]:
    """Return the columns of a family's index, and the SQL that reads them from its rows."""
    fields = [one for one in indexed_columns(family) if only is None or one.name in only or one.name == "basis"]
    cells = [*map(_cell, fields), *(f'"{one.tol_name}"' for one in fields if one.is_figure)]
    return fields, f'select part_id, {", ".join(cells)} from "{family}" order by part_id'


def _cell(one: TableColumn) -> str:
    """Return the SQL of a cell; a word becomes its index among the choices, which is faster to fetch."""
    if not isinstance(one.kind, ChoiceKind):
        return f'"{one.name}"'
    choices = ", ".join(f"'{word}'" for word in one.kind.choices)
    return f'list_position([{choices}], "{one.name}") - 1 as "{one.name}"'


def _coded(one: TableColumn, found: dict[str, Any]) -> Coded:
    cells, kind = found[one.name], kind_of(one)
    words: list[Any] = list(one.kind.choices) if isinstance(one.kind, ChoiceKind) else []
    if kind == LIST:
        words, values = _lists(cells)
    elif kind == WORD and not words:
        words, values = _texts(cells)
    else:
        values = _whole(cells, 1 if kind in (WORD, FLAG) else MICRO)
    if not one.is_figure:
        distinct_values, numbers = _with_unknown(values)
        return Coded(np.stack([distinct_values, np.full(len(distinct_values), UNKNOWN)]), _narrow(numbers), words, kind)
    (value_cells, value), (tol_cells, tol) = map(_with_unknown, (values, _whole(found[one.tol_name], MICRO)))
    kept, numbers = numbered(value * len(tol_cells) + tol)
    pairs = np.stack([value_cells[kept // len(tol_cells)], tol_cells[kept % len(tol_cells)]])
    return Coded(pairs, _narrow(numbers), words, kind)


def _whole(cells: Any, scale: int) -> NDArray[np.int64]:
    """Convert cells to whole numbers, exactly: the store's numbers are below 2^53 micro-units."""
    known = ~np.ma.getmaskarray(cells)
    values = np.rint(np.where(known, np.ma.getdata(cells), 0).astype(np.float64) * scale).astype(np.int64)
    return np.where(known, values, UNKNOWN)


def _with_unknown(values: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Like `numbered`, for unknown values far from all known ones: they come first."""
    known = values != UNKNOWN
    if known.all():
        return numbered(values)
    found, among = numbered(values[known])
    numbers = np.zeros(len(values), np.int64)
    numbers[known] = among + 1
    return np.concatenate([[UNKNOWN], found]), numbers


def _narrow(numbers: NDArray[np.int64]) -> NDArray[np.unsignedinteger[Any]]:
    """Return numbers in the smallest sufficient type."""
    most = int(numbers.max(initial=0))
    return numbers.astype(next(one for one in SIZES if most <= np.iinfo(one).max))


def _texts(cells: Any) -> tuple[list[str], NDArray[np.int64]]:
    """Return the distinct texts of a column, and each row's index into them."""
    lists, values = _lists([None if one is None else [one] for one in np.ma.filled(cells, None)])
    return [text for (text,) in lists], values


def _lists(cells: Any) -> tuple[list[list[str]], NDArray[np.int64]]:
    """Return the distinct lists of a column, and each row's index into them."""
    plain = np.where(np.ma.getmaskarray(cells), None, np.ma.getdata(cells))  # type: ignore[call-overload]
    given = [None if one is None else tuple(one) for one in plain.tolist()]
    listed = sorted({one for one in given if one is not None})
    place = {one: at for at, one in enumerate(listed)}
    return [list(one) for one in listed], np.array([UNKNOWN if one is None else place[one] for one in given], np.int64)
