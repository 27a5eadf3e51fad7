"""Convert one row of a supplier's list to canonical fields, by its map."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from decimal import Decimal

from catalog_schema.agreements import ALL_CHANNELS, BESIDE, disagreements
from catalog_schema.columns import TableColumn
from catalog_schema.doubts import CHECK_BOTH, number_of
from catalog_schema.figures import split_header
from catalog_schema.kinds import FigureKind, MoneyKind
from catalog_schema.maps import SECTION, ColumnMap, FamilyMap, ListMap
from catalog_schema.money import currency_in_header
from catalog_schema.notation import EITHER, Notation, one_reading
from catalog_schema.parts import FAMILIES
from catalog_schema.problems import FieldError
from matcher.errors import FileRefused, Problem
from matcher.store.lists.headers import Target, field_target
from matcher.store.lists.list_words import families_in
from matcher.store.lists.listing import BadCell, distinct_headers, fold
from matcher.store.lists.other_lines import begins_with, is_header_again, sub_heading
from matcher.store.mapping.cell_maps import CellMap, RowFields, make_cell_map, mapped_columns
from matcher.store.mapping.column_units import bare_unit, header_unit


@dataclass(frozen=True, slots=True)
class FamilyRows:
    """Reader for the rows of one word of the family column, or of the whole list."""

    word: str
    """The word in the family column, normalized by `fold`; empty if the list has no such column."""
    family: str
    cells: Sequence[tuple[int, CellMap]]
    constants: Mapping[str, str | None]
    told: Sequence[str]
    """Fields derived from a row's other figures."""
    targets: Sequence[Target]
    price_per: str
    notation: Notation
    """The shop's currency; the list's number format is not known yet."""

    @property
    def form(self) -> tuple[str, ...]:
        """Its family and fields in order: rows of the same form are read together."""
        return (self.family, *(target.column.name for target in self.targets))

    def read(self, row: Sequence[object]) -> list[object]:
        """Return the cells of a canonical row, one per target."""
        filled = RowFields()
        for position, cell_map in self.cells:
            cell_map.fill(row[position] if position < len(row) else None, filled)
        for name, value in self.constants.items():
            filled.cells.setdefault(name, value)
        for name in self.told:
            if not filled.cells.get(name) and name in DERIVED:
                filled.cells[name] = DERIVED[name](filled.cells)
        if (filled.cells.get("full_channels"), filled.cells.get("bass_channels")) == ("0", "1"):
            for full, bass in BASS_OF_ONE.items():
                if filled.cells.get(bass) is None:
                    filled.cells[bass] = filled.cells.pop(full, None)
        _compare_beside(self.family, filled)
        if self.price_per == "piece":
            _price_a_pack(filled, self.notation)
        return [filled.cells.get(target.column.name) for target in self.targets]


def _shape_of_hole(cells: Mapping[str, object]) -> str | None:
    """Return the shape from the dimensions of the hole, or from a nominal size such as 6x9."""
    sides = [cells.get("cutout_w_mm"), cells.get("cutout_h_mm")]
    if any(isinstance(side, BadCell) for side in sides):
        return None
    if sides[0]:
        return "oval" if sides[1] and sides[1] != sides[0] else "round"
    size = str(cells.get("size") or "")
    return ("oval" if re.search(r"\d\W*[x×]", size) else "round") if size else None


def _size_of_hole(cells: Mapping[str, object]) -> str | None:
    """Return the size of a loudspeaker without a nominal one, from its hole."""
    sides = [side for name in ("cutout_w_mm", "cutout_h_mm") if (side := cells.get(name))]
    if not sides or any(isinstance(side, BadCell) for side in sides):
        return None
    text = " x ".join(map(str, sides))
    return text if re.search(r"[^\W\d]|\"", text.replace(" x ", "")) else f"{text} mm"


