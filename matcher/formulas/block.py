"""Power of a block of amplifier channels into a load."""

from __future__ import annotations

from decimal import Decimal

from catalog_schema.sources import COMMON_PRACTICE, published
from matcher.formulas.register import formula

RATED_OHM = Decimal(4)
LOW_OHM = Decimal(2)
BASS_OHM = Decimal(1)


@formula(
    source=COMMON_PRACTICE,
    valid="1 ohm and up; below a rated load only where the power into the next lower rated load (2, 1 ohm) is known",
)
def block_power_w(
    load_ohm: Decimal | None,
    w_4ohm: Decimal | None,
    w_2ohm: Decimal | None = None,
    w_1ohm: Decimal | None = None,
) -> Decimal | None:
    """Continuous power of one block into a load.

    Above the rated 4 ohm the output voltage is constant, so the power falls as the load rises. Between two rated loads
    it is the lower of the power into the lower load and the power by the voltage at the higher load.

    Parameters
    ----------
    load_ohm
        Load on the block, in ohm.
    w_4ohm, w_2ohm, w_1ohm
        Rated continuous power into 4, into 2 and into 1 ohm, in W.

    Returns
    -------
    Decimal or None
        Power in W; None if a figure it needs is not known.

    Examples
    --------
    >>> block_power_w(Decimal(8), Decimal(60))
    Decimal('30')
    >>> block_power_w(Decimal(3), Decimal(60), Decimal(75))
    Decimal('75')
    >>> block_power_w(Decimal("1.5"), Decimal(60), Decimal(90), Decimal(110))
    Decimal('110')
    >>> block_power_w(Decimal(3), Decimal(60)) is None
    True
    """
    if load_ohm is None or load_ohm < BASS_OHM:
        return None
    if load_ohm <= LOW_OHM:
        return _between(load_ohm, LOW_OHM, w_2ohm, BASS_OHM, w_1ohm)
    if load_ohm < RATED_OHM:
        return _between(load_ohm, RATED_OHM, w_4ohm, LOW_OHM, w_2ohm)
    return None if w_4ohm is None else w_4ohm * RATED_OHM / load_ohm


def _between(
    load_ohm: Decimal, upper_ohm: Decimal, w_upper: Decimal | None, lower_ohm: Decimal, w_lower: Decimal | None
) -> Decimal | None:
    """Power into a load between two rated ones; at either of them it is the rating."""
    if load_ohm == upper_ohm:
        return w_upper
    if load_ohm == lower_ohm:
        return w_lower
    return None if w_upper is None or w_lower is None else min(w_upper * upper_ohm / load_ohm, w_lower)


@formula(source=published("Ohm's law"), valid="loads over 0 ohm")
def parallel_ohm(loads_ohm: list[Decimal]) -> Decimal:
    """Return the load of several impedances in parallel, in ohm.

    >>> parallel_ohm([Decimal(4), Decimal(4)])
    Decimal('2')
    """
    return 1 / sum((1 / load for load in loads_ohm), Decimal(0))
