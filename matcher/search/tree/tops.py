"""Bounds of loudness on any feed: the maximum relaxed values of each class by the feed's gain."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from matcher.search.exact.choices import CENTS_ONLY, IMPOSSIBLE, SCALE, Ints, relaxed_by_cents

GAIN_STEP_CDB = 50
"""Gains are rounded up to half a decibel."""


class LevelTops:
    """Bounds of rows, each of a class, on feeds whose verdict is FITS or open.

    Parameters
    ----------
    points, cents
        Own points and price of each row.
    power, travel
        Level limits in hundredths of a decibel: the gain of the feed adds to the first.
    lost
        Points lost on a feed that fits, and on an open one.
    of_class
        Class of each row, below `classes`.
    points_of
        Points for known levels; zero below all of them.
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
        """Bounds for feeds of up to this many steps of gain, shape (fits or open, classes, multipliers of money)."""
        found = np.full((2, self._classes, len(CENTS_ONLY)), IMPOSSIBLE, dtype=np.int64)
        if len(self._first):
            heard = SCALE * self._points_of(np.minimum(self._power + steps * GAIN_STEP_CDB, self._travel))[:, None]
            for tops, values in zip(found, self._values, strict=True):
                tops[self._present] = np.maximum.reduceat(values + heard, self._first, axis=0)
        return found

    def tables(self, gain_cdb: Ints) -> tuple[Ints, Ints]:
        """Return the bounds by distinct step of gain, as `_at_step` has them, and the index of each feed among them."""
        steps, at = np.unique(-(-gain_cdb // GAIN_STEP_CDB), return_inverse=True)
        shape = len(steps), 2, self._classes, len(CENTS_ONLY)
        return np.array([self._at(step) for step in steps.tolist()]).reshape(shape), at.reshape(gain_cdb.shape)