def _bass_channels(cells: Mapping[str, object]) -> str | None:
    """Return one bass channel if the amplifier's row has a bass power."""
    if cells.get(ALL_CHANNELS) is None:
        return None
    return str(int(any(cells.get(f"bass_w_{load}ohm") for load in (4, 2, 1))))


def _full_channels(cells: Mapping[str, object]) -> object:
    """Return the number of an amplifier's full-range channels."""
    every, bass = cells.get(ALL_CHANNELS), _bass_channels(cells)
    return str(int(every) - int(bass or 0)) if isinstance(every, str) and every.isdigit() else every


DERIVED: dict[str, Callable[[Mapping[str, object]], object]] = {
    "shape": _shape_of_hole,
    "size": _size_of_hole,
    "bass_channels": _bass_channels,
    "full_channels": _full_channels,
}
"""Fields derived from a row's other figures."""


BASS_OF_ONE = {"full_w_4ohm": "bass_w_4ohm", "full_w_2ohm": "bass_w_2ohm", "full_min_ohm": "bass_min_ohm"}
"""Full-range fields and the bass fields they belong to if an amplifier's only channel is for bass."""


def _compare_beside(family: str, filled: RowFields) -> None:
    """Compare a list's additional figures with the family's own."""
    beside = {name: filled.cells.pop(name, None) for name in BESIDE}
    if not any(beside.values()):
        return
    columns = mapped_columns(family)
    numbers = {}
    for name, cell in (filled.cells | beside).items():
        if name in columns and isinstance(columns[name].kind, FigureKind):
            with suppress(FieldError):
                numbers[name] = number_of(columns[name].kind.read(cell))
    known = {name: number for name, number in numbers.items() if number is not None}
    for one in disagreements(family, known, {}):
        if beside.keys() & set(one.names):
            place = next(name for name in one.names if name not in BESIDE)
            filled.cells[place] = BadCell(one.found, f"figures that agree: {one.reason}", CHECK_BOTH)


def _price_a_pack(filled: RowFields, notation: Notation) -> None:
    """Turn a price per piece into the pack's; a value that cannot be read is reported when the field is read."""
    try:
        price = MoneyKind().read(filled.cells.get("price"), notation)
        count = int(str(filled.cells.get("pack_of") or 1))
    except FieldError as error:
        if error.alternatives:  # the field's reader may resolve the ambiguity, but not that it is a price per piece
            filled.cells["price"] = BadCell(error.found, error.expected, error.fix)
        return
    except ValueError:
        return
    if isinstance(price, Decimal):
        filled.cells["price"] = one_reading(str(price * count))


