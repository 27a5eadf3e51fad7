"""Bounds of what is heard, on any feed: the greatest relaxed values of each class by the feed's gain."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from matcher.search.exact.choices import CENTS_ONLY, IMPOSSIBLE, SCALE, Ints, relaxed_by_cents

GAIN_STEP_CDB = 50
"""How finely gains bound: rounded up to half a decibel."""


class LevelTops:
    """What bounds some rows, each of a class, on feeds that are sure or doubtful.

    Parameters
    ----------
    points, cents
        What each row earns by itself, and its money.
    power, travel
        Limits of its level, in hundredths of a decibel: the first with the gain of the feed added to it.
    lost
        Points lost on a sure feed, and on a doubtful one.
    of_class
        The class of each row, of so many as `classes`.
    points_of
        Points for known levels; none for those below every level that is known.
    """

    def __init__(
        self,
        points: Ints,
        cents: Ints,
        limits: tuple[Ints, Ints],
        lost: tuple[Ints, Ints],
        of_class: Ints,
        classes: int,
        points_of: Callable[[Ints], Ints],
    ) -> None:
        order = np.argsort(of_class, kind="stable")
        ordered = of_class[order]
        self._first = np.flatnonzero(np.diff(ordered, prepend=-1))
        self._present, self._classes = ordered[self._first], classes
        self._values = [relaxed_by_cents(points + each, cents)[order] for each in lost]
        self._power, self._travel = (each[order] for each in limits)
        self._points_of, self._at = points_of, cache(self._at_step)

    def _at_step(self, steps: int) -> Ints:
        """On feeds of up to so many steps of gain, shape (sure or doubtful, classes, multipliers of money)."""
        found = np.full((2, self._classes, len(CENTS_ONLY)), IMPOSSIBLE, dtype=np.int64)
        if len(self._first):
            heard = SCALE * self._points_of(np.minimum(self._power + steps * GAIN_STEP_CDB, self._travel))[:, None]
            for tops, values in zip(found, self._values, strict=True):
                tops[self._present] = np.maximum.reduceat(values + heard, self._first, axis=0)
        return found

    def tables(self, gain_cdb: Ints) -> tuple[Ints, Ints]:
        """The tops by distinct step of gain, as `_at_step` has them; and by feed which of these it has."""
        steps, at = np.unique(-(-gain_cdb // GAIN_STEP_CDB), return_inverse=True)
        shape = len(steps), 2, self._classes, len(CENTS_ONLY)
        return np.array([self._at(step) for step in steps.tolist()]).reshape(shape), at.reshape(gain_cdb.shape)
