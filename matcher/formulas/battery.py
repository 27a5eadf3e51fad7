"""Charge of lead-acid batteries by their reserve capacity."""

from __future__ import annotations

from catalog_schema.sources import published
from matcher.formulas.known import positive
from matcher.formulas.register import formula

RESERVE_A = 25.0


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