class MappedRows:
    """A map compiled for the headers of one list."""

    def __init__(self, document: ListMap, headers: Sequence[str], file: str, notation: Notation = EITHER) -> None:
        problems: list[Problem] = []
        self.document = document
        headers = distinct_headers(headers)
        self._headers = [fold(header) for header in headers]
        self._places = {header: position for position, header in enumerate(self._headers) if header}
        self.section = ""
        own = [word for word in document.families if document.family_within and word not in FAMILIES]
        self._has_sections = document.family_column == SECTION or bool(own)
        self._unknown = frozenset(word.casefold() for word in document.unknown or ())
        self.warnings: list[str] = []
        self._file, self._notation = file, replace(notation, mark="either")
        problems += self._unmapped(headers, file)
        by_section = document.family_column == SECTION
        self.family_place = None if by_section else self._needed(document.family_column, problems)
        self._skips = [(rule, self._needed(rule.column, problems)) for rule in document.skip]
        self._by_word = {
            word: self._family(word, family_map, problems) for word, family_map in _families(document).items()
        }
        if problems:
            name = document.name
            raise FileRefused(
                f"the map {name} does not go with {file}; nothing of it was taken",
                fix="mend the map, or let the tool propose one: boltback catalog map FILE",
                problems=_once(problems),
            )

    @property
    def families(self) -> list[FamilyRows]:
        """Return the reader for each word of the family column; two words may share a family."""
        return list(self._by_word.values())

    def skips(self, row: Sequence[object]) -> str | None:
        """Return the kind of a line that is not a part."""
        texts = [_text(cell) for cell in row]
        first = next(filter(None, texts), "")
        if not first:
            return "blank"
        for rule, place in self._skips:
            if begins_with(first if place is None else texts[place] if place < len(texts) else "", rule.starts):
                return rule.what
        if fold(first) in self._headers and is_header_again(texts, self._headers):
            return "header"
        if self._has_sections and (text := sub_heading(texts)):
            self.section = text
            return "sub-heading"
        return None

    def settle_units(self, texts: Callable[[int], Mapping[str, int]]) -> None:
        """Find the unit of bare numbers in columns without one in header or map.

        Parameters
        ----------
        texts
            Gives the texts of a column, by its position, with their counts.

        Raises
        ------
        FileRefused
            with every column that mixes units.
        """
        problems: list[Problem] = []
        for word, rows in self._by_word.items():
            cells = [(place, self._settled(cell, place, rows.family, texts, problems)) for place, cell in rows.cells]
            self._by_word[word] = replace(rows, cells=cells)
        if problems:
            raise FileRefused(
                f"{self._file} has columns whose bare numbers could be of several units; nothing of it was taken",
                problems=_once(problems),
            )

    def _settled(
        self,
        cell: CellMap,
        place: int,
        family: str,
        texts: Callable[[int], Mapping[str, int]],
        problems: list[Problem],
    ) -> CellMap:
        name = next((name for name in cell.fields if isinstance(cell.columns[name].kind, FigureKind)), None)
        if cell.unit is not None or name is None or cell.find:
            return cell
        known = {text: count for text, count in texts(place).items() if not cell.is_unknown(text)}
        unit = bare_unit(cell.header, family, name, known)
        if isinstance(unit, Problem):
            problems.append(unit)
        elif unit is not None:
            self.warnings.append(f"{self._file}: bare numbers of {cell.header!r} were read in {unit}")
            return replace(cell, unit=unit)
        return cell

    def family_of(self, row: Sequence[object]) -> FamilyRows | BadCell:
        """Return the reader of a row's family; the bad cell if there is none."""
        if self.family_place is None and not self._has_sections:
            return self._by_word[""]
        place = self.family_place
        word = self.section if place is None else _text(row[place]) if place < len(row) else ""
        named = families_in(word, head=True) if self.document.family_within else []
        section = fold(self.section) if self.document.family_within else ""
        found = self._by_word.get(named[0] if len(named) == 1 else fold(word)) or self._by_word.get(section)
        if found is not None:
            return found
        known = ", ".join(self.document.families)
        return BadCell(word, f"a family this map knows: {known}", "add the word to the map, or a rule to skip it")

    def _unmapped(self, headers: Sequence[str], file: str) -> Iterable[Problem]:
        mapped = {fold(name) for name in (*mapped_headers(self.document), *(self.document.ignore or ()))}
        for header in headers:
            if header and fold(header) not in mapped:
                yield Problem(
                    "a header that the map knows",
                    file=file,
                    column=header,
                    found=header,
                    fix="add it to the map's fields or columns, or to ignore",
                )

    def _needed(self, header: str | None, problems: list[Problem]) -> int | None:
        if header is None:
            return None
        place = self._places.get(fold(header))
        if place is None:
            problems.append(Problem("a header of the list", column=header, found=header))
        return place

    def _missing(self, made: CellMap, columns: Mapping[str, TableColumn], problems: list[Problem]) -> None:
        """Report a mapped header that the list lacks, if its field is required."""
        if any(name in columns and columns[name].required for name in made.fields):
            problems.append(Problem("a header of the list", column=made.header, found=made.header))
        else:
            words = f"{self._file} has no column {made.header!r}: {', '.join(made.fields)} stay unknown"
            self.warnings += [words] if words not in self.warnings else []

    def _family(self, word: str, own: FamilyMap, problems: list[Problem]) -> FamilyRows:
        assert own.family is not None
        columns = mapped_columns(own.family)
        words = _words(self.document.words, own.words)
        cells = []
        for header, column_map in _column_maps(self.document, own).items():
            ready, unit = _with_unit(header, column_map, own.family, problems)
            made = make_cell_map(header, ready, columns, self._unknown, words, problems, unit)
            place = self._places.get(fold(header))
            if place is None:
                self._missing(made, columns, problems)
            else:
                cells.append((place, made))
        constants = {**self.document.constants, **own.constants}
        problems += [
            Problem(f"a field of {own.family}", column="constants", found=name)
            for name in own.constants
            if name not in columns
        ]
        usable = {name: value for name, value in constants.items() if name in columns}
        told = [name for name in dict.fromkeys([*(self.document.told or ()), *(own.told or ())]) if name in columns]
        named = dict.fromkeys([*(name for _, cell in cells for name in cell.fields), *usable, *told])
        kept = [columns[name] for name in named if name in columns and name not in BESIDE]
        targets = [Target(position, column) for position, column in enumerate(kept)]
        problems += [
            Problem(f"a column for {name}: {own.family} requires it", column="map", fix="map a column to it")
            for name, column in columns.items()
            if column.required and name not in named
        ]
        return FamilyRows(
            word, own.family, cells, usable, told, targets, self.document.price_per or "pack", self._notation
        )


