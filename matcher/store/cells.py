"""Cells to values: plain ones by the database, column-wise; every other text once, by its kind.

Both ways give the same value for the same text: the database takes only what its kind would read
to the same number, and leaves the rest.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from catalog_schema.columns import Column
from catalog_schema.figures import Figure, FigureError, read_figure
from catalog_schema.kinds import (
    ChoiceKind,
    CountKind,
    FieldError,
    FigureKind,
    MoneyKind,
    TextKind,
    is_blank,
)
from matcher.store.headers import Target
from matcher.store.listing import BadCell, Fault, decode_cell, quoted

PLAIN_FIGURE = r"[+-]?[0-9]{1,9}(\.[0-9]{1,6})?"
PLAIN_COUNT = r"[0-9]{1,7}"
PLAIN_MONEY = r"[0-9]{1,9}(\.[0-9]{1,2})?"
PLAIN_TEXT = r"(?s)[!-~]([^\x00]*[!-~])?"


@dataclass(frozen=True, slots=True)
class FastCell:
    """SQL for a column's value and for whether it may be taken; both over the text ``cell``."""

    value: str
    taken: str


def fast_cell(target: Target, cell: str, marked: bool) -> FastCell:
    """The SQL that reads the plain texts of a column; ``taken`` is false for all others."""
    kind = target.column.kind
    blank = f"({cell} is null or {cell} = '')"
    value, plain = _by_kind(target, cell, marked)
    taken = plain if target.column.required else f"({blank} or {plain})"
    return FastCell(f"case when {taken} and not {blank} then {value} end::{kind.sql_type}", f"coalesce({taken}, false)")


def _by_kind(target: Target, cell: str, marked: bool) -> tuple[str, str]:
    kind = target.column.kind
    if isinstance(kind, FigureKind) and target.given_in is None:
        value = f"try_cast({cell} as {kind.sql_type})"
        return value, f"({_like(cell, PLAIN_FIGURE)} and {_in_range(kind, value)})"
    if isinstance(kind, CountKind):
        value = f"try_cast({cell} as integer)"
        return value, f"({_like(cell, PLAIN_COUNT)} and {value} between {kind.least} and {kind.most})"
    if isinstance(kind, MoneyKind):
        return f"try_cast({cell} as {kind.sql_type})", _like(cell, PLAIN_MONEY)
    if isinstance(kind, ChoiceKind):
        return cell, f"{cell} in ({', '.join(map(quoted, kind.choices))})"
    if isinstance(kind, TextKind):
        unmarked = f" and not starts_with({cell}, chr(1))" if marked else ""
        return cell, f"({_like(cell, PLAIN_TEXT)} and length({cell}) <= {kind.longest}{unmarked})"
    return "null", "false"


def _like(cell: str, pattern: str) -> str:
    return f"regexp_full_match({cell}, {quoted(pattern)})"


def _in_range(kind: FigureKind, value: str) -> str:
    low = f"{value} > {kind.above}" if kind.above is not None else f"{value} >= {kind.least}"
    bounds = [f"{value} <= {kind.most}"]
    if kind.above is not None or kind.least is not None:
        bounds.append(low)
    return " and ".join(bounds)


@dataclass(frozen=True, slots=True)
class CellRead:
    """What one text of a column turned out to be: a value, nothing, or a fault."""

    text: str
    value: Any = None
    tol: Decimal | None = None
    basis: str | None = None
    fault: Fault | None = None


def read_cells(target: Target, texts: Iterable[str]) -> list[CellRead]:
    """Every text of a column, read by the column's kind."""
    return [read_cell(target, text) for text in texts]


def read_cell(target: Target, text: str) -> CellRead:
    """One text, read by the column's kind in the unit of the column's header."""
    cell, name = decode_cell(text), target.column.name
    if isinstance(cell, BadCell):
        return CellRead(text, fault=Fault(name, cell.shown, cell.expected, cell.cure))
    try:
        value = _in_header_unit(target, cell) if target.given_in else target.column.kind.read(cell)
    except FieldError as error:
        return CellRead(text, fault=Fault(name, error.found, error.expected, error.cure))
    if isinstance(value, Figure):
        return CellRead(text, value.value, value.tol, value.basis)
    return CellRead(text, list(value) if isinstance(value, tuple) else value)


def _in_header_unit(target: Target, cell: object) -> object:
    kind = target.column.kind
    assert isinstance(kind, FigureKind)
    if is_blank(cell):
        return None
    try:
        figure = read_figure(cell, kind.unit, given_in=target.given_in)
    except FigureError as error:
        raise FieldError(error.found, error.expected, error.cure) from None
    assert figure is not None
    kind.check_range(figure.value, cell)
    return figure


def default_sql(column: Column) -> str:
    """What a blank cell means, as SQL."""
    if column.default is None:
        return f"null::{column.kind.sql_type}"
    literal = quoted(column.default) if isinstance(column.default, str) else str(column.default)
    return f"{literal}::{column.kind.sql_type}"
