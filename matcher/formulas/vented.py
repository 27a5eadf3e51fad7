"""Vented boxes with losses: alignments by computation, corner, peak, response."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.known import positive, within
from matcher.formulas.register import formula
from matcher.formulas.relations import loss_terms, peak_power, squared_response

Alignment = Literal["QB3", "B4", "C4"]

_SMALL = published("Small, Vented-Box Loudspeaker Systems I, JAES 21, 1973; without losses: Thiele, JAES 1971")
_BOX = "driver, volume and tuning over 0; small signals; all losses as leakage, their Q at least 1"
QL = 7.0
"""Q of a box's losses where one figure is needed: Small 1973 III; 5 to 10 were measured in boxes of 25 to 100 l."""
BUTTERWORTH_SUM = 2 * (math.sin(math.pi / 8) + math.cos(math.pi / 8))
LEAST_QT, MOST_RIPPLE_DB = 0.1, 3.0
TUNING_RANGE, STIFFNESS_RANGE, Q_RANGE = (0.1, 10.0), (0.01, 100.0), (0.1, 2.0)
"""Tuning over the driver's resonance, Vas over the volume for each driver, and the driver's Q: no box is beyond."""
_RANGES = _BOX + "; tuning from 0.1 to 10 times the resonance, Vas/Vb from 0.01 to 100, Q from 0.1 to 2"


def _box(
    fs_hz: float | None,
    qts: float | None,
    vas_l: float | None,
    net_l: float | None,
    tuned_hz: float | None,
    ql: float | None,
) -> tuple[float, float, float, float] | None:
    """Q, fb/fs, Vas/Vb and QL of a box; None if one is unknown or out of range."""
    known, losses = positive(fs_hz, qts, vas_l, net_l, tuned_hz), within(ql, 1, math.inf)
    if known is None or losses is None:
        return None
    fs, q, vas, net, tuned = known
    inside = within(q, *Q_RANGE), within(tuned / fs, *TUNING_RANGE), within(vas / net, *STIFFNESS_RANGE)
    return None if None in inside else (q, tuned / fs, vas / net, losses)


@formula(source=_SMALL, valid=_RANGES + "; frequencies from a thousandth to a thousand times the resonance")
def vented_response_db(
    freq_hz: float | None,
    fs_hz: float | None,
    qts: float | None,
    vas_l: float | None,
    net_l: float | None,
    tuned_hz: float | None,
    ql: float | None = QL,
) -> float | None:
    """Level of a vented box at a frequency, relative to high frequencies.

    Parameters
    ----------
    freq_hz
        Frequency, Hz.
    fs_hz, qts, vas_l
        Resonance in Hz, total Q and equivalent volume in L of the driver.
    net_l, tuned_hz
        Net volume for each driver in L, and tuning in Hz.
    ql
        Q of the losses of the box at its tuning; infinite without losses.

    Returns
    -------
    Level in dB.

    Examples
    --------
    >>> vented_response_db(31.5, 32, 0.40, 75, 80, 32), vented_response_db(31.5, 32, 0.40, 75, 80, 32, ql=math.inf)
    (-2.53, 0.27)
    """
    box, known = _box(fs_hz, qts, vas_l, net_l, tuned_hz, ql), positive(freq_hz, fs_hz)
    ratio = None if known is None else within(known[0] / known[1], 1e-3, 1e3)
    return None if box is None or ratio is None else 10 * math.log10(squared_response(ratio, *box))


@formula(source=_SMALL, valid=_RANGES)
def vented_peak_db(
    fs_hz: float | None,
    qts: float | None,
    vas_l: float | None,
    net_l: float | None,
    tuned_hz: float | None,
    ql: float | None = QL,
) -> float | None:
    """Highest level of a vented box at any frequency, relative to high frequencies.

    Parameters
    ----------
    fs_hz, qts, vas_l, net_l, tuned_hz, ql
        As for the response.

    Returns
    -------
    Level in dB; 0 if nothing is above the level at high frequencies.

    Examples
    --------
    >>> vented_peak_db(30, 0.50, 60, 150, 25, ql=math.inf), vented_peak_db(30, 0.50, 60, 150, 25)
    (4.81, 1.23)
    """
    box = _box(fs_hz, qts, vas_l, net_l, tuned_hz, ql)
    return None if box is None else 10 * math.log10(peak_power(*box))


def _root(low: float, high: float, over: Callable[[float], bool]) -> float:
    """Return the value between two ends at which `over` becomes true, to sufficient precision."""
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if over(middle) else (middle, high)
    return high


def _corner_ratio(*box: float) -> float | None:
    """The highest f/fs at which the response is 3 dB down."""
    steps = [100 * 0.98**step for step in range(600)]
    down = next((ratio for ratio in steps if squared_response(ratio, *box) < 0.5), None)
    if down is None or down == steps[0]:
        return None
    return _root(down, down / 0.98, lambda ratio: squared_response(ratio, *box) >= 0.5)


