"""A map proposed for a list: what the tool understands of it, what it is sure of and what it is not."""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from collections.abc import Sequence
from itertools import islice
from pathlib import Path

from matcher.errors import InputError
from matcher.store.column_proposals import FamilyProposal, Proposal, role_of
from matcher.store.connection import aside
from matcher.store.encodings import page_name
from matcher.store.files import Look, look_at
from matcher.store.headers import check_family
from matcher.store.intake import read_listing
from matcher.store.list_words import ALWAYS_UNKNOWN, FAMILY_WORDS, UNKNOWN
from matcher.store.listing import Joined, Layout, fold, header_at, show_cell
from matcher.store.map_trial import try_map
from matcher.store.other_lines import what_line
from matcher.store.spreadsheets import open_sheet
from matcher.store.text_lists import open_records

__all__ = ["Proposal", "propose_map"]

FIRST_ROWS = 60
MOST_ROWS = 5_000
"""So many rows are looked at."""
TRIED_ROWS = 500
"""So many are read by way of trial."""


def propose_map(path: Path, family: str | None = None, encoding: str | None = None) -> Proposal:
    """Look at a list and propose a map for it.

    Raises
    ------
    FileRefused
        where the file cannot be read.
    InputError
        where it is of a format that needs no map, or holds no table.
    """
    family = None if family is None else check_family(family)
    look = look_at(path)
    proposal = Proposal({"name": _name(path)})
    if encoding:
        proposal.map["encoding"] = encoding
    layout = _find_header(look, proposal, encoding)
    with tempfile.TemporaryDirectory(prefix="boltback-") as folder, aside() as con:
        listing = read_listing(con, look, Path(folder), layout)
        rows = [
            [show_cell(cell) for cell in row[1:]]
            for row in con.execute(f"{listing.relation} limit {MOST_ROWS}").fetchall()
        ]
    odd = [row.cells for row in listing.broken]
    _remark_lines(proposal, rows, odd)
    parts = [row for row in rows if sum(bool(cell.strip()) for cell in row) > 1 and what_line(row) is None]
    _propose_unknown(proposal, parts)
    _propose_columns(proposal, listing.headers, parts, family, path)
    try_map(proposal, listing.headers, parts[:TRIED_ROWS], path)
    return proposal


def _name(path: Path) -> str:
    return re.sub(r"[\W_]+", "-", path.stem.casefold()).strip("-") or "list"


def _find_header(look: Look, proposal: Proposal, encoding: str | None) -> Layout:
    if look.format not in ("csv", "xlsx"):
        return Layout(encoding)  # records have their headers with them
    rows, joined = _first_rows(look, proposal, encoding)
    filled = [place for place, (_, cells) in enumerate(rows) if any(cells)]
    if not filled:
        raise InputError(f"{look.path} holds no rows", cure="save the list again")
    every = [
        header_at(rows, place, span, joined)
        for place in filled
        for span in (1, 2)
        if span == 1 or _has_tiers(rows, place)
    ]
    best = max(every, key=lambda found: (_header_score(found.headers) - found.span / 2, -found.place))
    line = rows[best.place][0]
    lines = f"line {line}" if best.span == 1 else f"lines {line} and {rows[best.place + 1][0]}"
    proposal.remark("headers", f"the headers stand in {lines}", sure=_header_score(best.headers) >= 3)
    return Layout(encoding, header_row=line, header_rows=best.span)


def _has_tiers(rows: Sequence[tuple[int, Sequence[str]]], place: int) -> bool:
    """Whether a row and the next may be two tiers: some cells stand below blank ones, and few of them are numbers."""
    upper, lower = rows[place][1], rows[place + 1][1] if place + 1 < len(rows) else []
    below = [cell for column, cell in enumerate(lower) if cell and not (column < len(upper) and upper[column])]
    numbers = sum(bool(re.fullmatch(r"\W*\d[\d.,/ ]*", cell)) for cell in lower)
    return bool(below) and numbers * 4 < sum(map(bool, lower))


def _header_score(cells: Sequence[str]) -> float:
    known = sum(role_of(cell) is not None for cell in cells)
    wordy = sum(bool(re.search(r"[^\W\d]", cell)) for cell in cells)
    return known + wordy / 100


