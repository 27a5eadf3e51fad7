"""All parts of a family at once, read from the store as columns."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from catalog_schema.columns import Column as Field
from catalog_schema.columns import family_columns
from catalog_schema.kinds import ChoiceKind, FlagKind, TextKind, WordsKind
from matcher.kernel.columns import Column, word_code
from matcher.kernel.exact import MICRO, to_micro
from matcher.search.catalog.parts import Flags, Numbers, Parts, finished
from matcher.settings import Settings
from matcher.store.connection import Connection

NOT_READ = frozenset({"stock", "lead_days", "high_hz", "thick_mm", "chambers"})
"""Columns that no question of a package asks for; nor does any read free text."""


def read_family(con: Connection, family: str, settings: Settings, only: frozenset[str] | None = None) -> Parts:
    """Read a family's parts from the store: all that rules and candidates ask of them, or some fields alone."""
    fields, statement = _statement(family, only)
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
    return Parts(family, part_ids, finished(family, cells, settings), lists)


@cache
def _statement(family: str, only: frozenset[str] | None) -> tuple[list[Field], str]:
    """The fields that are read of a family, and the statement that reads them."""
    fields = [one for one in family_columns(family) if one.name not in NOT_READ and not isinstance(one.kind, TextKind)]
    fields = [one for one in fields if only is None or one.name in only or one.name == "basis"]
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
