"""Convert one cell of a supplier's list to fields, by its map."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from catalog_schema.agreements import BESIDE
from catalog_schema.columns import TableColumn, family_columns
from catalog_schema.figures import read_number, unit_of_field
from catalog_schema.kinds import CountKind, FigureKind, MoneyKind, WordsKind
from catalog_schema.maps import TIMES, ColumnMap, TemplateMap
from catalog_schema.notation import one_reading, write_number
from catalog_schema.problems import FieldError
from catalog_schema.units import TYPOGRAPHY, known_units, unit_spelled
from matcher.errors import Problem
from matcher.store.lists.listing import BadCell
from matcher.store.mapping.templates import Match, Template, make_template

BARE = re.compile(r".*[\d⁄/.]")
BARE_AMOUNT = re.compile(r"[\d.,' ]*\d(?:[.,]-+)?")
LEFT_OVER = re.compile(r"\w")
NOTES = "notes"


@cache
def mapped_columns(family: str) -> Mapping[str, TableColumn]:
    """Return the fields that a map can fill: a family's, and figures that are only compared with them."""
    beside = [TableColumn(name, FigureKind(unit_of_field(name) or "n"), False, None) for name in BESIDE]
    return {column.name: column for column in (*family_columns(family), *beside)}


@dataclass(frozen=True, slots=True)
class Cutter:
    """One compiled template."""

    template: Template
    set_: Mapping[str, str | None]

    @property
    def fields(self) -> list[str]:
        """Return the fields that a match can fill."""
        counted = [NOTES] if self.template.counts else []
        return [*self.template.names, *self.set_, *counted]


@dataclass(slots=True)
class RowFields:
    """The fields of one row while it is being read."""

    cells: dict[str, object] = field(default_factory=dict)

    def put(self, name: str, value: object) -> None:
        """Fill a field; a second, different value makes it bad."""
        before = self.cells.get(name)
        if before is None or before == value or isinstance(value, BadCell):
            self.cells[name] = value
        elif name == NOTES:
            self.cells[name] = f"{before}; {value}"
        elif not isinstance(before, BadCell):
            fix = "map one of the columns only"
            self.cells[name] = BadCell(f"{before} and {value}", f"one value for {name}", fix)


@dataclass(frozen=True, slots=True)
class CellMap:
    """The map of one column, for one family."""

    header: str
    whole: str | None
    templates: Sequence[Cutter]
    find: Sequence[Cutter]
    rest: str | None
    columns: Mapping[str, TableColumn]
    unknown: frozenset[str]
    unit: str | None
    """The unit of bare numbers, or the currency of bare amounts, from map, header or most cells."""
    words: Mapping[str, Mapping[str, str | None]]

    @property
    def fields(self) -> list[str]:
        """Return every field that this column can fill."""
        cut = [name for cutter in (*self.templates, *self.find) for name in cutter.fields]
        return [*filter(None, [self.whole]), *cut, *filter(None, [self.rest])]

    def fill(self, cell: object, filled: RowFields) -> None:
        """Fill the fields of a cell."""
        if isinstance(cell, BadCell):
            filled.put(self.fields[0], cell)
            return
        text = "" if cell is None else cell.strip() if isinstance(cell, str) else one_reading(str(cell))
        if not text or self.is_unknown(text):
            return
        if self.whole:
            filled.put(self.whole, self._in_unit(self.whole, self.ours(self.whole, text), self.unit))
        plain = " ".join(text.translate(TYPOGRAPHY).split())
        if self.templates and not any(self._cut(cutter, plain, filled) for cutter in self.templates):
            filled.put(self.fields[0], self._unmatched(text))
        if self.find:
            self._search(plain, filled)

    def _cut(self, cutter: Cutter, text: str, filled: RowFields) -> bool:
        match = cutter.template.matches(text)
        if match:
            self._take(cutter, match, text, filled)
        return match is not None

    def _search(self, text: str, filled: RowFields) -> None:
        left = text
        for cutter in self.find:
            if match := cutter.template.find(left):
                self._take(cutter, match, left, filled)
                left = f"{left[: match.start]} {left[match.end :]}"
        left = left.strip(" ,;|")
        if self.whole or not LEFT_OVER.search(left):
            return
        if self.rest:
            filled.put(self.rest, self.ours(self.rest, left))
        else:
            fix = "add to the map what these words mean, or a field for the rest"
            filled.put(self.fields[0], BadCell(left, "nothing beyond what the map finds in this cell", fix))

    def _take(self, cutter: Cutter, match: Match, cell: str, filled: RowFields) -> None:
        texts = [(name, text) for name, text in match.texts if text and not self.is_unknown(text)]
        times = dict(texts).get(TIMES)
        units = self._units(dict(texts), match.units)
        for name, text in texts:
            if name in self.columns:
                filled.put(name, self._figure(name, text, units.get(name), times))
        if times:
            filled.put(NOTES, f"{self.header}: {cell[match.start : match.end].strip()}")
        for name, value in cutter.set_.items():
            filled.put(name, value)

    def _units(self, texts: Mapping[str, str], stated: Mapping[str, str]) -> dict[str, str]:
        """Return the unit of each bare figure of a match: that of the next figure with one, else of the last."""
        found: dict[str, str] = {}
        own = {name: stated.get(name) or self._own_unit(name, text) for name, text in texts.items()}
        figures = [name for name in texts if self._is_figure(name)]
        for order in (list(reversed(figures)), figures):
            last = None
            for name in order:
                last = own[name] or last
                if last in known_units(self._unit_of(name)):
                    found.setdefault(name, last or "")
        return found

    def _is_figure(self, name: str) -> bool:
        return name in self.columns and isinstance(self.columns[name].kind, FigureKind)

    def _unit_of(self, name: str) -> str:
        return self.columns[name].unit or "n"

    def _own_unit(self, name: str, text: str) -> str | None:
        return unit_spelled(re.sub(r"^.*\d ?", "", text)) if self._is_figure(name) else None

    def _figure(self, name: str, text: str, unit: str | None, times: str | None) -> object:
        if name == NOTES:
            return f"{self.header}: {text}"
        kind = self.columns[name].kind
        if self._unit_of(name) == "hz":
            text = re.sub(r"(?i)(?<=\d)k ?(hz)?$", " kHz", text)
        value = self.ours(name, text)
        if times and isinstance(kind, FigureKind | CountKind):
            value = _multiplied(value, times)
        return self._in_unit(name, value, unit or self.unit)

    def _in_unit(self, name: str, value: object, unit: str | None) -> object:
        """Return a bare number with its unit."""
        if unit and isinstance(value, str) and isinstance(self.columns[name].kind, MoneyKind):
            return f"{value} {unit}" if BARE_AMOUNT.fullmatch(value) else value
        if unit is None or not isinstance(value, str) or not self._is_figure(name) or not BARE.fullmatch(value):
            return value
        return f"{value} {unit}" if unit in known_units(self._unit_of(name)) else value

    def is_unknown(self, text: str) -> bool:
        """Whether the text is a word for unknown."""
        return text.casefold() in self.unknown

    def ours(self, name: str, text: str) -> object:
        """Return our word for the supplier's; any other text as it is."""
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
            return BadCell(text, error.expected, error.fix)
        return BadCell(text, f"text that a template of the map matches, for {name}", "add a template to the map")


