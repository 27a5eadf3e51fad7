"""A slot beside the sound: the ways to fill it, and how many there are in all."""

from __future__ import annotations

from dataclasses import dataclass, replace

from matcher.search.feeds.parts import Candidate

Alternative = tuple[Candidate, ...]
"""One way to fill a slot that takes several parts together."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A slot that no link concerns."""

    slot: str
    alternatives: list[Alternative]
    """Those that may stand in one of the best packages."""
    ways: int
    """All that the slot's rules allow, those included that others always beat."""
    known: frozenset[str] = frozenset()
    """Parts of which nothing is open but what is open of the car."""

    def with_part(self, part_id: str) -> Beside:
        """The same with the alternatives that hold a part."""
        some = [held for held in self.alternatives if any(one.part_id == part_id for one in held)]
        return replace(self, alternatives=some, ways=len(some))
