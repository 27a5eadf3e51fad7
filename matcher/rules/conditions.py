"""Conditions under which a rule is asked, or one term stands instead of another; and pieces of SQL for both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matcher.rules.terms import Figure

NOTHING = "[]::VARCHAR[]"


@dataclass(eq=False, repr=False)
class Condition:
    """A yes, a no, or not known."""

    sql: str
    words: tuple[Figure, ...]
    named: str = ""
    """The condition in words, where the SQL is not plain enough."""

    def __str__(self) -> str:
        return self.named or self.sql.replace('"', "").strip("()")

    @property
    def is_certain(self) -> bool:
        """Whether it is always a plain yes or no: then it waits for no figure."""
        return not self.words

    def missing(self) -> str:
        listed = join_lists(*(word.missing() for word in self.words))
        return NOTHING if listed == NOTHING else f"CASE WHEN ({self.sql}) IS NULL THEN {listed} ELSE {NOTHING} END"

    def figures(self) -> tuple[Figure, ...]:
        return self.words

    def __and__(self, other: Condition) -> Condition:
        return Condition(f"({self.sql} AND {other.sql})", self.words + other.words, f"{self} and {other}")

    def __or__(self, other: Condition) -> Condition:
        return Condition(f"({self.sql} OR {other.sql})", self.words + other.words, f"{self} or {other}")

    def __invert__(self) -> Condition:
        return Condition(f"(NOT {self.sql})", self.words, f"not ({self})")


def add_tols(first: str, second: str) -> str:
    if first == "0":
        return second
    return first if second == "0" else f"({first} + {second})"


def either_holds(*conditions: str) -> str:
    """SQL of whether any of some conditions holds; empty ones never do."""
    return " OR ".join(condition for condition in conditions if condition)


def join_lists(*lists: str) -> str:
    filled = [item for item in lists if item != NOTHING]
    if not filled:
        return NOTHING
    return filled[0] if len(filled) == 1 else f"list_concat({', '.join(filled)})"
