"""Vented boxes without losses: alignments by computation, corner, response."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

from catalog_schema.sources import published
from matcher.formulas.known import positive, within
from matcher.formulas.register import formula
from matcher.formulas.relations import squared_response

Alignment = Literal["QB3", "B4", "C4"]

_THIELE = published("Thiele, Loudspeakers in Vented Boxes, JAES 1971; lossless box")
_BOX = "driver, volume and tuning over 0; small signals, no losses in box or port"
BUTTERWORTH_QT = math.sin(math.pi / 8)
LEAST_QT, MOST_RIPPLE_DB = 0.1, 3.0


@formula(source=_THIELE, valid=_BOX + "; frequencies from a thousandth to a thousand times the resonance")
def vented_response_db(
    freq_hz: float | None,
    fs_hz: float | None,
    qts: float | None,
    vas_l: float | None,
    net_l: float | None,
    tuned_hz: float | None,
) -> float | None:
    """Level of a vented box at a frequency, against its level at high ones.

    Parameters
    ----------
    freq_hz
        Frequency, Hz.
    fs_hz, qts, vas_l
        Resonance in Hz, total Q and springy volume in L of the driver.
    net_l, tuned_hz
        Net volume for each driver in L, and tuning in Hz.

    Returns
    -------
    Level in dB.

    Examples
    --------
    >>> vented_response_db(30, 30, 0.382683, 141.42, 100, 30)
    -3.01
    """
    known = positive(freq_hz, fs_hz, qts, vas_l, net_l, tuned_hz)
    if known is None:
        return None
    freq, fs, q, vas, net, tuned = known
    ratio, h, a = within(freq / fs, 1e-3, 1e3), within(tuned / fs, 0.01, 100), within(vas / net, 1e-6, 1e6)
    if ratio is None or h is None or a is None or not 0.01 <= q <= 100:
        return None
    return 10 * math.log10(squared_response(ratio, q, h, a))


@formula(source=_THIELE, valid=_BOX + "; frequencies from a thousandth to a thousand times the resonance")
def vented_curve(
    fs_hz: float | None,
    qts: float | None,
    vas_l: float | None,
    net_l: float | None,
    tuned_hz: float | None,
    freqs_hz: Iterable[float],
) -> tuple[tuple[float, float], ...] | None:
    """Response of a vented box at each of these frequencies.

    Parameters
    ----------
    fs_hz, qts, vas_l, net_l, tuned_hz
        As for the response.
    freqs_hz
        Frequencies in Hz.

    Returns
    -------
    Pairs of Hz and dB; None as soon as one frequency is out of range.

    Examples
    --------
    >>> vented_curve(30, 0.382683, 141.42, 100, 30, (15, 30))
    ((15, -24.1), (30, -3.01))
    """
    points = [(freq, vented_response_db(freq, fs_hz, qts, vas_l, net_l, tuned_hz)) for freq in freqs_hz]
    known = tuple((freq, level) for freq, level in points if level is not None)
    return known if known and len(known) == len(points) else None


def _root(low: float, high: float, over: Callable[[float], bool]) -> float:
    """Where `over` turns true between two ends, to the last digit that matters."""
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if over(middle) else (middle, high)
    return high


def _corner_ratio(q: float, h: float, a: float) -> float | None:
    """The highest f/fs at which the response is 3 dB down."""
    steps = [100 * 0.98**step for step in range(600)]
    down = next((ratio for ratio in steps if squared_response(ratio, q, h, a) < 0.5), None)
    if down is None or down == steps[0]:
        return None
    return _root(down, down / 0.98, lambda ratio: squared_response(ratio, q, h, a) >= 0.5)


@formula(
    source=_THIELE,
    valid=_BOX + "; tuning from 0.1 to 10 times the resonance, Vas/Vb from 0.01 to 100, Q from 0.1 to 2",
)
def vented_f3_hz(
    fs_hz: float | None,
    qts: float | None,
    vas_l: float | None,
    net_l: float | None,
    tuned_hz: float | None,
) -> float | None:
    """The highest frequency at which a vented box is 3 dB down.

    Parameters
    ----------
    fs_hz, qts, vas_l, net_l, tuned_hz
        As for the response.

    Returns
    -------
    Frequency in Hz.

    Examples
    --------
    >>> vented_f3_hz(30, 0.259, 4.46 * 20, 20, 1.42 * 30) / 30
    1.77
    """
    known = positive(fs_hz, qts, vas_l, net_l, tuned_hz)
    if known is None:
        return None
    fs, q, vas, net, tuned = known
    h, a, q_known = within(tuned / fs, 0.1, 10), within(vas / net, 0.01, 100), within(q, 0.1, 2)
    if h is None or a is None or q_known is None:
        return None
    corner = _corner_ratio(q_known, h, a)
    return None if corner is None else fs * corner


@dataclass(frozen=True, slots=True)
class VentedAlignment:
    """The volume and tuning that suit a driver; ratios to the driver's Vas and fs beside them."""

    kind: Alignment
    net_l: float
    tuned_hz: float
    f3_hz: float
    ripple_db: float


