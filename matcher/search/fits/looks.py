"""How many of the parts that go in are read: those that k others of their class do not always beat."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Look:
    """Which parts of each slot are read."""

    k: int
    """What k others always beat is left out."""
    known_delivery: bool = False
    """If a job has a last day of delivery: whether parts of which delivery is not known are left out too."""
