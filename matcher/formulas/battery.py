"""Lead-acid batteries and supply voltages: reserve, Peukert, state of charge, ISO 16750-2 codes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.formulas.known import positive, within
from matcher.formulas.register import formula

RESERVE_A = 25.0
# Lowest and highest supply voltage of each code: A to D for 12 V, E to H for 24 V.
SUPPLY_CODES = {
    "A": (6.0, 16.0), "B": (8.0, 16.0), "C": (9.0, 16.0), "D": (10.5, 16.0),
    "E": (10.0, 32.0), "F": (16.0, 32.0), "G": (22.0, 32.0), "H": (18.0, 32.0),
}  # fmt: skip
# Open-circuit volts of a rested, flooded 12 V battery, and percent of charge.
_REST_VOLTS = ((11.6, 0.0), (12.0, 25.0), (12.2, 50.0), (12.4, 75.0), (12.6, 100.0))
_EXPONENTS = "exponents from 1 to 2; lead-acid"


@formula(source=published("SAE J537: minutes at 25 A and 27 C down to 10.5 V"), valid="minutes over 0")
def reserve_ah(reserve_min: float | None) -> float | None:
    """Charge that a battery gives at 25 A, from its reserve capacity.

    Parameters
    ----------
    reserve_min
        Reserve capacity, minutes.

    Returns
    -------
    Charge in Ah, less than the 20 h rating.

    Examples
    --------
    >>> reserve_ah(115)
    47.9
    """
    known = positive(reserve_min)
    return None if known is None else known[0] / 60 * RESERVE_A


@formula(source=published("Peukert's law as C = I^k t, where C is the charge at 1 A"), valid=_EXPONENTS)
def peukert_one_ampere_h(
    charge_at_1_a_ah: float | None, exponent: float | None, current_a: float | None
) -> float | None:
    """Battery life in hours, from the charge at 1 A.

    Parameters
    ----------
    charge_at_1_a_ah
        Charge at a current of 1 A, Ah; not the 20 h rating.
    exponent
        Peukert's exponent, usually 1.1 to 1.3.
    current_a
        Current drawn, A.

    Returns
    -------
    Hours.

    Examples
    --------
    >>> peukert_one_ampere_h(100, 1.2, 5)
    14.5
    """
    known, power = positive(charge_at_1_a_ah, current_a), within(exponent, 1, 2)
    return None if known is None or power is None else known[0] / known[1] ** power


@formula(source=published("Peukert's law as t = H (C / (I H))^k, where C is the H-hour rating"), valid=_EXPONENTS)
def peukert_rated_h(
    rated_ah: float | None,
    exponent: float | None,
    current_a: float | None,
    rated_over_h: float | None = 20.0,
) -> float | None:
    """Battery life in hours, from the rated charge and its hours.

    Parameters
    ----------
    rated_ah
        Rated charge, Ah.
    exponent
        Peukert's exponent, usually 1.1 to 1.3.
    current_a
        Current drawn, A.
    rated_over_h
        Hours of the rating.

    Returns
    -------
    Hours. `peukert_one_ampere_h` gives another result for the same figures.

    Examples
    --------
    >>> peukert_rated_h(100, 1.2, 25), peukert_rated_h(100, 1.2, 5)
    (2.90, 20.0)
    """
    known, power = positive(rated_ah, current_a, rated_over_h), within(exponent, 1, 2)
    if known is None or power is None:
        return None
    rated, current, hours = known
    return float(hours * (rated / (current * hours)) ** power)


@formula(source=COMMON_PRACTICE, valid="flooded 12 V lead-acid, rested, 11.6 to 12.8 V; full from 12.6 V")
def charge_pct(open_circuit_v: float | None) -> float | None:
    """State of charge by the voltage without load.

    Examples
    --------
    >>> charge_pct(12.3)
    62.5
    """
    volts = within(open_circuit_v, _REST_VOLTS[0][0], 12.8)
    if volts is None:
        return None
    for (low_v, low_pct), (high_v, high_pct) in pairwise(_REST_VOLTS):
        if volts <= high_v:
            return low_pct + (high_pct - low_pct) * (volts - low_v) / (high_v - low_v)
    return 100.0


@dataclass(frozen=True, slots=True)
class SupplyRange:
    """The voltages at which a part with this code works."""

    low_v: float
    high_v: float


@formula(source=published("ISO 16750-2:2010 tables 1 and 2"), valid="codes A to D (12 V) and E to H (24 V)")
def supply_code_range(code: str | None) -> SupplyRange | None:
    """Supply voltages of an ISO 16750-2 code letter.

    Examples
    --------
    >>> supply_code_range("C")
    SupplyRange(low_v=9.0, high_v=16.0)
    """
    limits = None if code is None else SUPPLY_CODES.get(code)
    return None if limits is None else SupplyRange(*limits)


@formula(
    source=published("ISO 16750-2:2010 tables 1 and 2"),
    valid="codes A to D (12 V) and E to H (24 V); 0 to 60 V",
)
def supply_code_margin_v(code: str | None, supply_v: float | None) -> float | None:
    """Distance of a supply voltage from the ends of a code's range, negative if outside.

    Examples
    --------
    >>> supply_code_margin_v("C", 9.5), supply_code_margin_v("D", 9.5)
    (0.5, -1.0)
    """
    limits, volts = supply_code_range(code), within(supply_v, 0, 60)
    return None if limits is None or volts is None else min(volts - limits.low_v, limits.high_v - volts)