def _ours(words: Mapping[str, str | None], text: str) -> object:
    return words.get(text.strip().casefold(), text.strip())


def _multiplied(value: object, times: str) -> object:
    """Return a number, with the text after it, multiplied."""
    number = re.match(r"\d+(?:[.,]\d+)?(?![.,\d])", str(value))
    try:
        read, count = read_number(number[0] if number else value, "n"), read_number(times, "n")
    except FieldError as error:
        return BadCell(f"{times} x {value}", "a plain number to multiply", error.fix if error.alternatives else MEND)
    if number is None or read is None or count is None:
        return BadCell(f"{times} x {value}", "a plain number to multiply", MEND)
    return f"{write_number(read * count)}{str(value)[number.end() :]}"


MEND = "mend the map's template"


def make_cell_map(
    header: str,
    column: ColumnMap,
    columns: Mapping[str, TableColumn],
    unknown: frozenset[str],
    words: Mapping[str, Mapping[str, str | None]],
    problems: list[Problem],
    unit: str | None = None,
) -> CellMap:
    """Compile a column's map; its faults go to ``problems``."""
    known = {"": sorted(unknown)} | {name: list(own) for name, own in words.items()}
    templates, find = (
        [cutter for cutter in (_make_cutter(one, columns, known, header, problems) for one in many) if cutter]
        for many in (column.templates, column.find)
    )
    made = CellMap(header, column.field, templates, find, column.rest, columns, unknown, unit, words)
    problems += _unknown_fields(made, columns)
    if not made.fields:
        problems.append(Problem("a field, templates or find", column=header, fix="say what the column fills"))
    return made


def _make_cutter(
    one: TemplateMap,
    columns: Mapping[str, TableColumn],
    words: Mapping[str, Sequence[str]],
    header: str,
    problems: list[Problem],
) -> Cutter | None:
    try:
        return Cutter(make_template(one.template, columns, words), one.set_)
    except ValueError as error:
        problems.append(Problem("a template", column=header, found=one.template, fix=str(error)))
        return None


def _unknown_fields(made: CellMap, columns: Mapping[str, TableColumn]) -> Iterator[Problem]:
    for name in made.fields:
        if name not in columns:
            yield Problem(f"one of {', '.join(columns)}", column=made.header, found=name)
