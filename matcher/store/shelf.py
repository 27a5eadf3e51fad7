"""Where relations are laid that last as long as a question: seen by one connection alone, or by all that share it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count


@dataclass(frozen=True, slots=True)
class Shelf:
    """A database in memory by its name."""

    name: str

    @property
    def create(self) -> str:
        """SQL that begins a table or a view there."""
        return "CREATE TEMP" if self == OWN else "CREATE"

    def place(self, stem: str) -> str:
        """A name there that nothing else has."""
        return f"{self.name}.{stem}_{next(_NUMBERS)}"


OWN = Shelf("temp")
"""Of one connection: no other sees it, and it may be written to in the midst of a change."""
_NUMBERS = count()
