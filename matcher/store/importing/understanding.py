"""Understand a supplier's list: its tables, a map for each, and the questions to answer before it is loaded.

If a kept map has the list's headers, it is used. Otherwise a map is proposed, which is kept once it was used.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from catalog_schema.documents import DocumentError
from catalog_schema.maps import FamilyMap, ListMap
from catalog_schema.money import currency_in_header, currency_of
from matcher.errors import FileRefused, InputError, ListAsks, Problem
from matcher.store.catalog.suppliers import letters_of
from matcher.store.database.opening import Store
from matcher.store.importing.intake import Order
from matcher.store.importing.report import ColumnRead, TableRead
from matcher.store.lists.files import look_at
from matcher.store.lists.headers import FAMILY_HEADER, own_families
from matcher.store.lists.listing import fold
from matcher.store.lists.reading import peek_headers
from matcher.store.mapping.kept_maps import parse_map, stored_maps
from matcher.store.mapping.list_tables import ListTable, read_tables
from matcher.store.mapping.map_proposals import ListAnswers, list_name, propose_map
from matcher.store.mapping.proposals import ListQuestion, Proposal
from matcher.store.mapping.row_maps import mapped_headers

MOST_QUESTIONS = 3
NO_ANSWERS = ListAnswers()


@dataclass(slots=True)
class UnderstoodTable:
    """One table of a list, and its map."""

    path: Path
    table: ListTable
    document: ListMap
    text: str
    """The map's text."""
    proposal: Proposal | None
    """None if a kept map has its headers."""

    def order(self, encoding: str | None, *, sure: bool, supplier: str | None) -> Order:
        """Return the order to load it."""
        encoding = encoding or self.document.encoding
        layout = replace(self.table.layout, encoding=encoding)
        return Order(self.path, None, self.document, encoding, sure, supplier, layout)

    def shown(self) -> TableRead:
        """Return how the table was read, with samples."""
        kept = self.document.name if self.proposal is None else ""
        columns = self.table.columns()
        read = {header: _fills(self.document, header) for header in self.table.headers}
        found = [
            ColumnRead(header, read[header], tuple(dict.fromkeys(filter(None, cells)))[:3])
            for header, cells in columns.items()
            if any(cells)
        ]
        remarks = [] if self.proposal is None else self.proposal.remarks
        doubts = [f"{one.about}: {one.says}" for one in remarks if not one.sure and one.about not in columns]
        family = self.document.family or ", ".join(
            dict.fromkeys(str(one.family) for one in self.document.families.values())
        )
        by = self.document.family_column or ""
        return TableRead(str(self.path), self.table.name, family, by, kept, tuple(found), tuple(doubts))


def _shares(document: ListMap) -> list[FamilyMap]:
    """Return a map's settings for all rows, then those for each word."""
    return [FamilyMap(fields=document.fields, columns=document.columns), *document.families.values()]


def _fills(document: ListMap, header: str) -> str:
    """Return the fields of a column as text; empty if it is not read."""
    found: dict[str, None] = {}
    if header == document.family_column:
        found["family"] = None
    for own in _shares(document):
        if field := own.fields.get(header):
            found[field] = None
        column = own.columns.get(header)
        if column is not None:
            cut = [*column.templates, *column.find]
            names = [name for one in cut for name in re.findall(r"\{(\w+)\}", str(one.template))]
            names += [name for one in cut for name in one.set_]
            found |= dict.fromkeys([str(column.field)] if column.field else []) | dict.fromkeys(names)
    return ", ".join(str(name) for name in found if name not in ("any", "times"))


def understand(
    store: Store, path: Path, answers: ListAnswers = NO_ANSWERS, *, encoding: str | None = None
) -> tuple[list[UnderstoodTable], list[str], list[ListQuestion]]:
    """Return the tables of a list, remarks on sheets without one, and open questions.

    Raises
    ------
    FileRefused
        if the file cannot be read.
    """
    tables, none = read_tables(look_at(path), encoding)
    notes = [f"{path}: sheet {name!r} holds no table of parts: it was not read" for name in none]
    kept = _kept_maps(store) if answers == NO_ANSWERS else []
    found, questions = [], []
    for table in tables:
        known = _known_map(table, path, kept)
        if known is not None:
            document, text = known
            document = replace(document, sheet=table.name or None)
            found.append(UnderstoodTable(path, table, document, text, None))
            continue
        proposal = propose_map(table, path, answers, encoding=encoding, one_of=len(tables))
        questions += proposal.questions
        text = json.dumps(proposal.map, ensure_ascii=False, indent=2)
        if proposal.map.get("family") or proposal.map.get("families"):
            found.append(UnderstoodTable(path, table, parse_map(text, str(path)), text, proposal))
    open_now = sorted(_once(questions), key=lambda one: -one.cells)
    count = len(answers.columns) + len(answers.kinds) + (answers.family is not None)
    remaining = open_now[: max(0, MOST_QUESTIONS - count)]
    if not found and not remaining:
        raise InputError(f"{path} does not tell what family its parts are", fix="add --family")
    if not remaining and found and all(map(_lacks_all, found)):
        raise _lacking(path, found[0])
    return found, notes, remaining


