"""Slots of which each entry is a set of parts: film on the glass, layers of security, a head unit's accessories."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from matcher.search.exact.choices import USES, Slot
from matcher.search.feeds.parts import NO_USE, Candidate

TURN = 2
EQUIPMENT = "equipment"
"""Accessories that give what a head unit lacks."""


class SetSlot(Slot):
    """One of some sets of parts that stand together.

    Parameters
    ----------
    order
        Its place among the slots that stand beside; None: its parts come along with another one.
    """

    def __init__(self, order: int | None, fills: str, alternatives: Sequence[Sequence[Candidate]]) -> None:
        points = [sum(one.total_points for one in some) for some in alternatives]
        cents = [sum(one.cents for one in some) for some in alternatives]
        uses = [tuple(map(sum, zip(NO_USE, *(one.uses for one in some), strict=True))) for some in alternatives]
        taken = np.array(uses, dtype=np.int64).reshape(-1, USES)
        whole = [np.array(one, dtype=np.int64) for one in (points, cents)]
        super().__init__(whole[0], whole[1], taken if taken.any() else None, fills, TURN)
        self.order, self.fills, self._alternatives = order, fills, alternatives

    def candidates(self, position: int) -> Sequence[Candidate]:
        """The parts of an entry."""
        return self._alternatives[position]

    def names(self, position: int) -> list[str]:
        """Their names, as the total order compares them."""
        return [str(one.part_id) for one in self._alternatives[position]]

    def doubt(self, position: int) -> bool:
        """Whether the fit of any of them is still to be measured."""
        return any(one.unsure for one in self._alternatives[position])
