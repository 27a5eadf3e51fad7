"""Where a figure or a relation comes from: said once, shown wherever it is used."""

from __future__ import annotations

from typing import Literal, NamedTuple

Standing = Literal["published", "common practice", "from memory"]


class Source(NamedTuple):
    """The origin of a rule or a formula, and how far it can be trusted."""

    standing: Standing
    text: str = ""

    def __str__(self) -> str:
        match self.standing:
            case "published":
                return self.text
            case "common practice":
                return "common practice, no published source"
            case _:
                return f"{self.text} (from memory)"


COMMON_PRACTICE = Source("common practice")


def published(text: str) -> Source:
    """A source somebody can look up: a standard, a regulation, a paper, a handbook."""
    return Source("published", text)


def from_memory(text: str) -> Source:
    """A source named from memory and not seen: to be looked up before it is relied on."""
    return Source("from memory", text)
