"""Closed boxes: resonance, Q, corner, peak, response, and the volume for a wanted Q."""

from __future__ import annotations

import math
from dataclasses import dataclass

from catalog_schema.sources import published
from matcher.formulas.known import positive, whole, within
from matcher.formulas.register import formula
from matcher.formulas.relations import closed_loss, volume_for_q

_SMALL = published("Small, JAES 20, December 1972")
_BOX = "driver and volume over 0; small signals, no losses in the box, no lining"
LEAST_Q, MOST_Q = 0.05, 20.0
_RESPONSE = f"{_BOX}; Qtc from {LEAST_Q} to {MOST_Q:.0f}"


@formula(source=_SMALL, valid=_BOX)
def stiffening(vas_l: float | None, net_l: float | None) -> float | None:
    """Factor by which resonance and Q rise when a driver goes into a closed box.

    Parameters
    ----------
    vas_l, net_l
        Equivalent volume of the driver, and net volume that it sees, L.

    Returns
    -------
    The square root of 1 + Vas/Vb.

    Examples
    --------
    >>> stiffening(90, 30)
    2.0
    """
    known = positive(vas_l, net_l)
    return None if known is None else math.sqrt(1 + known[0] / known[1])


@formula(source=_SMALL, valid=_BOX)
def closed_qtc(qts: float | None, vas_l: float | None, net_l: float | None) -> float | None:
    """Q of a driver in a closed box.

    Examples
    --------
    >>> closed_qtc(0.35, 90, 30)
    0.70
    """
    known = positive(qts, stiffening(vas_l, net_l))
    return None if known is None else known[0] * known[1]


@formula(source=_SMALL, valid=_BOX)
def closed_fc_hz(fs_hz: float | None, vas_l: float | None, net_l: float | None) -> float | None:
    """Resonance of a driver in a closed box.

    Examples
    --------
    >>> closed_fc_hz(28, 90, 30)
    56.0
    """
    known = positive(fs_hz, stiffening(vas_l, net_l))
    return None if known is None else known[0] * known[1]


@formula(source=_SMALL, valid=_RESPONSE)
def closed_f3_hz(fc_hz: float | None, qtc: float | None) -> float | None:
    """Frequency at which a closed box is 3 dB down.

    Parameters
    ----------
    fc_hz, qtc
        Resonance in Hz and Q in the box.

    Returns
    -------
    Frequency in Hz.

    Examples
    --------
    >>> closed_f3_hz(50, 0.5)
    77.7
    """
    known, q = positive(fc_hz), within(qtc, LEAST_Q, MOST_Q)
    if known is None or q is None:
        return None
    x = 1 / q**2 - 2
    # At a high Q x is near -2; the conjugate avoids cancellation in the sum under the root.
    squared = (x + math.sqrt(x**2 + 4)) / 2 if x >= 0 else 2 / (math.sqrt(x**2 + 4) - x)
    return known[0] * math.sqrt(squared)


@formula(source=_SMALL, valid=_RESPONSE)
def closed_peak_db(qtc: float | None) -> float | None:
    """Peak of the response of a closed box relative to high frequencies.

    Returns
    -------
    Rise in dB, 0 for a Q up to 0.7071.

    Examples
    --------
    >>> closed_peak_db(1.0), closed_peak_db(0.6)
    (1.249, 0.0)
    """
    q = within(qtc, LEAST_Q, MOST_Q)
    if q is None:
        return None
    return 20 * math.log10(q**2 / math.sqrt(q**2 - 0.25)) if q**2 > 0.5 else 0.0


@formula(source=_SMALL, valid=_RESPONSE + "; None up to 0.7071, where there is no peak")
def closed_peak_hz(fc_hz: float | None, qtc: float | None) -> float | None:
    """Frequency at which the response of a closed box peaks.

    Examples
    --------
    >>> closed_peak_hz(50, 1.0)
    70.7
    """
    known, q = positive(fc_hz), within(qtc, LEAST_Q, MOST_Q)
    # Just above 0.7071 the peak goes to infinity, at less than a thousandth of a dB.
    if known is None or q is None or q**2 < 0.5001:
        return None
    return known[0] / math.sqrt(1 - 1 / (2 * q**2))


@formula(source=_SMALL, valid=_BOX + "; wanted Q over the driver's own")
def closed_volume_l(qts: float | None, vas_l: float | None, wanted_qtc: float | None) -> float | None:
    """Net volume that gives a driver this Q in a closed box.

    Parameters
    ----------
    qts, vas_l
        Total Q and equivalent volume in L of the driver.
    wanted_qtc
        Q wanted in the box.

    Returns
    -------
    Net volume for each driver, L.

    Examples
    --------
    >>> closed_volume_l(0.30066, 340.94, 1 / 2 ** 0.5)
    75.24
    """
    known = positive(qts, vas_l, wanted_qtc)
    if known is None or known[2] < known[0] * (1 + 1e-6):
        return None
    volume: float = volume_for_q(*known)
    return volume


@dataclass(frozen=True, slots=True)
class ClosedBox:
    """Response of drivers in a closed box; `each_l` is the volume for each of them."""

    net_l: float
    each_l: float
    qtc: float
    fc_hz: float
    f3_hz: float
    peak_db: float
    peak_hz: float | None


@formula(source=_SMALL, valid=_RESPONSE + "; 1 to 8 like drivers, all driven alike")
def closed_box(
    fs_hz: float | None,
    qts: float | None,
    vas_l: float | None,
    net_l: float | None,
    drivers: float | None = 1,
) -> ClosedBox | None:
    """Return a closed box with one driver, or several equal ones that share it.

    Parameters
    ----------
    fs_hz, qts, vas_l
        Resonance in Hz, total Q and equivalent volume in L of one driver.
    net_l
        Net volume of the whole box, L.
    drivers
        Number of drivers in the box.

    Returns
    -------
    Resonance, Q, corner and peak.

    Examples
    --------
    >>> alone, shared = closed_box(28, 0.35, 90, 30), closed_box(28, 0.35, 90, 60, drivers=2)
    >>> alone.fc_hz, shared.fc_hz
    (56.0, 56.0)
    """
    number, known = whole(drivers, 1, 8), positive(net_l)
    if number is None or known is None:
        return None
    each = known[0] / number
    qtc, fc = closed_qtc(qts, vas_l, each), closed_fc_hz(fs_hz, vas_l, each)
    f3, peak = closed_f3_hz(fc, qtc), closed_peak_db(qtc)
    if qtc is None or fc is None or f3 is None or peak is None:
        return None
    return ClosedBox(known[0], each, qtc, fc, f3, peak, closed_peak_hz(fc, qtc))


@formula(source=_SMALL, valid=_RESPONSE + "; frequencies over 0")
def closed_response_db(freq_hz: float | None, fc_hz: float | None, qtc: float | None) -> float | None:
    """Level of a closed box at a frequency, relative to high frequencies.

    Examples
    --------
    >>> closed_response_db(50, 50, 0.7071)
    -3.01
    """
    known, q = positive(freq_hz, fc_hz), within(qtc, LEAST_Q, MOST_Q)
    if known is None or q is None:
        return None
    return -10 * math.log10(closed_loss(known[1] / known[0], q))
