"""What is told of pairs: verdict, rule, margin and tolerance, each combination of them once and by its number."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np

from matcher.kernel.distinct import distinct
from matcher.search.matrix.verdicts import Numbers


@dataclass(eq=False)
class Telling:
    """What is told in a share so far: of each a kind of opening, a key, and margin and tolerance in millionths."""

    kind: int = 0
    """The kind of opening that is asked about now."""
    many: int = 0
    found: list[tuple[Numbers, ...]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.number = cache(self._number)

    def numbers(self, key: Numbers, margin: Numbers, tol: Numbers) -> Numbers:
        """The numbers of what is told."""
        told = distinct([margin, tol, key], len(key))
        self.found.append((np.full(len(told.first), self.kind), *(each[told.first] for each in (key, margin, tol))))
        self.many += len(told.first)
        return told.number + (self.many - len(told.first))

    def _number(self, kind: int, key: int, margin: int, tol: int) -> int:
        """The number of one thing that is told."""
        self.found.append(tuple(np.array([value]) for value in (kind, key, margin, tol)))
        self.many += 1
        return self.many - 1

    def columns(self) -> dict[str, Numbers]:
        """All of it, in the order of its numbers."""
        names = ("kind", "key", "margin", "tol")
        return dict(zip(names, map(np.concatenate, zip(*self.found, strict=True)), strict=True))
