"""Try a proposed map on the rows of its list: columns with unreadable cells are marked uncertain."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from catalog_schema.fields import field_of
from catalog_schema.parts import FAMILIES
from matcher.errors import FileRefused, Problem
from matcher.store.lists.cells import read_cell
from matcher.store.lists.listing import BadCell, encode_cell
from matcher.store.mapping.cell_roles import ANY_CURRENCY
from matcher.store.mapping.column_units import CANDIDATES
from matcher.store.mapping.kept_maps import parse_map
from matcher.store.mapping.list_tables import ListTable
from matcher.store.mapping.proposals import LEFT_OUT, ListQuestion, Proposal
from matcher.store.mapping.row_maps import FamilyRows, MappedRows

Found = dict[tuple[str, str], list[str]]
"""Unreadable cells by word of the family column and header."""


def try_map(proposal: Proposal, table: ListTable, path: Path, most: int) -> None:
    """Read rows by a proposed map: mark columns with unreadable cells as uncertain, and ask about mixed units."""
    rows = table.rows[:most]
    mapped = MappedRows(parse_map(json.dumps(proposal.map), str(path)), table.headers, str(path))
    try:
        mapped.settle_units(lambda place: Counter(row[place] for row in table.rows if row[place]))
    except FileRefused as refused:
        for problem in refused.problems:
            _ask_unit(proposal, problem, mapped, table)
        return
    for (word, header), cells in _unreadable(mapped, rows, table.sections).items():
        says = f"{len(cells)} of {len(rows)} rows cannot be read, such as {cells[0]!r}"
        places = [place for place, remark in enumerate(proposal.remarks) if remark.about.endswith(header)]
        about = proposal.remarks[places[0]].about if places else f"{word}: {header}" if word else header
        proposal.remark(about, says, sure=False)


def _ask_unit(proposal: Proposal, problem: Problem, mapped: MappedRows, table: ListTable) -> None:
    """Ask for the unit of a column's bare numbers."""
    for rows in mapped.families:
        for place, cell in rows.cells:
            name = next((one for one in cell.fields if field_of(FAMILIES[rows.family], one)), None)
            if table.headers[place] != problem.column or name is None:
                continue
            unit = cell.columns[name].unit
            options = tuple(f"{name} ({one})" for one in CANDIDATES.get(unit, (unit,)))
            samples = (problem.found,)
            says = "which unit are its bare numbers in?"
            _forget(proposal.map, problem.column)
            if not any(one.about == problem.column for one in proposal.questions):
                asks = ListQuestion(problem.column, "--column", says, (*options, LEFT_OUT), len(table.rows), samples)
                proposal.questions.append(asks)


def _forget(document: dict[str, Any], header: str) -> None:
    """Take a column out of a map until its question is answered."""
    for entry in (document, *document.get("families", {}).values()):
        for kind in ("fields", "columns"):
            entry.get(kind, {}).pop(header, None)
    document["ignore"] = list(dict.fromkeys([*document.get("ignore", ()), header]))


def _unreadable(mapped: MappedRows, rows: Sequence[Sequence[str]], sections: Sequence[str]) -> Found:
    found: Found = defaultdict(list)
    for row, section in zip(rows, sections, strict=False):
        mapped.section = section
        family = mapped.family_of(row)
        if isinstance(family, BadCell) or mapped.skips(row):
            continue
        for target, cell in zip(family.targets, family.read(row), strict=True):
            read = read_cell(target, encode_cell(cell), ANY_CURRENCY)
            if read.fault is not None and cell not in (None, ""):
                found[family.word, _header_of(family, target.column.name)].append(read.fault.found)
    return found


def _header_of(family: FamilyRows, name: str) -> str:
    return next((cell.header for _, cell in family.cells if name in cell.fields), name)
