"""Convert cells to values: plain ones by the database, column by column; every other distinct text once, by its kind.

Both ways give the same value for the same text: the database takes only texts that the kind would read as the same
    number.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from catalog_schema.columns import TableColumn
from catalog_schema.figures import Figure, FigureError, read_figure
from catalog_schema.kinds import (
    NO_WORDS,
    YES_WORDS,
    ChoiceKind,
    CountKind,
    FieldError,
    FigureKind,
    FlagKind,
    Kind,
    MoneyKind,
    NameKind,
    TextKind,
    WordsKind,
    is_blank,
)
from catalog_schema.notation import EITHER, DecimalMark, Notation
from matcher.store.database.connection import quoted
from matcher.store.lists.headers import Target
from matcher.store.lists.listing import BadCell, CellFault, decode_cell

PLAIN_FIGURE = r"[+-]?[0-9]{1,9}(\.([0-9]{1,2}|[0-9]{4,6}))?"
WITH_POINTS = r"[+-]?[0-9]{1,9}(\.[0-9]{1,6})?"
"""Plain figures of a list with decimal points; otherwise three decimals may be thousands."""
PLAIN_COUNT = r"[0-9]{1,7}"
PLAIN_MONEY = r"[0-9]{1,9}(\.[0-9]{1,2})?"
PLAIN_WORDS = r"[a-z0-9]+(_[a-z0-9]+)*(;[a-z0-9]+(_[a-z0-9]+)*)*"
PLAIN_TEXT = r"(?s)[!-~]([^\x00]*[!-~])?"
PLAIN_NAME = r"[!-~]([^\x00-\x1f\x7f-\x9f\x{61c}\x{200e}\x{200f}\x{2028}-\x{202e}\x{2066}-\x{2069}]*[!-~])?"
"""One line without direction marks: see `catalog_schema.printable`."""


TYPED_FIGURE = "DECIMAL(18,9)"
TYPED_NUMBER = "DECIMAL(18,6)"
"""Type for reading a column at once; a number with more decimals than the field is read again."""


@dataclass(frozen=True, slots=True)
class FastCell:
    """SQL for a column's value and for whether it may be taken; both over the cell."""

    value: str
    """Valid only if the cell may be taken."""
    taken: str


def typed_as(target: Target) -> str | None:
    """Return the type that the database may read a column as; None for text."""
    kind = target.column.kind
    if isinstance(kind, FigureKind):
        return TYPED_FIGURE if target.given_in is None else None
    return TYPED_NUMBER if isinstance(kind, CountKind | MoneyKind) else None


def fast_cell(target: Target, cell: str, *, marked: bool, typed: bool, mark: DecimalMark = "either") -> FastCell:
    """Return the SQL that reads the plain cells of a column; ``taken`` is false for all others.

    The cell has the type of `typed_as` if it was ``typed``, else text that may be ``marked``. ``mark`` is the list's
    decimal
    mark.
    """
    kind = target.column.kind
    is_number = typed and typed_as(target) is not None
    blank = f"{cell} is null" if is_number else f"({cell} is null or {cell} = '')"
    value, plain = _typed_number(kind, cell) if is_number else _by_kind(target, cell, marked, mark)
    return FastCell(value, plain if target.column.required else f"({blank} or {plain})")


def _typed_number(kind: Kind, cell: str) -> tuple[str, str]:
    value = f"try_cast({cell} as {kind.sql_type})"
    if isinstance(kind, FigureKind):
        allowed = _in_range(kind, value)
    elif isinstance(kind, CountKind):
        allowed = f"{value} between {kind.least} and {kind.most}"
    else:
        allowed = f"{value} >= 0 and {value} < 1000000000"
    return value, f"({cell} = {value} and {allowed})"


