"""What is told of pairs: verdict, rule, margin and tolerance, each combination of them once and by its number."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[Any]
UNKNOWN = int(np.iinfo(np.int64).min)
"""A margin that is not known."""


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
        each = [np.unique(values, return_inverse=True) for values in (margin, tol, key)]
        whole = np.zeros(len(key), np.int64)
        for values, at in each:
            whole = whole * len(values) + at
        _, first, at = np.unique(whole, return_index=True, return_inverse=True)
        self.found.append((np.full(len(first), self.kind), key[first], margin[first], tol[first]))
        self.many += len(first)
        return at + (self.many - len(first))

    def _number(self, kind: int, key: int, margin: int, tol: int) -> int:
        """The number of one thing that is told."""
        self.found.append(tuple(np.array([value]) for value in (kind, key, margin, tol)))
        self.many += 1
        return self.many - 1

    def columns(self) -> dict[str, Numbers]:
        """All of it, in the order of its numbers."""
        names = ("kind", "key", "margin", "tol")
        return dict(zip(names, map(np.concatenate, zip(*self.found, strict=True)), strict=True))