def _first_rows(
    look: Look, proposal: Proposal, encoding: str | None
) -> tuple[list[tuple[int, list[str]]], Joined | None]:
    if look.format == "csv":
        facts, mark, records = open_records(look.path, encoding, None)
        sure = facts.encoding.startswith("utf") or encoding is not None
        proposal.remark("file", f"written in {page_name(facts.encoding)}, parted by {mark!r}", sure=sure)
        return [(one.line, [cell.strip() for cell in one.cells]) for one in islice(records, FIRST_ROWS)], None
    name, notes, warnings, rows = open_sheet(look.path, None)
    proposal.remark("file", f"sheet {name!r}", sure=not warnings)
    texts = [
        (line, [cell.strip() if isinstance(cell, str) else "" if cell is None else "0" for cell in cells])
        for line, cells in islice(rows, FIRST_ROWS)
    ]
    return texts, notes.joined


def _remark_lines(proposal: Proposal, rows: Sequence[Sequence[str]], odd: Sequence[Sequence[str]]) -> None:
    found = Counter(what for row in (*rows, *odd) if (what := what_line(row)))
    for what, count in found.items():
        proposal.remark("lines", f"{count} lines are no parts: {what}", sure=True)
    others = sum(what_line(row) is None for row in odd)
    if others:
        proposal.remark("rows", f"{others} lines lack a cell for a header: they will be problem rows", sure=False)


def _propose_unknown(proposal: Proposal, rows: Sequence[Sequence[str]]) -> None:
    words = Counter(cell.strip() for row in rows for cell in row if fold(cell) in UNKNOWN)
    proposal.map["unknown"] = sorted({*words, *ALWAYS_UNKNOWN})
    if words:
        proposal.remark("unknown", f"{', '.join(sorted(words))} say that nothing is known", sure=True)


def _propose_columns(
    proposal: Proposal, headers: Sequence[str], rows: Sequence[Sequence[str]], family: str | None, path: Path
) -> None:
    columns = {header: [row[i].strip() for row in rows if i < len(row)] for i, header in enumerate(headers) if header}
    by_column = None if family else _family_column(columns)
    if by_column is not None:
        _propose_families(proposal, columns, *by_column)
        return
    found = family or _family_by_words(path, headers, columns)
    if found is None:
        raise InputError(f"{path} does not tell what family its parts are", cure="add --family")
    proposal.map["family"] = found
    proposal.remark("family", found, sure=family is not None)
    one = FamilyProposal(proposal, found, "")
    one.take(columns)
    proposal.map |= one.entries()
    proposal.map["ignore"] = one.ignored


def _propose_families(proposal: Proposal, columns: dict[str, list[str]], by: str, families: dict[str, str]) -> None:
    proposal.map |= {"family_column": by, "families": {}}
    strangers = sorted({word for word in columns[by] if word and word not in families})
    proposal.remark(by, "tells the family", sure=True)
    if strangers:
        proposal.remark(by, f"{', '.join(strangers)}: no family goes by this; such rows are problem rows", sure=False)
    for word, family in families.items():
        ours = [place for place, cell in enumerate(columns[by]) if fold(cell) == fold(word)]
        one = FamilyProposal(proposal, family, f"{word}: ")
        one.take({header: [cells[place] for place in ours] for header, cells in columns.items() if header != by})
        proposal.map["families"][word] = {"family": family} | one.entries()


def _family_column(columns: dict[str, list[str]]) -> tuple[str, dict[str, str]] | None:
    for header, cells in columns.items():
        words = Counter(cell for cell in cells if cell)
        known = {word: family for word in words if (family := _family_of(word))}
        most = sum(words[word] for word in known) > 0.8 * sum(words.values())
        if len(words) <= 40 and len(set(known.values())) > 1 and most:
            return header, known
    return None


def _family_of(word: str) -> str | None:
    return next((family for family, names in FAMILY_WORDS.items() if fold(word) in (*names, family)), None)


def _family_by_words(path: Path, headers: Sequence[str], columns: dict[str, list[str]]) -> str | None:
    roles = {role_of(header) for header in headers}
    if roles & {"full_powers", "bass_powers", "channels", "bridged"}:
        return "amplifier"
    words = re.split(r"[\W_]+", path.stem.casefold())
    named = next((family for word in words if (family := _family_of(word))), None)
    if named or not columns:
        return named
    text = " ".join(cell for cells in columns.values() for cell in cells[:50]).casefold()
    counts = {family: sum(text.count(f" {name}") for name in names) for family, names in FAMILY_WORDS.items()}
    best = max(counts, key=lambda family: counts[family])
    return best if counts[best] else None