def _quasi_butterworth(q: float) -> tuple[float, float]:
    """h and a of the QB3 response, whose two highest terms under the leading one vanish."""
    a2 = math.sqrt(2 * (1 / q**2 - 1))
    h = 1 / (2 * q**2 * a2)
    return h, a2 * h - 1 - h**2


def _chebyshev_terms(k: float) -> tuple[float, float, float]:
    """Coefficients of the fourth-order Chebyshev response; k = 1 is Butterworth's."""
    d = math.sqrt((k**4 + 6 * k**2 + 1) / 8)
    a3 = k * math.sqrt(4 + 2 * math.sqrt(2)) / math.sqrt(d)
    a2 = (1 + k**2 * (1 + math.sqrt(2))) / d
    a1 = a3 / d * (1 - (1 - k**2) / (2 * math.sqrt(2)))
    return a1, a2, a3


def _ripple_db(k: float) -> float:
    return 10 * math.log10(1 + 1 / math.sinh(4 * math.atanh(k)) ** 2) if k < 1 - 1e-12 else 0.0


def _chebyshev(q: float) -> tuple[float, float, float] | None:
    """h, a and ripple of the C4 response for this Q; None where it would ripple too much."""

    def q_at(k: float) -> float:
        a1, _, a3 = _chebyshev_terms(k)
        return 1 / math.sqrt(a1 * a3)

    k = _root(0.05, 1.0, lambda trial: q_at(trial) <= q)
    ripple = _ripple_db(k)
    if ripple > MOST_RIPPLE_DB:
        return None
    a1, a2, a3 = _chebyshev_terms(k)
    h = a3 / a1
    return h, a2 * h - 1 - h**2, ripple


@formula(
    source=_THIELE,
    valid=f"Qts from {LEAST_QT} up to where the response ripples by {MOST_RIPPLE_DB:.0f} dB; no losses",
)
def vented_alignment(fs_hz: float | None, qts: float | None, vas_l: float | None) -> VentedAlignment | None:
    """Volume and tuning that suit a driver: QB3 under a Qts of 0.383, B4 at it, C4 over it.

    Parameters
    ----------
    fs_hz, qts, vas_l
        Resonance in Hz, total Q and springy volume in L of the driver.

    Returns
    -------
    Net volume, tuning, corner, and ripple in the band.

    Examples
    --------
    >>> alignment = vented_alignment(30, 0.3827, 100)
    >>> alignment.net_l, alignment.tuned_hz, alignment.f3_hz
    (70.7, 30.0, 30.0)
    """
    known, q = positive(fs_hz, vas_l), within(qts, LEAST_QT, 2)
    if known is None or q is None:
        return None
    if q < BUTTERWORTH_QT:
        h, a, ripple = *_quasi_butterworth(q), 0.0
    elif (chebyshev := _chebyshev(q)) is not None:
        h, a, ripple = chebyshev
    else:
        return None
    fs, vas = known
    corner = _corner_ratio(q, h, a)
    if corner is None:
        return None
    close = abs(q - BUTTERWORTH_QT) < 5e-4
    kind: Alignment = "B4" if close else "QB3" if q < BUTTERWORTH_QT else "C4"
    return VentedAlignment(kind, vas / a, fs * h, fs * corner, ripple)


@dataclass(frozen=True, slots=True)
class KeeleFit:
    """Keele's pocket-calculator fit to the alignments."""

    net_l: float
    f3_hz: float
    tuned_hz: float


@formula(source=published("Keele's fit to Thiele's alignments"), valid="Qts from 0.2 to 0.6")
def keele_fit(fs_hz: float | None, qts: float | None, vas_l: float | None) -> KeeleFit | None:
    """Volume, corner and tuning by Keele's three powers of Qts: a second opinion.

    Examples
    --------
    >>> keele_fit(30, 0.3, 100)
    KeeleFit(net_l=47.36, f3_hz=42.08, tuned_hz=37.24)
    """
    known, q = positive(fs_hz, vas_l), within(qts, 0.2, 0.6)
    if known is None or q is None:
        return None
    fs, vas = known
    return KeeleFit(15 * q**2.87 * vas, 0.26 * fs * q**-1.4, 0.42 * fs * q**-0.9)
