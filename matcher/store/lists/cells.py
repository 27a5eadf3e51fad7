"""Convert cells to values: every distinct text of a column once, by its kind."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from catalog_schema.columns import TableColumn
from catalog_schema.figures import Figure, read_figure
from catalog_schema.kinds import (
    ChoiceKind,
    CountKind,
    FigureKind,
    Kind,
    MoneyKind,
    TextKind,
    WordsKind,
    is_blank,
)
from catalog_schema.notation import EITHER, Notation
from catalog_schema.problems import FieldError, Problem
from matcher.store.database.connection import quoted
from matcher.store.lists.headers import Target
from matcher.store.lists.listing import BadCell, decode_cell


@dataclass(frozen=True, slots=True)
class CellRead:
    """Result of reading one text of a column: a value, nothing, or a fault."""

    text: str
    value: Any = None
    tol: Decimal | None = None
    basis: str | None = None
    fault: Problem | None = None


def read_cells(target: Target, texts: Iterable[str], notation: Notation = EITHER) -> list[CellRead]:
    """Read every text of a column by its kind; ``notation`` is the list's."""
    return [read_cell(target, text, notation) for text in texts]


def read_cell(target: Target, text: str, notation: Notation = EITHER) -> CellRead:
    """Read one text by the column's kind, in the unit of the column's header."""
    cell, name = decode_cell(text), target.column.name
    if isinstance(cell, BadCell):
        return CellRead(text, fault=Problem(cell.expected, column=name, found=cell.shown, fix=cell.fix))
    try:
        kind = target.column.kind
        value = _in_header_unit(target, cell, notation) if target.given_in else kind.read(cell, notation)
    except FieldError as error:
        return CellRead(text, fault=error.at(name))
    if isinstance(value, Figure):
        return CellRead(text, value.value, value.tol, value.basis)
    return CellRead(text, list(value) if isinstance(value, tuple) else value)


def _in_header_unit(target: Target, cell: object, notation: Notation) -> object:
    kind = target.column.kind
    assert isinstance(kind, FigureKind)
    if is_blank(cell):
        return None
    figure = read_figure(cell, kind.unit, given_in=target.given_in, notation=notation)
    if figure is None:  # an object without a value
        raise FieldError(cell, kind.expects())
    kind.check_range(figure.value, cell)
    return figure


def default_sql(column: TableColumn) -> str:
    """SQL test for a blank cell."""
    if column.default is None:
        return f"null::{column.kind.sql_type}"
    literal = quoted(column.default) if isinstance(column.default, str) else str(column.default)
    return f"{literal}::{column.kind.sql_type}"


def taken_sql(kind: Kind, cell: str) -> str:
    """SQL test whether a stored, non-null cell is valid for its kind."""
    if isinstance(kind, FigureKind):
        return f"({_in_range(kind, cell)})"
    if isinstance(kind, CountKind):
        return f"({cell} between {kind.least} and {kind.most})"
    if isinstance(kind, MoneyKind):
        return f"({cell} >= 0 and {cell} < 1000000000)"
    if isinstance(kind, ChoiceKind):
        return f"({_among(cell, kind.choices)})"
    if isinstance(kind, WordsKind) and kind.choices:
        return f"list_has_all([{_listed(kind.choices)}], {cell})"
    if isinstance(kind, TextKind):
        return f"(length({cell}) between 1 and {kind.longest} and not contains({cell}, chr(0)))"
    return "true"


def _among(cell: str, words: Iterable[str]) -> str:
    return f"{cell} in ({_listed(words)})"


def _listed(words: Iterable[str]) -> str:
    return ", ".join(map(quoted, sorted(words)))


def _in_range(kind: FigureKind, value: str) -> str:
    bounds = [f"{value} between {kind.lowest} and {kind.most}"]
    if kind.above is not None:
        bounds.append(f"{value} > {kind.above}")
    return " and ".join(bounds)
