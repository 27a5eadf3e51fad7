"""Floating screens: the height with the most clearance from things that must stay reachable, and its verdict."""

from __future__ import annotations

from typing import Any

import numpy as np

from matcher.kernel.columns import Column, Columns, word_code
from matcher.kernel.distinct import Numbers
from matcher.kernel.evaluate import Evaluation
from matcher.kernel.exact import divided
from matcher.kernel.verdicts import worst
from matcher.rules.dash import SCREEN, SCREEN_CLEAR
from matcher.rules.rule import FITS, rules_of
from matcher.settings import Settings

LOW = -(1 << 60)
"""Less clearance than any possible one."""


def screen_codes(things: Columns | None, parts: Columns, settings: Settings) -> Any:
    """Return the worst verdict code of each floating screen at its best height, against all things around it."""
    rows = len(parts["part.screen"].values)
    codes = np.full(rows, FITS, np.int8)
    if things is None:
        return codes
    screen = parts["part.screen"]
    hung = np.flatnonzero(~np.asarray(screen.known) | (screen.values == word_code("floating")))
    if len(hung):
        some = parts.take(hung)
        rise = best_rise(some, things, settings)
        at = Evaluation(some.down() | things.across() | {"rise.mm": rise}, settings)
        codes[hung] = np.broadcast_to(worst(rules_of(SCREEN), at), (len(hung), len(things["keep.y_mm"].values))).min(1)
    return codes


def best_rise(parts: Columns, things: Columns, settings: Settings) -> Column:
    """Return the height with the most clearance from the nearest thing; of equal ones the one closest to the middle.

    The clearance is a minimum of straight lines in the height, one up and one down per thing, besides a constant: the
    best height is an end of the range, or midway between two things.
    """
    least, most = (parts[f"part.screen_rise_{end}_mm"] for end in ("min", "max"))
    tried = _tried(least.values, most.values, things, settings)
    ranging = np.asarray(least.known) & np.asarray(most.known)
    room = _room(parts, things, tried, settings)
    score = np.lexsort((-tried, np.abs(tried), -room), axis=1)[:, 0]
    best = np.take_along_axis(tried, score[:, np.newaxis], axis=1)
    return Column(best, ranging[:, np.newaxis])


def _tried(least: Numbers, most: Numbers, things: Columns, settings: Settings) -> Numbers:
    """Heights that may be best: (parts, heights)."""
    clear = np.asarray(Evaluation(things, settings).value(SCREEN_CLEAR.need).values)
    y, h = things["keep.y_mm"], things["keep.h_mm"]
    known = np.broadcast_to(np.asarray(y.known), y.values.shape), np.asarray(y.known) & np.asarray(h.known)
    top, foot = (y.values - clear)[known[0]], (y.values + h.values + clear)[np.broadcast_to(known[1], y.values.shape)]
    midway = divided(top[:, np.newaxis] + foot[np.newaxis, :], 2).reshape(-1)
    between = np.clip(midway[np.newaxis, :], least[:, np.newaxis], np.maximum(most, least)[:, np.newaxis])
    return np.concatenate([least[:, np.newaxis], most[:, np.newaxis], between], axis=1)


def _room(parts: Columns, things: Columns, tried: Numbers, settings: Settings) -> Numbers:
    """Smallest clearance at each height from the things whose figures are known."""
    cube = parts.shaped(lambda array: array[:, np.newaxis, np.newaxis])
    beside = things.shaped(lambda array: array[np.newaxis, np.newaxis, :])
    at = Evaluation(cube | beside | {"rise.mm": Column(tried[:, :, np.newaxis])}, settings)
    have, need = at.value(SCREEN_CLEAR.have), at.value(SCREEN_CLEAR.need)
    shape = (*tried.shape, len(things["keep.y_mm"].values))
    room = np.where(have.known, np.broadcast_to(have.values - need.values, shape), -LOW)
    least: Numbers = room.min(axis=2)
    return least