def _by_kind(target: Target, cell: str, marked: bool, mark: DecimalMark) -> tuple[str, str]:
    kind = target.column.kind
    if isinstance(kind, FigureKind) and target.given_in is None:
        value = f"try_cast({cell} as {kind.sql_type})"
        plain = WITH_POINTS if mark == "point" else PLAIN_FIGURE
        return value, f"({_like(cell, plain)} and {_in_range(kind, value)})"
    if isinstance(kind, CountKind):
        value = f"try_cast({cell} as integer)"
        return value, f"({_like(cell, PLAIN_COUNT)} and {value} between {kind.least} and {kind.most})"
    if isinstance(kind, MoneyKind):
        return f"try_cast({cell} as {kind.sql_type})", _like(cell, PLAIN_MONEY)
    if isinstance(kind, ChoiceKind):
        return f"nullif({cell}, '')", _among(cell, kind.choices)
    if isinstance(kind, FlagKind):
        return f"nullif({cell}, '') in ({_listed(YES_WORDS)})", _among(cell, YES_WORDS | NO_WORDS)
    if type(kind) is WordsKind:  # bolt patterns have a form of their own
        return _fast_words(kind, cell)
    if isinstance(kind, TextKind):
        unmarked = f" and not starts_with({cell}, chr(1))" if marked else ""
        plain = PLAIN_NAME if isinstance(kind, NameKind) else PLAIN_TEXT
        return f"nullif({cell}, '')", f"({_like(cell, plain)} and length({cell}) <= {kind.longest}{unmarked})"
    return f"null::{kind.sql_type}", "false"


def _fast_words(kind: WordsKind, cell: str) -> tuple[str, str]:
    words = f"string_split(nullif({cell}, ''), ';')"
    taken = f"({_like(cell, PLAIN_WORDS)} and len(list_distinct({words})) = len({words})"
    if kind.choices:
        taken += f" and list_has_all([{_listed(kind.choices)}], {words})"
    return words, f"{taken})"


def _among(cell: str, words: Iterable[str]) -> str:
    return f"{cell} in ({_listed(words)})"


def _listed(words: Iterable[str]) -> str:
    return ", ".join(map(quoted, sorted(words)))


def _like(cell: str, pattern: str) -> str:
    return f"regexp_full_match({cell}, {quoted(pattern)})"


def _in_range(kind: FigureKind, value: str) -> str:
    bounds = [f"{value} between {kind.lowest} and {kind.most}"]
    if kind.above is not None:
        bounds.append(f"{value} > {kind.above}")
    return " and ".join(bounds)


@dataclass(frozen=True, slots=True)
class CellRead:
    """Result of reading one text of a column: a value, nothing, or a fault."""

    text: str
    value: Any = None
    tol: Decimal | None = None
    basis: str | None = None
    fault: CellFault | None = None


def read_cells(target: Target, texts: Iterable[str], notation: Notation = EITHER) -> list[CellRead]:
    """Read every text of a column by its kind; ``notation`` is the list's."""
    return [read_cell(target, text, notation) for text in texts]


def read_cell(target: Target, text: str, notation: Notation = EITHER) -> CellRead:
    """Read one text by the column's kind, in the unit of the column's header."""
    cell, name = decode_cell(text), target.column.name
    if isinstance(cell, BadCell):
        return CellRead(text, fault=CellFault(name, cell.shown, cell.expected, cell.fix))
    try:
        kind = target.column.kind
        value = _in_header_unit(target, cell, notation) if target.given_in else kind.read(cell, notation)
    except FieldError as error:
        return CellRead(text, fault=CellFault(name, error.found, error.expected, error.fix))
    if isinstance(value, Figure):
        return CellRead(text, value.value, value.tol, value.basis)
    return CellRead(text, list(value) if isinstance(value, tuple) else value)


def _in_header_unit(target: Target, cell: object, notation: Notation) -> object:
    kind = target.column.kind
    assert isinstance(kind, FigureKind)
    if is_blank(cell):
        return None
    try:
        figure = read_figure(cell, kind.unit, given_in=target.given_in, notation=notation)
    except FigureError as error:
        raise FieldError(error.found, error.expected, error.fix, error.alternatives) from None
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
