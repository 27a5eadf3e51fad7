"""Relations by themselves, of plain numbers or of arrays, for figures that are in their range.

Each is the heart of a formula of the register, which holds its source, and answers None outside its range; whoever
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


def squared_response(ratio: Any, q: Any, h: Any, a: Any) -> Any:
    """Power response at f/fs, for h = fb/fs and a = Vas/Vb: see `vented.vented_response_db`.

    That is the square of s^4 / ((s^2 + s/q + 1)(s^2 + h^2) + a s^2) at s = i f/fs, told in real numbers.
    """
    r = ratio**2
    off = h**2 - r
    return r**4 / (((1 - r) * off - a * r) ** 2 + r * (off / q) ** 2)


def loudness_of(efficiency: Any, c_m_s: float, rho_kg_m3: float) -> Any:
    """Squared pressure on 1 W at 1 m over that of hearing, by efficiency: see `loudness.sens_of_efficiency_db`."""
    return efficiency * c_m_s * rho_kg_m3 / (2 * math.pi) / HEARING_PA**2
