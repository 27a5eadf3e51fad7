"""Propose a map for a table of a list, with open questions."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from matcher.store.lists.list_words import ALWAYS_UNKNOWN, UNKNOWN, plain_words
from matcher.store.lists.listing import fold
from matcher.store.lists.other_lines import what_line
from matcher.store.mapping.column_proposals import FamilyProposal
from matcher.store.mapping.described import purposes
from matcher.store.mapping.family_finding import Families, find_families
from matcher.store.mapping.list_tables import ListTable
from matcher.store.mapping.proposals import Proposal
from matcher.store.mapping.trial import try_map

TRIED_ROWS = 500
"""Number of rows to try the map on."""


@dataclass(frozen=True, slots=True)
class ListAnswers:
    """Answers given about a list."""

    family: str | None = None
    """The family of all its parts."""
    columns: Mapping[str, str] = field(default_factory=dict)
    """Field by column header, with a unit in brackets; ``-`` to skip the column."""
    kinds: Mapping[str, str] = field(default_factory=dict)
    """Family by word."""


def list_name(path: Path) -> str:
    """Return a list's name as maps use it."""
    return re.sub(r"[\W_]+", "-", path.stem.casefold()).strip("-") or "list"


def propose_map(
    table: ListTable, path: Path, answers: ListAnswers, *, encoding: str | None = None, one_of: int = 1
) -> Proposal:
    """Propose a map for a table.

    Parameters
    ----------
    one_of
        Number of tables in its file.
    """
    proposal = Proposal({"name": list_name(path) if one_of == 1 else f"{list_name(path)} {table.title}"})
    if encoding:
        proposal.map["encoding"] = encoding
    if table.name and one_of > 1:
        proposal.map["sheet"] = table.name
    _remark_lines(proposal, table)
    words = Counter(cell.strip() for row in table.rows for cell in row if fold(cell) in UNKNOWN)
    proposal.map["unknown"] = sorted({*words, *ALWAYS_UNKNOWN})
    if words:
        proposal.remark("unknown", f"{', '.join(sorted(words))} say that nothing is known", sure=True)
    families = find_families(table, path, answers.family, {fold(word): one for word, one in answers.kinds.items()})
    proposal.questions += families.questions
    _propose_columns(proposal, table, families, {fold(header): one for header, one in answers.columns.items()})
    if proposal.map.get("family") or proposal.map.get("families"):
        try_map(proposal, table, path, TRIED_ROWS)
    return proposal


def _remark_lines(proposal: Proposal, table: ListTable) -> None:
    proposal.remark("file", table.written, sure=True)
    if table.layout.header_row is not None:
        proposal.remark("headers", f"the headers stand in {table.lines}", sure=table.is_sure)
    found = Counter(what for row in table.others if (what := what_line(row)))
    for what, count in found.items():
        proposal.remark("lines", f"{count} lines are no parts: {what}", sure=True)
    others = sum(what_line(row) is None for row in table.others)
    if others:
        proposal.remark("rows", f"{others} lines are no rows of parts: they will be problem rows", sure=False)


def _propose_columns(proposal: Proposal, table: ListTable, families: Families, answers: Mapping[str, str]) -> None:
    given = {
        family: [word for word, one in families.words.items() if one == family] for family in families.words.values()
    }
    made: dict[str, dict[str, Any]] = {}
    for family, words in given.items():
        places = sorted(place for word in words for place in families.rows[word])
        columns = {
            header: cells
            for header, cells in table.columns(places).items()
            if header != families.column or families.within
        }
        one = FamilyProposal(proposal, family, "" if families.column is None else f"{family}: ", answers)
        named = [set(families.constants(word)) for word in words]
        one.told += set.intersection(*named) if named else ()
        one.take(columns)
        made[family] = one.entries()
    if families.column is None:
        for family, entries in made.items():
            proposal.map |= {"family": family, **entries}
    else:
        proposal.map |= {"family_column": families.column, "families": {}}
        proposal.map |= {"family_within": True} if families.within else {}
        for word, family in families.words.items():
            constants = made[family].get("constants", {}) | families.constants(word)
            constants = _purpose(table, families.rows[word], family) | constants
            entry = {"family": family} | made[family] | ({"constants": constants} if constants else {})
            proposal.map["families"][word] = entry
    if families.words:
        proposal.remark(
            "family", f"{', '.join(dict.fromkeys(families.words.values()))}: told by {families.by}", sure=True
        )
    for word, count in list(families.strangers.items())[:5]:
        proposal.remark(word or "(blank)", f"no family goes by this: its {count} rows are problem rows", sure=False)
    used = {header for one in made.values() for kind in ("fields", "columns") for header in one.get(kind, ())}
    proposal.map["ignore"] = [header for header in table.headers if header not in used | {families.column}]


def _purpose(table: ListTable, places: list[int], family: str) -> dict[str, str]:
    """Return the adapters' purpose as a single word, if all agree."""
    if family != "adapter":
        return {}
    texts = [cell for place in places for cell in table.rows[place]]
    found = {ours for text in texts for word in plain_words(text).split() for ours in purposes(word)}
    return {"for": found.pop()} if len(found) == 1 else {}