@formula(source=_SMALL, valid=_RANGES)
def vented_f3_hz(
    fs_hz: float | None,
    qts: float | None,
    vas_l: float | None,
    net_l: float | None,
    tuned_hz: float | None,
    ql: float | None = QL,
) -> float | None:
    """The highest frequency at which a vented box is 3 dB down.

    Parameters
    ----------
    fs_hz, qts, vas_l, net_l, tuned_hz, ql
        As for the response.

    Returns
    -------
    Frequency in Hz.

    Examples
    --------
    >>> vented_f3_hz(30, 0.50, 60, 150, 25), vented_f3_hz(30, 0.50, 60, 150, 25, ql=math.inf)
    (21.65, 20.60)
    """
    box, known = _box(fs_hz, qts, vas_l, net_l, tuned_hz, ql), positive(fs_hz)
    corner = None if box is None else _corner_ratio(*box)
    return None if corner is None or known is None else known[0] * corner


@dataclass(frozen=True, slots=True)
class VentedAlignment:
    """Suitable volume and tuning for a driver, also relative to its Vas and fs."""

    kind: Alignment
    net_l: float
    tuned_hz: float
    f3_hz: float
    ripple_db: float


def _butterworth_q(ql: float = QL) -> float:
    """Q of the driver whose vented box has the exact Butterworth response."""
    return 1 / (BUTTERWORTH_SUM - 1 / ql)


def _stiffness(q: float, h: float, a2: float, ql: float) -> float:
    """Vas/Vb of the box whose response has this coefficient of s^2."""
    return (a2 - 1 / (ql * q)) * h - 1 - h**2


def _quasi_butterworth(q: float, ql: float) -> tuple[float, float]:
    """Return h and a of the QB3 response, whose two highest terms below the leading one vanish."""

    def is_flat(h: float) -> bool:
        a1, _, a3 = loss_terms(q, h, 1.0, ql)
        return bool(a1**4 / 4 + 2 <= 2 * a1 * a3)

    h = _root(0.3, 5.0, is_flat)
    return h, _stiffness(q, h, loss_terms(q, h, 1.0, ql)[0] ** 2 / 2, ql)


def _chebyshev_terms(k: float) -> tuple[float, float, float]:
    """Coefficients of the fourth-order Chebyshev response; k = 1 is Butterworth's."""
    d = math.sqrt((k**4 + 6 * k**2 + 1) / 8)
    a3 = k * math.sqrt(4 + 2 * math.sqrt(2)) / math.sqrt(d)
    a2 = (1 + k**2 * (1 + math.sqrt(2))) / d
    a1 = a3 / d * (1 - (1 - k**2) / (2 * math.sqrt(2)))
    return a1, a2, a3


def _ripple_db(k: float) -> float:
    return 10 * math.log10(1 + 1 / math.sinh(4 * math.atanh(k)) ** 2) if k < 1 - 1e-12 else 0.0


def _chebyshev_box(k: float, ql: float) -> tuple[float, float]:
    """Q and h of the box with this Chebyshev response."""
    a1, _, a3 = _chebyshev_terms(k)
    r = _root(0.4, 1.3, lambda trial: trial**2 * a1 - trial**3 / ql + 1 / (trial * ql) >= a3)
    return 1 / (r * a1 - r**2 / ql), r**2


def _chebyshev(q: float, ql: float) -> tuple[float, float, float] | None:
    """h, a and ripple of the C4 response for this Q; None if it would ripple too much."""
    k = _root(0.05, 1.0, lambda trial: _chebyshev_box(trial, ql)[0] <= q)
    ripple = _ripple_db(k)
    if ripple > MOST_RIPPLE_DB:
        return None
    h = _chebyshev_box(k, ql)[1]
    return h, _stiffness(q, h, _chebyshev_terms(k)[1], ql), ripple


@formula(
    source=_SMALL,
    valid=f"Qts from {LEAST_QT} up to where the response ripples by {MOST_RIPPLE_DB:.0f} dB; QL at least 5",
)
def vented_alignment(
    fs_hz: float | None, qts: float | None, vas_l: float | None, ql: float | None = QL
) -> VentedAlignment | None:
    """Suitable volume and tuning for a driver: B4 at the Q of `_butterworth_q`, QB3 below it, C4 above it.

    Parameters
    ----------
    fs_hz, qts, vas_l
        Resonance in Hz, total Q and equivalent volume in L of the driver.
    ql
        Q of the losses of the box; infinite without losses.

    Returns
    -------
    Net volume, tuning, corner, and ripple in the band.

    Examples
    --------
    >>> alignment = vented_alignment(30, 0.4048, 100)
    >>> alignment.net_l, alignment.tuned_hz, alignment.f3_hz
    (94.2, 30.0, 30.0)
    """
    known, q, losses = positive(fs_hz, vas_l), within(qts, LEAST_QT, 2), within(ql, 5, math.inf)
    if known is None or q is None or losses is None:
        return None
    exact = _butterworth_q(losses)
    found = (*_quasi_butterworth(q, losses), 0.0) if q < exact else _chebyshev(q, losses)
    if found is None:
        return None
    (h, a, ripple), (fs, vas) = found, known
    corner = _corner_ratio(q, h, a, losses)
    if corner is None:
        return None
    kind: Alignment = "B4" if abs(q - exact) < 5e-4 else "QB3" if q < exact else "C4"
    return VentedAlignment(kind, vas / a, fs * h, fs * corner, ripple)
