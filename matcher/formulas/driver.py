"""Loudspeaker drivers: small-signal parameters and the relations between them."""

from __future__ import annotations

from catalog_schema.sources import published
from matcher.formulas.air import AIR, Air
from matcher.formulas.known import positive
from matcher.formulas.register import formula
from matcher.formulas.relations import efficiency_of

_SMALL = published("Small, JAES 20, 1972")
_BERANEK = published("Beranek and Mellow 2012")
_PISTON = "all figures over 0; the wavelength long against the cone"


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