def mapped_headers(document: ListMap) -> list[str]:
    """Return every header that the map reads."""
    found = [*document.fields, *document.columns]
    for own in document.families.values():
        found += [*own.fields, *own.columns]
    if document.family_column not in (None, SECTION):
        found.append(str(document.family_column))
    return list(dict.fromkeys(found))


def _families(document: ListMap) -> dict[str, FamilyMap]:
    if document.family_column is None:
        return {"": FamilyMap(family=document.family)}
    return {fold(word): own for word, own in document.families.items()}


def _column_maps(document: ListMap, own: FamilyMap) -> dict[str, ColumnMap]:
    """Return the map of each header: the family's own before the list's; a header in both has both."""
    found: dict[str, ColumnMap] = {}
    for fields, columns in ((document.fields, document.columns), (own.fields, own.columns)):
        found |= {header: ColumnMap(field=name) for header, name in fields.items()}
        found |= {
            header: replace(column, field=column.field or found.get(header, ColumnMap()).field)
            for header, column in columns.items()
        }
    return {header: column for header, column in found.items() if column != ColumnMap()}


def _with_unit(header: str, column: ColumnMap, family: str, problems: list[Problem]) -> tuple[ColumnMap, str | None]:
    """Return the column's map with the field's plain name, and the unit of bare numbers from map or header."""
    own_unit = column.unit or header_unit(header) or (currency_in_header(header) if column.templates else None)
    if column.field is None or column.field in BESIDE:
        return column, own_unit
    target = field_target(column.field, family)
    if target is None:
        problems.append(Problem(f"a field of {family}", column=header, found=column.field))
        return replace(column, field=None, rest="notes"), own_unit
    if isinstance(target.column.kind, MoneyKind):
        return replace(column, field=target.column.name), column.unit or currency_in_header(header)
    in_map = split_header(column.field)[1]
    return replace(column, field=target.column.name), in_map or own_unit


def _words(
    shared: Mapping[str, Mapping[str, str | None]], own: Mapping[str, Mapping[str, str | None]]
) -> dict[str, dict[str, str | None]]:
    names = {*shared, *own}
    return {
        name: {word.casefold(): ours for word, ours in {**shared.get(name, {}), **own.get(name, {})}.items()}
        for name in names
    }


def _text(cell: object) -> str:
    return cell.shown if isinstance(cell, BadCell) else "" if cell is None else str(cell).strip()


def _once(problems: Iterable[Problem]) -> list[Problem]:
    return list(dict.fromkeys(problems))
