"""One cell of a supplier's list to the fields it speaks of, as its map says."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from catalog_schema.columns import Column
from catalog_schema.kinds import CountKind, FieldError, FigureKind, WordsKind
from catalog_schema.maps import TIMES_GROUP, UNIT_GROUP, ColumnMap, PatternMap
from catalog_schema.units import TYPOGRAPHY, known_units, unit_spelled
from matcher.errors import Problem
from matcher.store.listing import BadCell

HELPERS = (UNIT_GROUP, TIMES_GROUP)
BARE = re.compile(r".*[\d⁄/.]")
LEFT_OVER = re.compile(r"\w")
NOTES = "notes"


@dataclass(frozen=True, slots=True)
class Cutter:
    """One pattern, ready to be used."""

    expression: re.Pattern[str]
    set_: Mapping[str, str | None]

    @property
    def fields(self) -> list[str]:
        """The fields that a match can fill."""
        return [*(name for name in self.expression.groupindex if name not in HELPERS), *self.set_]


def compile_pattern(text: str) -> re.Pattern[str]:
    """A map's pattern, ready to be used; what Python may read otherwise one day is none of the user's business."""
    with warnings.catch_warnings(action="ignore"):
        return re.compile(text, re.IGNORECASE)


def make_cutter(pattern: PatternMap, place: str, problems: list[Problem]) -> Cutter | None:
    """A pattern ready for use; what is wrong with it goes to ``problems``."""
    try:
        expression = compile_pattern(pattern.match)
    except (re.error, RecursionError, OverflowError) as error:
        problems.append(Problem("a regular expression", column=place, found=pattern.match, cure=str(error)))
        return None
    return Cutter(expression, pattern.set_)


@dataclass(slots=True)
class Filled:
    """The fields of one row as they are being filled."""

    cells: dict[str, object] = field(default_factory=dict)

    def put(self, name: str, value: object) -> None:
        """Fill a field; a second, different value for it spoils it."""
        before = self.cells.get(name)
        if before is None or before == value or isinstance(value, BadCell):
            self.cells[name] = value
        elif name == NOTES:
            self.cells[name] = f"{before}; {value}"
        elif not isinstance(before, BadCell):
            cure = "map one of the columns only"
            self.cells[name] = BadCell(f"{before} and {value}", f"one value for {name}", cure)


@dataclass(frozen=True, slots=True)
class CellMap:
    """What one column of a list fills, for one family."""

    header: str
    whole: str | None
    patterns: Sequence[Cutter]
    find: Sequence[Cutter]
    rest: str | None
    columns: Mapping[str, Column]
    unknown: frozenset[str]
    words: Mapping[str, Mapping[str, str | None]]

    @property
    def fields(self) -> list[str]:
        """Every field that this column can fill."""
        cut = [name for cutter in (*self.patterns, *self.find) for name in cutter.fields]
        return [*filter(None, [self.whole]), *cut, *filter(None, [self.rest])]

    def fill(self, cell: object, filled: Filled) -> None:
        """Fill the fields that a cell speaks of."""
        if isinstance(cell, BadCell):
            filled.put(self.fields[0], cell)
            return
        text = "" if cell is None else str(cell).strip()
        if not text or self.is_unknown(text):
            return
        if self.whole:
            filled.put(self.whole, self.ours(self.whole, text))
        plain = " ".join(text.translate(TYPOGRAPHY).split())
        if self.patterns and not any(self._cut(cutter, plain, filled) for cutter in self.patterns):
            filled.put(self.fields[0], self._unmatched(text))
        if self.find:
            self._search(plain, filled)

    def _cut(self, cutter: Cutter, text: str, filled: Filled) -> bool:
        match = cutter.expression.fullmatch(text)
        if match:
            self._take(cutter, match, filled)
        return match is not None

    def _search(self, text: str, filled: Filled) -> None:
        left = text
        for cutter in self.find:
            if match := cutter.expression.search(left):
                self._take(cutter, match, filled)
                left = f"{left[: match.start()]} {left[match.end() :]}"
        left = left.strip(" ,;|")
        if self.whole or not LEFT_OVER.search(left):
            return
        if self.rest:
            filled.put(self.rest, self.ours(self.rest, left))
        else:
            cure = "add to the map what these words mean, or a field for the rest"
            filled.put(self.fields[0], BadCell(left, "nothing beyond what the map finds in this cell", cure))

    def _take(self, cutter: Cutter, match: re.Match[str], filled: Filled) -> None:
        groups = {name: text.strip() for name, text in match.groupdict().items() if text}
        unit, times = groups.pop(UNIT_GROUP, None), groups.pop(TIMES_GROUP, None)
        for name, text in groups.items():
            if not self.is_unknown(text):
                filled.put(name, self._group(name, text, unit, times))
        for name, value in cutter.set_.items():
            filled.put(name, value)

    def _group(self, name: str, text: str, unit: str | None, times: str | None) -> object:
        if name == NOTES:
            return f"{self.header}: {text}"
        kind = self.columns[name].kind
        value = self.ours(name, text)
        if times and isinstance(kind, FigureKind | CountKind):
            value = _multiplied(value, times)
        if unit and isinstance(kind, FigureKind) and isinstance(value, str) and BARE.fullmatch(value):
            spelled = unit_spelled(unit)
            return f"{value} {unit}" if spelled in known_units(kind.unit) else value
        return value

    def is_unknown(self, text: str) -> bool:
        """Whether the text says that nothing is known."""
        return text.casefold() in self.unknown

    def ours(self, name: str, text: str) -> object:
        """The supplier's word as ours; any other text as it is."""
        words = self.words.get(name)
        if not words:
            return text
        if name in self.columns and isinstance(self.columns[name].kind, WordsKind):
            return "; ".join(str(_ours(words, piece)) for piece in re.split(r"[;,|]", text) if piece.strip())
        return _ours(words, text)

    def _unmatched(self, text: str) -> BadCell:
        name = self.fields[0]
        try:
            self.columns[name].kind.read(text)
        except FieldError as error:
            return BadCell(text, error.expected, error.cure)
        return BadCell(text, f"text that a pattern of the map matches, for {name}", "add a pattern to the map")


def _ours(words: Mapping[str, str | None], text: str) -> object:
    return words.get(text.strip().casefold(), text.strip())


def _multiplied(value: object, times: str) -> object:
    try:
        return f"{Decimal(str(value).replace(',', '.')) * Decimal(times):f}"
    except InvalidOperation:
        return BadCell(f"{times} x {value}", "a plain number to multiply", "mend the map's pattern")


def make_cell_map(
    header: str,
    column: ColumnMap,
    columns: Mapping[str, Column],
    unknown: frozenset[str],
    words: Mapping[str, Mapping[str, str | None]],
    problems: list[Problem],
) -> CellMap:
    """A column's map ready for use; what is wrong with it goes to ``problems``."""
    patterns, find = (
        [cutter for cutter in (make_cutter(one, header, problems) for one in many) if cutter]
        for many in (column.patterns, column.find)
    )
    made = CellMap(header, column.field, patterns, find, column.rest, columns, unknown, words)
    problems += _unknown_fields(made, columns)
    if not made.fields:
        problems.append(Problem("a field, patterns or find", column=header, cure="say what the column fills"))
    return made


def _unknown_fields(made: CellMap, columns: Mapping[str, Column]) -> Iterator[Problem]:
    for name in made.fields:
        if name not in columns:
            yield Problem(f"one of {', '.join(columns)}", column=made.header, found=name)
