"""Computed terms: their values over arrays, and how far these move within the tolerances of their figures.

The trade's formulas are computed in floats and rounded back to micro-units.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np

from matcher.kernel.exact import Mask, both, divided, floating, product, rounded
from matcher.rules.worked import ClosedQ, DepthAt, Ranked, Steady, Through, Times, Turned, VentedPeak, Worked


class Worth(NamedTuple):
    """Values and the mask of known rows."""

    values: Any
    known: Mask = True


def worked_values(term: Worked, values: Sequence[Any]) -> Worth:
    """Return a term's value from those of its operands, and the mask of rows that have one."""
    return VALUES[type(term)](term, values)


def worked_tol(term: Worked, values: Sequence[Any], tols: Sequence[Any], middle: Worth) -> Any:
    """Return how far a term's value may be off from `middle`; 0 if it is unknown."""
    if isinstance(term, Steady):
        return _swing(term, values, tols, middle)
    if isinstance(term, Ranked):
        return _largest(tols)
    if isinstance(term, DepthAt):
        return _depth_off(values, tols, middle.known)
    if isinstance(term, VentedPeak):
        return _peak_off(term, values, tols, middle.values)
    return _light_off(values, tols)


def _largest(arrays: Sequence[Any]) -> Any:
    found = arrays[0]
    for array in arrays[1:]:
        found = np.maximum(found, array)
    return found


def _ranked(term: Any, values: Sequence[Any]) -> Worth:
    return Worth(np.sort(np.stack(np.broadcast_arrays(*values)), axis=0)[term.place - 1])


def _turned(term: Any, values: Sequence[Any]) -> Worth:
    p, q, b = map(floating, values)
    across = np.sqrt(p**2 + q**2)
    is_there = across > 0
    diagonal = np.arctan2(q, p)
    angle = np.arcsin(np.minimum(b / np.where(is_there, across, 1.0), 1.0))
    turned = across * np.cos(angle - 2 * diagonal)
    return Worth(*rounded(np.where(is_there & (angle > 3 * diagonal), turned, p)))


def _share(height: Any, at: Any) -> Worth:
    """Return a height's position along a slope, and the mask of rows in which it is known."""
    is_there = height > 0
    return Worth(np.minimum(floating(at) / floating(np.where(is_there, height, 1)), 1.0), is_there)


def _depth_at(term: Any, values: Sequence[Any]) -> Worth:
    floor, top, height, at = values
    share, is_there = _share(height, at)
    depth, known = rounded(floating(floor) - floating(floor - top) * share)
    return Worth(depth, both(known, is_there))


def _depth_off(values: Sequence[Any], tols: Sequence[Any], known: Mask) -> Any:
    floor, top, height, at = map(floating, tols)
    share, is_there = _share(values[2], values[3])
    slope = np.abs(floating(values[0] - values[1]) / floating(np.where(is_there, values[2], 1)))
    off, held = rounded(floor * (1 - share) + top * share + slope * (at + height * share))
    return np.where(both(both(known, is_there), held), off, 0)


def _closed_q(term: Any, values: Sequence[Any]) -> Worth:
    qts, vas, net, drivers = map(floating, values)
    is_there = net > 0
    q, known = rounded(qts * np.sqrt(1 + drivers * vas / np.where(is_there, net, 1.0)))
    return Worth(q, both(known, is_there))


def _vented_peak(term: Any, values: Sequence[Any]) -> Worth:
    from matcher.formulas.relations import peak_power  # loaded for bass only
    from matcher.formulas.vented import Q_RANGE, STIFFNESS_RANGE, TUNING_RANGE

    fs, q, vas, net, drivers, tuned, ql = np.broadcast_arrays(*map(floating, values))
    with np.errstate(all="ignore"):
        h, a = tuned / fs, vas * drivers / net
        known = np.ones(h.shape, np.bool_)
        for one, (least, most) in ((q, Q_RANGE), (h, TUNING_RANGE), (a, STIFFNESS_RANGE)):
            known &= (least <= one) & (one <= most)
    peak = np.zeros(h.shape)
    peak[known] = 10 * np.log10(peak_power(q[known], h[known], a[known], ql[known]))
    db, held = rounded(peak)
    return Worth(db, both(known, held))


def _peak_off(term: Worked, values: Sequence[Any], tols: Sequence[Any], middle: Any) -> Any:
    """Sum the largest change of the value that each figure can cause within its tolerance."""
    total = np.zeros(1, np.int64)
    for at, tol in enumerate(tols):
        if np.any(tol):
            ends = (worked_values(term, [*values[:at], values[at] + way * tol, *values[at + 1 :]]) for way in (1, -1))
            total = total + np.maximum(*(np.where(end.known, abs(end.values - middle), 0) for end in ends))
    return total


def _times(term: Any, values: Sequence[Any]) -> Worth:
    return Worth(*product(values[0], values[1]))


def _through(term: Any, values: Sequence[Any]) -> Worth:
    light, known = product(values[0], values[1])
    return Worth(divided(light, 100), known)


def _light_off(values: Sequence[Any], tols: Sequence[Any]) -> Any:
    """Return the worst case: each layer's tolerance times the light that the other one transmits."""
    (one, other), (one_tol, other_tol) = values, tols
    grown = product(one, other_tol)[0] + product(other, one_tol)[0] + product(one_tol, other_tol)[0]
    return divided(grown, 100)


def _swing(term: Steady, values: Sequence[Any], tols: Sequence[Any], middle: Worth) -> Any:
    """Return the larger deviation at the two ends: all operands off at once to raise the value, or to lower it."""
    sizes = []
    for up in (True, False):
        moved = [
            np.maximum(value + tol if rises == up else value - tol, 0)
            for value, tol, rises in zip(values, tols, term.rises, strict=True)
        ]
        end = worked_values(term, moved)
        size = end.values - middle.values if up else middle.values - end.values
        sizes.append(np.where(end.known, size, 0))
    return np.where(middle.known, np.maximum(*sizes), 0)


VALUES: dict[type[Worked], Callable[[Any, Sequence[Any]], Worth]] = {
    Ranked: _ranked,
    Turned: _turned,
    DepthAt: _depth_at,
    ClosedQ: _closed_q,
    VentedPeak: _vented_peak,
    Times: _times,
    Through: _through,
}
