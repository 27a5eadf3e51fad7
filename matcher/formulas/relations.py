"""Bare relations of numbers or arrays, for figures within their range.

Each is the heart of a formula of the register, which holds its source, and answers None outside its range; anyone who
asks a relation of arrays leaves out what is not in range.
"""

from __future__ import annotations

import math
from typing import Any

from matcher.formulas.air import HEARING_PA


def volume_for_q(qts: Any, vas_l: Any, wanted_qtc: Any) -> Any:
    """Volume in l in which a driver in a closed box has a wanted Q: see `box.closed_volume_l`."""
    return vas_l / ((wanted_qtc / qts) ** 2 - 1)


def closed_loss(below: Any, qtc: Any) -> Any:
    """Power of a closed box at high frequencies over that at fc / `below`: see `box.closed_response_db`."""
    return (1 - below**2) ** 2 + (below / qtc) ** 2


def efficiency_of(fs_hz: Any, vas: Any, qes: Any, c_m_s: float) -> Any:
    """Efficiency of a driver: see `driver.reference_efficiency`; its air volume in l."""
    return 4 * math.pi**2 / c_m_s**3 * fs_hz**3 * vas * 1e-3 / qes


def pressure_pa(peak_l: Any, freq_hz: Any, rho_kg_m3: float) -> Any:
    """Pressure in Pa at 1 m of a source that moves this volume: see `output.travel_level_db`."""
    return math.sqrt(2) * math.pi * rho_kg_m3 * freq_hz**2 * peak_l / 1000


def loss_terms(q: Any, h: Any, a: Any, ql: Any) -> tuple[Any, Any, Any]:
    """Coefficients of s^3, s^2 and s in a vented box's denominator, s in units of sqrt(ws wb): Small 1973.

    Parameters
    ----------
    q, h, a, ql
        Driver's Q, fb/fs, Vas/Vb, and Q of the losses of the box; infinite without losses.
    """
    r = h**0.5
    return 1 / (r * q) + r / ql, (a + 1 + h**2) / h + 1 / (ql * q), r / q + 1 / (r * ql)


def squared_response(ratio: Any, q: Any, h: Any, a: Any, ql: Any) -> Any:
    """Power response of a vented box at f/fs: see `vented.vented_response_db`; parameters as of `loss_terms`.

    That is the square of s^4 / (s^4 + a1 s^3 + a2 s^2 + a3 s + 1) at s = i f/sqrt(fs fb), told in real numbers.
    """
    a1, a2, a3 = loss_terms(q, h, a, ql)
    w = ratio**2 / h
    return w**4 / ((w * (w - a2) + 1) ** 2 + w * (a1 * w - a3) ** 2)


def peak_power(q: Any, h: Any, a: Any, ql: Any) -> Any:
    """Greatest power response of a vented box at any frequency: see `vented.vented_peak_db`.

    Its inverse is 1 + A y + B y^2 + C y^3 + y^4 in y = fs fb/f^2, least where the derivative is 0 (Cardano) or y is 0.
    """
    a1, a2, a3 = loss_terms(q, h, a, ql)
    first, second, third = a1**2 - 2 * a2, a2**2 + 2 - 2 * a1 * a3, a3**2 - 2 * a2
    middle = third / 4
    p = second / 2 - 3 * middle**2
    s = 2 * middle**3 - middle * second / 2 + first / 4
    root = (s**2 / 4 + p**3 / 27 + 0j) ** 0.5
    u = (-s / 2 + (1 - 2 * (s > 0)) * root) ** (1 / 3) + 1e-30
    least = 1.0
    for turn in (1, complex(-0.5, 0.75**0.5), complex(-0.5, -(0.75**0.5))):
        y = (turn * u - p / (3 * turn * u)).real - middle
        y = (y + abs(y)) / 2
        loss = 1 + y * (first + y * (second + y * (third + y)))
        least = (least + loss - abs(least - loss)) / 2
    return 1 / least


def cone_share(freq_hz: Any, tuned_hz: Any, ql: Any) -> Any:
    """Volume that the cone moves over that of the whole vented box: see `output.vented_max_level`."""
    squared = (freq_hz / tuned_hz) ** 2
    return ((1 - squared) ** 2 + squared / ql**2) ** 0.5 / squared


def quiet_pressure_pa(area_m2: Any, speed_m_s: Any, freq_hz: Any, tuned_hz: Any, rho_kg_m3: float) -> Any:
    """Pressure at 1 m at which the air in a port has this peak speed: see `port.port_quiet_level_db`."""
    return speed_m_s * area_m2 * rho_kg_m3 * freq_hz / math.sqrt(2) * (freq_hz / tuned_hz) ** 2


def loudness_of(efficiency: Any, c_m_s: float, rho_kg_m3: float) -> Any:
    """Squared pressure on 1 W at 1 m over that of hearing, by efficiency: see `loudness.sens_of_efficiency_db`."""
    return efficiency * c_m_s * rho_kg_m3 / (2 * math.pi) / HEARING_PA**2
