"""A map as it is proposed: remarks on what was understood, and questions about what a list does not tell."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from catalog_schema.agreements import BESIDE
from catalog_schema.fields import field_of
from catalog_schema.maps import ANY, TIMES
from catalog_schema.parts import FAMILIES
from matcher.store.mapping.templates import template_words

LEFT_OUT = "-"
"""The answer that a column is not to be read."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Proposal for one thing in the list."""

    about: str
    says: str
    sure: bool


@dataclass(frozen=True, slots=True)
class ListQuestion:
    """Question about something a list does not state: to be answered before it is loaded."""

    about: str
    """The header of a column, a word of the column of kinds, or a sheet."""
    flag: str
    """The option that answers it: ``--column``, ``--kind`` or ``--family``."""
    says: str
    options: tuple[str, ...]
    """Possible answers, the likeliest first."""
    cells: int
    """Number of cells that depend on it."""
    samples: tuple[str, ...] = ()

    def answers(self) -> list[str]:
        """Each answer as it is given on the command line."""
        about = "" if self.flag == "--family" else f"{self.about}="
        return [f"{self.flag} '{about}{option}'" for option in self.options]


@dataclass(slots=True)
class Proposal:
    """A map, what to look at before it is used, and what has to be answered."""

    map: dict[str, Any]
    remarks: list[Remark] = field(default_factory=list)
    questions: list[ListQuestion] = field(default_factory=list)
    lacking: dict[str, list[str]] = field(default_factory=dict)
    """For each family the fields that every part has, and no column can fill."""

    def remark(self, about: str, says: str, *, sure: bool) -> None:
        """Add a remark."""
        if Remark(about, says, sure) not in self.remarks:
            self.remarks.append(Remark(about, says, sure))


def label(family: str, name: str) -> str:
    """A field as people call it."""
    known = field_of(FAMILIES[family], name)
    return known.label if known else name.replace("_", " ")


def names_in(entry: dict[str, Any]) -> list[str]:
    """Every field that a map's entry for a column can fill."""
    found = [entry["field"]] if entry.get("field") else []
    for one in (*entry.get("templates", ()), *entry.get("find", ())):
        found += sorted(template_words(one["template"]) - {ANY, TIMES, *BESIDE}, key=one["template"].index)
        found += list(one.get("set", ()))
    return list(dict.fromkeys([*found, *([entry["rest"]] if entry.get("rest") else [])]))
