"""Properties of air. Textbooks differ by a percent or two, and levels by 0.1 dB."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Air:
    """Speed of sound and density."""

    c_m_s: float = 343.0
    rho_kg_m3: float = 1.2


AIR = Air()
HEARING_PA = 20e-6
