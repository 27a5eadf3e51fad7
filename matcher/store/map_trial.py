"""A proposed map tried on the rows of its list: what cannot be read by it is not sure."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from matcher.errors import FileRefused
from matcher.store.cells import read_cell
from matcher.store.column_proposals import Proposal
from matcher.store.listing import BadCell, encode_cell
from matcher.store.map_store import parse_map
from matcher.store.row_maps import FamilyRows, MappedRows

Found = dict[tuple[str, str], list[str]]
"""Word of the family column and header: the cells that cannot be read."""


def try_map(proposal: Proposal, headers: Sequence[str], rows: Sequence[Sequence[str]], path: Path) -> None:
    """Read rows by a proposed map, and take back the sureness of every column with cells that cannot be read."""
    try:
        mapped = MappedRows(parse_map(json.dumps(proposal.map), str(path)), headers, str(path))
        mapped.settle_units(lambda place: Counter(row[place] for row in rows if place < len(row) and row[place]))
    except FileRefused as refused:
        for problem in refused.problems:
            proposal.remark(problem.column or "map", f"{problem.expected}; {problem.cure}".strip("; "), sure=False)
        return
    for (word, header), cells in _unreadable(mapped, rows).items():
        about = f"{word}: {header}" if word else header
        says = f"{len(cells)} of {len(rows)} rows cannot be read, such as {cells[0]!r}"
        places = [place for place, remark in enumerate(proposal.remarks) if remark.about.casefold() == about.casefold()]
        for place in places:
            remark = proposal.remarks[place]
            proposal.remarks[place] = replace(remark, sure=False)
        proposal.remark(proposal.remarks[places[0]].about if places else about, says, sure=False)


def _unreadable(mapped: MappedRows, rows: Sequence[Sequence[str]]) -> Found:
    found: Found = defaultdict(list)
    for row in rows:
        family = mapped.family_of(row)
        if isinstance(family, BadCell) or mapped.skips(row):
            continue
        for target, cell in zip(family.targets, family.read(row), strict=True):
            read = read_cell(target, encode_cell(cell))
            if read.fault is not None and cell not in (None, ""):
                found[family.word, _header_of(family, target.column.name)].append(read.fault.found)
    return found


def _header_of(family: FamilyRows, name: str) -> str:
    return next((cell.header for _, cell in family.cells if name in cell.fields), name)
