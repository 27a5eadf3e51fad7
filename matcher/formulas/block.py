"""What a block of amplifier channels gives into a load."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.formulas.register import formula

RATED_OHM = Decimal(4)
LOW_OHM = Decimal(2)


@formula(
    source=COMMON_PRACTICE,
    valid="2 ohm and up; below 4 ohm only where the power into 2 ohm is known",
)
def block_power_w(load_ohm: Decimal | None, w_4ohm: Decimal | None, w_2ohm: Decimal | None = None) -> Decimal | None:
    """Continuous power of one block into a load.

    Above the rated 4 ohm the output voltage holds, so the power falls as the load rises. Between
    2 and 4 ohm it is the lesser of what that voltage gives and of the power into 2 ohm.

    Parameters
    ----------
    load_ohm
        Load on the block, in ohm.
    w_4ohm, w_2ohm
        Rated continuous power into 4 and into 2 ohm, in W.

    Returns
    -------
    Decimal or None
        Power in W; None where a figure it needs is not known.

    Examples
    --------
    >>> block_power_w(Decimal(8), Decimal(60))
    Decimal('30')
    >>> block_power_w(Decimal(3), Decimal(60), Decimal(75))
    Decimal('75')
    >>> block_power_w(Decimal(3), Decimal(60)) is None
    True
    """
    if load_ohm is None or load_ohm < LOW_OHM:
        return None
    if load_ohm == LOW_OHM:
        return w_2ohm
    if w_4ohm is None:
        return None
    held_voltage = w_4ohm * RATED_OHM / load_ohm
    if load_ohm >= RATED_OHM:
        return held_voltage
    return None if w_2ohm is None else min(held_voltage, w_2ohm)


@formula(source=published("Ohm's law"), valid="loads over 0 ohm")
def parallel_ohm(loads_ohm: list[Decimal]) -> Decimal:
    """Load of several in parallel, in ohm.

    >>> parallel_ohm([Decimal(4), Decimal(4)])
    Decimal('2')
    """
    return 1 / sum((1 / load for load in loads_ohm), Decimal(0))