def _lacks_all(one: UnderstoodTable) -> bool:
    """Whether no row of a table can be loaded because no column has the required fields."""
    families = {one.document.family, *(own.family for own in one.document.families.values())} - {None}
    return one.proposal is not None and families <= one.proposal.lacking.keys()


def _lacking(path: Path, one: UnderstoodTable) -> FileRefused:
    named = one.proposal.lacking if one.proposal else {}
    problems = [
        Problem(f"a column for {name}: every {family} has it", path.name, fix=f"--column 'HEADER={name}' names one")
        for family, names in named.items()
        for name in names
    ]
    return FileRefused(
        f"{path} has not the columns of {', '.join(named)}; nothing of it was taken",
        fix=f"its columns are {', '.join(one.table.headers)}",
        problems=problems,
    )


def _once(questions: Iterable[ListQuestion]) -> list[ListQuestion]:
    """Merge questions about the same header of several sheets or families."""
    found: dict[tuple[str, str], ListQuestion] = {}
    for one in questions:
        met = found.get((one.flag, fold(one.about)))
        found[one.flag, fold(one.about)] = one if met is None else replace(met, cells=met.cells + one.cells)
    return list(found.values())


def _kept_maps(store: Store) -> list[tuple[ListMap, str]]:
    if not store.exists():
        return []
    with store.reading() as con:
        texts = stored_maps(con)
    found = []
    for text in texts:
        try:
            found.append((parse_map(text, "the store"), text))
        except (FileRefused, DocumentError):
            continue  # an old form, converted only when it is named
    return found


def _known_map(table: ListTable, path: Path, maps: Sequence[tuple[ListMap, str]]) -> tuple[ListMap, str] | None:
    """Return the kept map that has all headers of a table and few others, preferring maps of the same sheet.

    A map that names the maker because no column does applies to lists of its own name only.
    """
    headers = {fold(header) for header in table.headers}
    found = []
    for document, text in maps:
        mapped = {fold(header) for header in mapped_headers(document)}
        ignored = {fold(header) for header in document.ignore or ()}
        named = any("maker" in constants for constants in (document.constants, *_constants(document)))
        if (
            named
            and not document.name.startswith(list_name(path))
            and letters_of(document.name) != letters_of(path.name)
        ):
            continue
        if headers <= mapped | ignored and len(mapped & headers) * 10 >= len(mapped) * 9:
            found.append((document.sheet == (table.name or None), document, text))
    return next(((one, text) for _, one, text in sorted(found, key=lambda known: not known[0])), None)


def _constants(document: ListMap) -> list[Mapping[str, str | None]]:
    return [own.constants for own in document.families.values()]


def orders_for(
    store: Store,
    path: Path,
    answers: ListAnswers = NO_ANSWERS,
    *,
    encoding: str | None = None,
    sure: bool = False,
    supplier: str | None = None,
) -> tuple[list[Order], list[UnderstoodTable], list[str]]:
    """Return the orders to load a list of any form: directly if its headers are ours, else by maps for its tables.

    Raises
    ------
    ListAsks
        with the questions that the list leaves open.
    """
    look = look_at(path)
    headers = [] if look.format == "parquet" else peek_headers(look)
    own = own_families(headers, answers.family)
    if look.format == "parquet" or fold(FAMILY_HEADER) in map(fold, headers) or len(own) == 1:
        family = answers.family or (own[0] if len(own) == 1 and fold(FAMILY_HEADER) not in map(fold, headers) else None)
        return [Order(path, family, None, encoding, sure, supplier)], [], []
    found, notes, questions = understand(store, path, answers, encoding=encoding)
    if questions:
        raise open_questions(path, questions)
    return [one.order(encoding, sure=sure, supplier=supplier) for one in found], found, notes


def open_questions(path: Path, questions: Sequence[ListQuestion]) -> ListAsks:
    """Error for a list that leaves questions open."""
    problems = [
        Problem(one.says, path.name, None, one.about, ", ".join(one.samples), " or ".join(one.answers()))
        for one in questions
    ]
    count = "1 question is" if len(questions) == 1 else f"{len(questions)} questions are"
    return ListAsks(
        f"{count} open about {path.name}; nothing of it was loaded",
        fix="load it again with an answer to each; `boltback serve` shows the columns to choose from",
        problems=problems,
    )


def list_currency(found: Sequence[UnderstoodTable]) -> str | None:
    """Return the currency of most amounts of a list, from cells or headers; None if there is none."""
    met: Counter[str] = Counter()
    for one in found:
        for header, cells in one.table.columns().items():
            if not _is_price(one.document, header):
                continue
            columns = [own.columns.get(header) for own in _shares(one.document)]
            stated = next((own.unit for own in columns if own and own.unit), None) or currency_in_header(header)
            met.update(
                mark
                for cell in cells
                if cell and (mark := currency_of(cell) or (stated and currency_of(f"1 {stated}")))
            )
    if not met:
        return None
    most, count = met.most_common(1)[0]
    return most if count * 2 > met.total() else None


def _is_price(document: ListMap, header: str) -> bool:
    return "price" in _fills(document, header).split(", ")
