"""A proposed map: remarks on how a list was understood, and open questions."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from catalog_schema.agreements import BESIDE
from catalog_schema.figure_labels import field_label
from catalog_schema.maps import ANY, TIMES
from catalog_schema.parts import FAMILIES
from matcher.store.mapping.templates import template_words

LEFT_OUT = "-"
"""The answer to skip a column."""


@dataclass(frozen=True, slots=True)
class Remark:
    """A remark on one thing in the list."""

    about: str
    says: str
    sure: bool


@dataclass(frozen=True, slots=True)
class ListQuestion:
    """A question that has to be answered before the list is loaded."""

    about: str
    """The header of a column, a word in the column of kinds, or a sheet."""
    flag: str
    """The option that answers it: ``--column``, ``--kind`` or ``--family``."""
    says: str
    options: tuple[str, ...]
    """Possible answers, likeliest first."""
    cells: int
    """Number of cells that depend on it."""
    samples: tuple[str, ...] = ()

    def answers(self) -> list[str]:
        """Return each answer as typed on the command line."""
        about = "" if self.flag == "--family" else f"{self.about}="
        return [f"{self.flag} '{about}{option}'" for option in self.options]


@dataclass(slots=True)
class Proposal:
    """A map, with remarks to check and questions to answer."""

    map: dict[str, Any]
    remarks: list[Remark] = field(default_factory=list)
    questions: list[ListQuestion] = field(default_factory=list)
    lacking: dict[str, list[str]] = field(default_factory=dict)
    """Required fields that no column can fill, by family."""

    def remark(self, about: str, says: str, *, sure: bool) -> None:
        """Add a remark."""
        if Remark(about, says, sure) not in self.remarks:
            self.remarks.append(Remark(about, says, sure))


def label(family: str, name: str) -> str:
    """Return a field's label."""
    return field_label(name, (FAMILIES[family].__name__, "Part"))


def names_in(entry: dict[str, Any]) -> list[str]:
    """Return every field that a map's entry for a column can fill."""
    found = [entry["field"]] if entry.get("field") else []
    for one in (*entry.get("templates", ()), *entry.get("find", ())):
        found += sorted(template_words(one["template"]) - {ANY, TIMES, *BESIDE}, key=one["template"].index)
        found += list(one.get("set", ()))
    return list(dict.fromkeys([*found, *([entry["rest"]] if entry.get("rest") else [])]))
