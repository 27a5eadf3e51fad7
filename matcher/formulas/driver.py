"""Loudspeaker drivers: small-signal parameters and the relations between them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from catalog_schema.sources import published
from matcher.formulas.air import AIR, Air
from matcher.formulas.known import not_negative, positive
from matcher.formulas.register import formula
from matcher.formulas.relations import efficiency_of

_SMALL = published("Small, JAES 20, 1972")
_BERANEK = published("Beranek and Mellow 2012")
_PISTON = "all figures over 0; the wavelength long against the cone"
_M3_PER_L = 1e-3
_M2_PER_CM2 = 1e-4


@dataclass(frozen=True, slots=True)
class DriverParameters:
    """Small-signal parameters of a driver on a baffle, the air on both sides counted in the mass."""

    sd_cm2: float
    mms_g: float
    fs_hz: float
    qes: float
    qms: float
    qts: float
    vas_l: float
    efficiency: float


@formula(source=_BERANEK, valid=_PISTON)
def cone_area_cm2(radius_mm: float | None) -> float | None:
    """Area of a round cone of this effective radius (half the surround counted).

    Examples
    --------
    >>> cone_area_cm2(120)
    452.39
    """
    known = positive(radius_mm)
    return None if known is None else math.pi * known[0] ** 2 / 100


@formula(source=_BERANEK, valid=_PISTON)
def total_q(qes: float | None, qms: float | None) -> float | None:
    """Total Q of a driver from its electrical and its mechanical one.

    Examples
    --------
    >>> total_q(0.5, 4.5)
    0.45
    """
    known = positive(qes, qms)
    return None if known is None else known[0] * known[1] / (known[0] + known[1])


@formula(source=_SMALL, valid="Qes over Qts, both over 0")
def mechanical_q(qts: float | None, qes: float | None) -> float | None:
    """Mechanical Q of a driver from its total and its electrical one.

    Examples
    --------
    >>> mechanical_q(0.45, 0.5)
    4.5
    """
    known = positive(qts, qes)
    if known is None or known[1] - known[0] < 1e-9:
        return None
    return known[0] * known[1] / (known[1] - known[0])


@formula(source=_BERANEK, valid=_PISTON)
def vas_l(sd_cm2: float | None, compliance_m_n: float | None, *, air: Air = AIR) -> float | None:
    """Volume of air as compliant as the suspension.

    Parameters
    ----------
    sd_cm2
        Cone area, cm2.
    compliance_m_n
        Compliance of the suspension, m/N.
    air
        Speed of sound and density.

    Returns
    -------
    Volume in L.

    Examples
    --------
    >>> vas_l(452.4, 1.18e-3)
    340.9
    """
    known = positive(sd_cm2, compliance_m_n, air.rho_kg_m3, air.c_m_s)
    if known is None:
        return None
    area, compliance, rho, c = known
    return rho * c**2 * (area * _M2_PER_CM2) ** 2 * compliance / _M3_PER_L


def _share(efficiency: float) -> float | None:
    # Above 1 the figures contradict each other.
    return efficiency if efficiency <= 1 else None


@formula(source=_SMALL, valid=_PISTON + "; half space; None where the figures would give over 100 %")
def reference_efficiency(fs_hz: float | None, vas: float | None, qes: float | None, *, air: Air = AIR) -> float | None:
    """Share of the electrical power that a driver radiates as sound in half space.

    Parameters
    ----------
    fs_hz, vas, qes
        Resonance in Hz, equivalent volume in L, electrical Q.
    air
        Speed of sound and density.

    Returns
    -------
    Efficiency, 0 to 1.

    Examples
    --------
    >>> reference_efficiency(21.973, 340.94, 0.33062)
    0.0107
    """
    known = positive(fs_hz, vas, qes, air.c_m_s)
    if known is None:
        return None
    return _share(efficiency_of(*known))


@formula(source=_BERANEK, valid=_PISTON + "; half space; None where the figures would give over 100 %")
def motor_efficiency(
    bl_tm: float | None,
    sd_cm2: float | None,
    mms_g: float | None,
    re_ohm: float | None,
    *,
    air: Air = AIR,
) -> float | None:
    """The same efficiency from motor, cone and mass.

    Parameters
    ----------
    bl_tm, sd_cm2, mms_g, re_ohm
        Force factor in T m, cone area in cm2, moving mass in g, resistance of the coil in ohm.
    air
        Speed of sound and density.

    Returns
    -------
    Efficiency, 0 to 1.

    Examples
    --------
    >>> motor_efficiency(11.4, 452.39, 44.459, 7)
    0.0107
    """
    known = positive(bl_tm, sd_cm2, mms_g, re_ohm, air.c_m_s, air.rho_kg_m3)
    if known is None:
        return None
    bl, area, mass, resistance, c, rho = known
    pull = (bl * area * _M2_PER_CM2 / (mass / 1000)) ** 2
    return _share(rho * pull / (2 * math.pi * c * resistance))


@formula(source=_BERANEK, valid=_PISTON)
def efficiency_bandwidth_hz(fs_hz: float | None, qes: float | None) -> float | None:
    """Ratio of resonance to electrical Q: as a rule of thumb above 100 for a vented box, below 50 for a closed one.

    Examples
    --------
    >>> efficiency_bandwidth_hz(30, 0.5)
    60.0
    """
    known = positive(fs_hz, qes)
    return None if known is None else known[0] / known[1]


@formula(source=_BERANEK, valid=_PISTON)
def peak_impedance_ohm(re_ohm: float | None, qms: float | None, qes: float | None) -> float | None:
    """Impedance of a driver at its resonance.

    Examples
    --------
    >>> peak_impedance_ohm(3.2, 5.0, 0.5)
    35.2
    """
    known = positive(re_ohm, qms, qes)
    return None if known is None else known[0] * (1 + known[1] / known[2])


@formula(
    source=published("a lumped driver model as finite-element vendors document it; Beranek and Mellow 2012"),
    valid=_PISTON,
)
def driver_parameters(
    dry_mass_g: float | None,
    compliance_m_n: float | None,
    loss_n_s_m: float | None,
    bl_tm: float | None,
    re_ohm: float | None,
    radius_mm: float | None,
    *,
    air: Air = AIR,
) -> DriverParameters | None:
    """Small-signal parameters of a round driver from its mechanical and electrical parts.

    Parameters
    ----------
    dry_mass_g
        Moving mass without air, g.
    compliance_m_n, loss_n_s_m
        Compliance in m/N and mechanical resistance in N s/m of the suspension.
    bl_tm, re_ohm
        Force factor in T m and resistance of the coil in ohm.
    radius_mm
        Effective radius of the cone, mm.
    air
        Speed of sound and density.

    Returns
    -------
    The parameters; the air load is that of a piston with baffle on both sides.

    Examples
    --------
    >>> parameters = driver_parameters(33.4, 1.18e-3, 1.85, 11.4, 7, 120)
    >>> parameters.fs_hz, parameters.qts, parameters.vas_l
    (21.97, 0.3007, 340.9)
    """
    known = positive(dry_mass_g, compliance_m_n, loss_n_s_m, bl_tm, re_ohm, radius_mm)
    rho, sd = not_negative(air.rho_kg_m3), cone_area_cm2(radius_mm)
    if known is None or rho is None or sd is None:
        return None
    dry, compliance, loss, bl, resistance, radius = known
    air_load = 2 * 8 * rho[0] * (sd * _M2_PER_CM2) ** 2 / (3 * math.pi**2 * radius / 1000)
    mass = dry / 1000 + air_load
    omega = 1 / math.sqrt(mass * compliance)
    fs, qes, qms = omega / (2 * math.pi), omega * mass * resistance / bl**2, omega * mass / loss
    qts, volume = total_q(qes, qms), vas_l(sd, compliance, air=air)
    efficiency = reference_efficiency(fs, volume, qes, air=air)
    if qts is None or volume is None or efficiency is None:
        return None
    return DriverParameters(sd, mass * 1000, fs, qes, qms, qts, volume, efficiency)
